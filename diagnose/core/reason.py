"""The stages in order: answers -> facts -> rules -> findings -> posterior -> next check or conclusion."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from diagnose.core import permit
from diagnose.core.engine import Engine
from diagnose.core.facts import Known, fact_name, gather
from diagnose.core.findings import observe
from diagnose.core.network import Floats, Network, compile_network
from diagnose.core.policy import Costs, Gain, Option, best_of, choose, look_ahead
from diagnose.core.posterior import Belief, sequence
from diagnose.core.rules import Consequences, consequences
from diagnose.model.knowledge import Cause, Check, KnowledgeBase
from diagnose.model.visit import Answer, Observation, Setup, Value

Why = Literal["stop_work", "opening", "needed", "pays", "tells", "likely", "not_worth_it", "nothing_left", "insisted"]


@dataclass(frozen=True, slots=True)
class Next:
    """The check to ask, or check '' to conclude; `why` says which it is. `gain` is there when a gain decided."""

    check: str
    why: Why
    gain: Gain | None = None


@dataclass(frozen=True, slots=True)
class Conclusion:
    """Everything that follows from the answers. `beliefs`: after the complaint, then after each observation.

    `stale` lists answers to checks whose conditions no longer hold; they count for nothing.
    """

    known: Known
    after: Consequences
    values: Mapping[str, Value]  # every fact, rules included
    observations: tuple[Observation, ...]
    beliefs: tuple[Belief, ...]
    stop_work: tuple[str, ...]  # orders not yet confirmed
    stale: tuple[str, ...]
    gains: tuple[Gain, ...]
    next: Next

    @property
    def belief(self) -> Belief:
        return self.beliefs[-1]


class Reasoner:
    """One knowledge base, ready to reason. Holds no visit; safe to share between threads."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self.kb = kb
        self._engine = Engine(kb)
        self._networks: dict[tuple[tuple[str, ...], frozenset[str]], Network] = {}

    def conclude(self, setup: Setup, complaint: str, answers: Sequence[Answer], insist: bool = False) -> Conclusion:
        """Draw every conclusion from the set-up, the complaint and the answers, in the order they came.

        `insist` proposes a check even where concluding would be cheaper.
        """
        kb, given = self.kb, answers
        known, after, values = self._facts(setup, complaint, given)
        while stale := {a.check for a in given if not permit.holds(kb.checks[a.check].only_if, values)}:
            given = [a for a in given if a.check not in stale]
            known, after, values = self._facts(setup, complaint, given)
        observations = observe(kb, known, after, given)
        network = self.network(setup.devices, frozenset(after.excluded))
        slips = {True: kb.settings.slip, False: kb.settings.unsure_slip}
        beliefs = tuple(sequence(network, complaint, observations, slips))
        stop_work = () if self._made_safe(values) else after.stop_work
        gains = tuple(self._gains(beliefs[-1], setup, values, after, answers))
        step = self._next(setup, values, answers, stop_work, gains, beliefs[-1])
        if insist and not step.check and (wanted := best_of(gains)):
            step = Next(wanted.option.check, "insisted", wanted)
        dropped = tuple(a.check for a in answers if a not in given)
        return Conclusion(known, after, values, observations, beliefs, stop_work, dropped, gains, step)

    def _facts(
        self, setup: Setup, complaint: str, answers: Sequence[Answer]
    ) -> tuple[Known, Consequences, Mapping[str, Value]]:
        known = gather(self.kb, setup, complaint, answers)
        after = consequences(self.kb, *self._engine.run(known.facts))
        return known, after, {**dict(sorted(after.facts)), **known.values}

    def network(self, devices: tuple[str, ...], excluded: frozenset[str]) -> Network:
        """The compiled network for these sensor kinds, built once."""
        key = (devices, excluded)
        if key not in self._networks:
            self._networks[key] = compile_network(self.kb, devices, excluded)
        return self._networks[key]

    def _made_safe(self, values: Mapping[str, Value]) -> bool:
        check = self.kb.checks[self.kb.settings.made_safe_check]
        return values.get(fact_name(check)) in ("safe", "made_safe")

    def _gains(
        self,
        belief: Belief,
        setup: Setup,
        values: Mapping[str, Value],
        after: Consequences,
        answers: Sequence[Answer],
    ) -> list[Gain]:
        done = {a.check for a in answers} | set(after.settled)
        opened = open_groups(self.kb, answers)
        askable = [
            c
            for c in self.kb.checks.values()
            if c.finding
            and c.id not in done
            and permit.may_do(c, setup)
            and permit.open_now(c, values, after.unlocked)
        ]
        options = [self._option(c, opened, setup, values, done) for c in askable]
        return look_ahead(belief, options, self.costs(belief.network, opened), self.kb.settings.slip)

    def _option(
        self, check: Check, opened: frozenset[str], setup: Setup, values: Mapping[str, Value], done: set[str]
    ) -> Option:
        needs = self.open_needs(check, setup, values, done)
        own = check.minutes + sum(self.kb.checks[n].minutes for n in needs)
        shut = check.access and check.access not in opened
        return Option(check.id, check.id, own, check.access, self.kb.access[check.access].minutes if shut else 0.0)

    def open_needs(self, check: Check, setup: Setup, values: Mapping[str, Value], done: set[str]) -> tuple[str, ...]:
        """The context checks to ask before this one that are still open to this role."""
        needs = [self.kb.checks[n] for n in check.needs]
        return tuple(
            n.id
            for n in needs
            if n.id not in done and permit.may_do(n, setup) and permit.open_now(n, values, frozenset())
        )

    def costs(self, network: Network, opened: frozenset[str]) -> Costs:
        """Minutes of remedy and proof per cause of the network, with the access group where it is still shut."""
        minutes = [repair_minutes(self.kb, self.kb.causes[c], opened) for c in network.causes]
        return Costs(_floats(minutes), self.kb.settings.specialist_minutes)

    def _next(
        self,
        setup: Setup,
        values: Mapping[str, Value],
        answers: Sequence[Answer],
        stop_work: tuple[str, ...],
        gains: Sequence[Gain],
        belief: Belief,
    ) -> Next:
        done = {a.check for a in answers}
        if stop_work:
            return Next(self.kb.settings.made_safe_check, "stop_work")
        for check in self.kb.settings.opening:
            if check not in done and permit.may_do(self.kb.checks[check], setup):
                return Next(check, "opening")
        chosen = choose(gains, self._leader(belief)) if self._leader(belief) < self.kb.settings.conclude_at else None
        if chosen is None:
            return Next("", self._stop_reason(belief, gains))
        needs = self.open_needs(self.kb.checks[chosen.option.check], setup, values, done)
        if needs:
            return Next(needs[0], "needed", chosen)
        return Next(chosen.option.check, "pays" if chosen.pays else "tells", chosen)

    def _leader(self, belief: Belief) -> float:
        return belief.ranked()[0][1]

    def _stop_reason(self, belief: Belief, gains: Sequence[Gain]) -> Why:
        if self._leader(belief) >= self.kb.settings.conclude_at:
            return "likely"
        return "not_worth_it" if gains else "nothing_left"


def open_groups(kb: KnowledgeBase, answers: Sequence[Answer]) -> frozenset[str]:
    """Access groups already paid for: some check behind them was really done."""
    done = (kb.checks[a.check] for a in answers if a.says_something and a.check in kb.checks)
    return frozenset(c.access for c in done if c.access)


def repair_minutes(kb: KnowledgeBase, cause: Cause, opened: frozenset[str]) -> float:
    """Minutes to repair and prove one cause; the outside cause costs the specialist."""
    if cause.id == kb.settings.outside_cause:
        return kb.settings.specialist_minutes
    access = cause.remedy.access
    opening = kb.access[access].minutes if access and access not in opened else 0.0
    return cause.remedy.minutes + cause.proof_minutes + opening


def _floats(values: Sequence[float]) -> Floats:
    return np.array(values, dtype=float)
