"""The person of a case: what he answers to a check in the state the gate is in."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from diagnose.cases.model import AFTER, ON_SITE, RESTING, START, CaseState, Encoded, FieldCase, Touched, values_of
from diagnose.core.facts import fact_name
from diagnose.measure.streams import share, stream
from diagnose.model.bearing import bearing
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Value
from diagnose.practice.readings import reading

Source = Literal["encoded", "healthy", "nobody", "no_fit", "not_encoded", "untouched"]
NOT_KNOWN = "dont_know"


@dataclass(frozen=True, slots=True)
class PersonAnswer:
    """An answer and where it comes from. What nobody can tell, and what is not encoded, is 'don't know'."""

    value: Value
    source: Source


class Person:
    """Answers as the case says; `mended` holds the indices of the faults mended so far."""

    def __init__(self, kb: KnowledgeBase, case: FieldCase, seed: int) -> None:
        self.kb, self.case, self._seed = kb, case, seed
        self._encoded = case.encoded or Encoded(complaints=(), states={})
        self.mended: frozenset[int] = frozenset()
        self.on_site = not case.by_phone
        self._rest = _bearing(kb)

    def answer(self, check: Check, values: Mapping[str, Value]) -> PersonAnswer:
        """The answer to a check; `values` are the facts known so far, which a healthy reading must fit."""
        rng = self._rng(check)
        for state in self._states(self._resting(check)):
            if check.id in state.answers:
                return PersonAnswer(
                    _drawn(values_of(state.answers[check.id]), state.answers[check.id], rng), "encoded"
                )
            if check.id in state.healthy:
                return self._healthy(check, values, rng)
            if check.id in state.nobody:
                return PersonAnswer(NOT_KNOWN, "nobody")
            if check.id in state.no_fit:
                return PersonAnswer(NOT_KNOWN, "no_fit")
        if self._touched(check):
            return PersonAnswer(NOT_KNOWN, "not_encoded")
        return self._healthy(check, values, rng)

    def how_answered(self, check: Check) -> Source:
        """Where the answer to a check would come from."""
        for state in self._states(False):
            parts: dict[Source, object] = {"encoded": state.answers, "healthy": state.healthy,
                                           "nobody": state.nobody, "no_fit": state.no_fit}  # fmt: skip
            for source, keys in parts.items():
                if check.id in keys:  # type: ignore[operator]
                    return source
        return "not_encoded" if self._touched(check) else "untouched"

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
        chance = share(self._seed, self.case.id, check.id, "resting")
        return self.case.intermittent and chance >= self._encoded.present

    def _rng(self, check: Check) -> np.random.Generator:
        """A stream of its own for every check, so that one more question changes no other answer."""
        return stream(self._seed, self.case.id, check.id)

    def _touched(self, check: Check) -> bool:
        """Whether the fault reaches what the check looks at; unscored context always has to be encoded."""
        touched = next((s.touched for s in self._states(False) if s.touched), None)
        if touched is None or check.finding is None:
            return True
        return _same_device(check, touched) and bool(self._rest[check.finding.id] & set(touched.links))

    def _healthy(self, check: Check, values: Mapping[str, Value], rng: np.random.Generator) -> PersonAnswer:
        if check.finding is None:
            return PersonAnswer(NOT_KNOWN, "not_encoded")
        normal = next(iter(check.finding.states.values()))
        if check.kind != "quantity" and check.finding.fact == fact_name(check):
            return PersonAnswer(normal[0], "healthy")
        calculation = self.kb.calculations.get(check.finding.fact)
        value = reading(check, calculation, values, normal, rng) if calculation else None
        return PersonAnswer(NOT_KNOWN, "not_encoded") if value is None else PersonAnswer(value, "healthy")


def _same_device(check: Check, touched: Touched) -> bool:
    return not check.devices or bool(set(check.devices) & set(touched.devices))


def _bearing(kb: KnowledgeBase) -> Mapping[str, set[str]]:
    """Finding -> families of the causes that bear on it: the links it looks at."""
    found: dict[str, set[str]] = {f: set() for f in kb.findings}
    for cause in kb.causes.values():
        for finding in bearing(kb, cause):
            found[finding].add(cause.family)
    return found


def _drawn(values: list[str | float], said: object, rng: np.random.Generator) -> str | float:
    if not isinstance(said, dict) or len(values) == 1:
        return values[0]
    weights = np.array([said[v] for v in values], dtype=float)
    return values[int(rng.choice(len(values), p=weights / weights.sum()))]
