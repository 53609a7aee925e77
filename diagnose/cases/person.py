"""The person of a case: what he answers to a check in the state the gate is in."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from diagnose.cases.model import AFTER, ON_SITE, RESTING, START, CaseState, Encoded, FieldCase, Said, values_of
from diagnose.core.facts import fact_name
from diagnose.core.rules import consequences, fixpoint
from diagnose.kb.domain import answers_of
from diagnose.measure.streams import share, stream
from diagnose.model.bearing import bearing
from diagnose.model.gear import AT, at
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Value
from diagnose.practice.readings import reading

Source = Literal["encoded", "healthy", "nobody", "no_fit", "not_encoded", "untouched"]
NOT_KNOWN = "dont_know"
LISTED: tuple[Source, ...] = ("healthy", "nobody", "no_fit")


@dataclass(frozen=True, slots=True)
class PersonAnswer:
    """An answer and where it comes from. What nobody can tell, and what is not encoded, is 'don't know'."""

    value: Value
    source: Source


class Person:
    """Answers as the case says; `mended` holds the indices of the faults mended so far.

    Of a check that is asked of one device he tells what the case says of that device; what it says without a device
    is of the one that is meant, the faulty one. What was thought about and is healthy there is so at the others.
    """

    def __init__(self, kb: KnowledgeBase, case: FieldCase, seed: int) -> None:
        self.kb, self.case, self._seed = kb, case, seed
        self._encoded = case.encoded or Encoded(complaints=(), states={})
        self.mended: frozenset[int] = frozenset()
        self.on_site = not case.by_phone
        self._rest = _bearing(kb)

    def answer(self, check: Check, values: Mapping[str, Value]) -> PersonAnswer:
        """The answer to a check; `values` are the facts known so far, which a healthy reading must fit."""
        found = self._listed(check, values)
        settled = self._by_what_it_settles(check, values) if found.source == "not_encoded" else None
        return settled or found

    def _listed(self, check: Check, values: Mapping[str, Value]) -> PersonAnswer:
        """What the case says of the check itself."""
        rng = self._rng(check)
        source, said = self._told(check, self._resting(check))
        if source == "encoded":
            return self._said(check, _drawn(values_of(said), said, rng))
        if source in ("healthy", "untouched"):
            return self._elsewhere(check) or self._healthy(check, values, rng)
        return PersonAnswer(NOT_KNOWN, source)

    def _told(self, check: Check, resting: bool) -> tuple[Source, Said]:
        """Where the answer to a check comes from, and what it is where it is encoded."""
        keys, healthy = self._keys(check)
        for state in self._states(resting):
            for key in keys:
                if key in state.answers:
                    return "encoded", state.answers[key]
                if found := next((s for s in LISTED if key in getattr(state, s)), None):
                    return found, ""
            if healthy in state.healthy:
                return "healthy", ""
        return ("not_encoded" if self._touched(check) else "untouched"), ""

    def _by_what_it_settles(self, check: Check, values: Mapping[str, Value]) -> PersonAnswer | None:
        """One look for several: the option that says of each what the case says; None where that says nothing."""
        settled = {option: self._settled(check, option) for option in check.options}
        said = {c: self._listed(self.kb.checks[c], values).value for each in settled.values() for c in each}
        if all(value == NOT_KNOWN for value in said.values()):
            return None
        fits = [o for o, each in settled.items() if each and all(said[c] in (v, NOT_KNOWN) for c, v in each.items())]
        option = next(iter([*fits, *(o for o, each in settled.items() if not each)]), None)
        return PersonAnswer(option, "encoded") if option else None

    def _settled(self, check: Check, option: str) -> dict[str, str]:
        """What the answer settles by itself."""
        after = consequences(self.kb, *fixpoint(self.kb, [(fact_name(check), option)]))
        return {c: answer for c, (answer, _) in after.settled.items()}

    def _keys(self, check: Check) -> tuple[list[str], str]:
        """Under which keys a case tells of the check, and under which it would say that it is healthy everywhere."""
        name, _, key = check.id.partition(AT)
        alone = not key or key == self.case.meant(check.devices)
        return ([check.id, name] if alone else [check.id]), name

    def _said(self, check: Check, value: Value) -> PersonAnswer:
        """The answer; an option that means one of the devices, as the option of the one that is meant."""
        if check.kind == "quantity" or value in answers_of(check):
            return PersonAnswer(value, "encoded")
        meant = [at(str(value), key) for key in (self.case.meant(()), *(d.key for d in self.case.named))]
        option = next((o for o in meant if o in check.options), None)
        return PersonAnswer(option, "encoded") if option else PersonAnswer(NOT_KNOWN, "no_fit")

    def how_answered(self, check: Check) -> Source:
        """Where the answer to a check would come from."""
        return self._told(check, False)[0]

    @property
    def all_well(self) -> bool:
        """Whether nothing is left to be mended that a list can hold."""
        return len(self.mended) == len(self.case.faults) > 0

    def _states(self, resting: bool) -> Iterator[CaseState]:
        """The states to look in, the one that says most about now first."""
        states = self._encoded.states
        mended = self.mended if len(self.mended) == 1 else frozenset()
        wanted = [AFTER[i] for i in mended] + [ON_SITE] * self.on_site + [RESTING] * resting + [START]
        return (states[name] for name in wanted if name in states)

    def _resting(self, check: Check) -> bool:
        chance = share(self._seed, self.case.id, self._keys(check)[0][-1], "resting")
        return self.case.intermittent and chance >= self._encoded.present

    def _rng(self, check: Check) -> np.random.Generator:
        """A stream of its own for every check, so that one more question changes no other answer."""
        return stream(self._seed, self.case.id, self._keys(check)[0][-1])

    def _touched(self, check: Check) -> bool:
        """Whether the fault reaches what the check looks at; unscored context always has to be encoded."""
        touched = next((s.touched for s in self._states(False) if s.touched), None)
        if touched is None or check.finding is None:
            return True
        kinds = self._kinds(check)
        reached = not kinds or bool(kinds & set(touched.devices))
        return reached and bool(self._rest[check.finding.id] & set(touched.links))

    def _kinds(self, check: Check) -> set[str]:
        """The kind of the device that is asked about, else those that the check is for; none: any."""
        key = check.id.partition(AT)[2]
        return {d.kind for d in self.case.named if d.key == key} or set(check.devices)

    def _elsewhere(self, check: Check) -> PersonAnswer | None:
        """What a device without the fault shows (with it off, the trouble stays), where that is not what a healthy
        gate shows."""
        others = check.finding.others if check.finding and len(self._keys(check)[0]) == 1 and AT in check.id else {}
        return PersonAnswer(next(iter(others)), "healthy") if others else None

    def _healthy(self, check: Check, values: Mapping[str, Value], rng: np.random.Generator) -> PersonAnswer:
        if check.finding is None:
            return PersonAnswer(NOT_KNOWN, "not_encoded")
        normal = next(iter(check.finding.states.values()))
        if check.kind != "quantity" and check.finding.fact == fact_name(check):
            return PersonAnswer(normal[0], "healthy")
        calculation = self.kb.calculations.get(check.finding.fact)
        value = reading(check, calculation, values, normal, rng) if calculation else None
        return PersonAnswer(NOT_KNOWN, "not_encoded") if value is None else PersonAnswer(value, "healthy")


def _bearing(kb: KnowledgeBase) -> Mapping[str, set[str]]:
    """Finding -> families of the causes that bear on it: the links it looks at."""
    found: dict[str, set[str]] = {f: set() for f in kb.findings}
    for cause in kb.causes.values():
        for finding in bearing(kb, cause):
            found.setdefault(finding, set()).add(cause.family)
    return found


def _drawn(values: list[str | float], said: object, rng: np.random.Generator) -> str | float:
    if not isinstance(said, dict) or len(values) == 1:
        return values[0]
    weights = np.array([said[v] for v in values], dtype=float)
    return values[int(rng.choice(len(values), p=weights / weights.sum()))]
