"""The stages in order: answers -> facts -> rules -> findings -> posterior -> next check or conclusion."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import accumulate
from typing import Literal

import numpy as np

from diagnose.core import permit
from diagnose.core.compile import applicable, compile_network, depends_on
from diagnose.core.engine import Engine
from diagnose.core.exclude import excluded
from diagnose.core.facts import Known
from diagnose.core.findings import observe, slip_of
from diagnose.core.ground import ground
from diagnose.core.near import NearBelief
from diagnose.core.network import Floats, Network
from diagnose.core.policy import Ahead, Costs, Gain, Option, choose, most_telling
from diagnose.core.posterior import Belief, Chances, absorb, prior, still_failing
from diagnose.core.rules import Consequences, fixpoint
from diagnose.core.stage import Derive, Premises, Stage, askable, opening_check, stage_of, standing, unconfirmed
from diagnose.model.gear import Gear, plain
from diagnose.model.knowledge import Cause, Check, KnowledgeBase
from diagnose.model.visit import Answer, Attempt, Observation, Setup, Value

Why = Literal["stop_work", "opening", "needed", "pays", "tells", "likely", "not_worth_it", "nothing_left", "insisted"]


@dataclass(frozen=True, slots=True)
class Next:
    """The check to ask, or check '' to conclude; `why` says which it is. `gain` is there when a gain decided."""

    check: str
    why: Why
    gain: Gain | None = None


@dataclass(frozen=True, slots=True)
class Conclusion:
    """Everything that follows from the answers.

    `start` is the belief before the first observation, `belief` that after the last one; `trail` holds the chances of
    the causes at the start and after each observation. `seen` is everything observed, also before the last repair, as
    far as it still holds.
    `stale` lists answers to checks whose conditions no longer hold; they count for nothing.
    `stands` are the stop-work orders that stand, confirmed or not; `stop_work` those not confirmed yet.
    """

    known: Known
    after: Consequences
    values: Mapping[str, Value]  # every fact, rules included
    observations: tuple[Observation, ...]
    seen: tuple[Observation, ...]
    start: Belief
    belief: Belief
    trail: tuple[Chances, ...]
    stop_work: tuple[str, ...]
    stands: tuple[str, ...]
    stale: tuple[str, ...]
    ahead: Ahead
    next: Next

    @property
    def gains(self) -> Sequence[Gain]:
        """What every check that may be asked now promises."""
        return self.ahead.gains


@dataclass(frozen=True, slots=True)
class Mended:
    """A repair that was made although the trouble went on; `botched` is the chance that the repair failed."""

    cause: str
    botched: float


Step = Observation | Mended
Excluded = tuple[tuple[str, float], ...]  # causes with what is left of their odds
Site = tuple[tuple[str, ...], tuple[tuple[str, Value], ...]]  # sensors, and facts that effects depend on


REMEMBERED = 12  # whole beliefs kept: a few megabytes each


class Reasoner:
    """One knowledge base, ready to reason. Holds no visit; safe to share between threads."""

    def __init__(
        self, kb: KnowledgeBase, derive: Derive | None = None, weights: Mapping[str, float] | None = None
    ) -> None:
        """`derive` runs the rules; the engine of record unless the fixpoint is given (simulations use it).

        `weights` are learned frequencies of the causes, where they were switched on.
        """
        self.kb = kb
        self._given = derive is not None
        self._derive = derive or Engine(kb).run
        self._weights = weights
        self._depends_on = sorted(depends_on(kb))
        self.network = lru_cache(maxsize=8)(self._compile)
        self._belief = lru_cache(maxsize=REMEMBERED)(self._belief_after)
        self._chances = lru_cache(maxsize=4096)(lambda *case: self._belief(*case).chances)
        self._at = lru_cache(maxsize=4)(self._grounded)
        self._base: Reasoner | None = None

    def at(self, gear: Gear) -> "Reasoner":
        """The reasoner for a gate with these devices; the last few are remembered."""
        base = self._base or self
        return self if ground(self.kb, gear) is self.kb else base if len(gear) < 2 else base._at(gear)

    def _grounded(self, gear: Gear) -> "Reasoner":
        kb = ground(self.kb, gear)
        weights = None if self._weights is None else {c: self._weights[plain(c)] for c in kb.causes}
        grounded = Reasoner(kb, partial(fixpoint, kb) if self._given else None, weights)
        grounded._base = self
        return grounded

    def conclude(
        self,
        setup: Setup,
        complaint: str,
        answers: Sequence[Answer],
        *,
        insist: bool = False,
        attempts: Sequence[Attempt] = (),
        carried: Sequence[Answer] = (),
    ) -> Conclusion:
        """Draw every conclusion from the set-up, the complaint and the answers, in the order they came.

        `insist` proposes a check even where concluding would be cheaper. `attempts` are repairs that did not
        end the trouble; `carried` are answers from before them that still hold, but were counted then.
        """
        case = Premises(self.kb, self._derive, setup, complaint)
        steps, stage = self._steps(case, attempts), stage_of(case, (*carried, *answers))
        seen = tuple(observe(self.kb, stage.known, stage.after, stage.counted))
        observations = self._fresh(seen, answers, steps)
        start = (self.site(setup, stage.known.values), self._excluded(stage), complaint)
        prefixes = [(*steps, *observations[:n]) for n in range(len(observations) + 1)]
        first, last = self._belief(*start, prefixes[0]), self._belief(*start, prefixes[-1])
        trail = tuple(self._chances(*start, prefix) for prefix in prefixes)
        stop_work, stands = unconfirmed(case, stage), standing(case, stage, attempts)
        ahead = self._ahead(last, case, stage, bool(stands))
        step = self._next(case, stage, stop_work, ahead)
        if insist and not step.check and (wanted := most_telling(ahead.best)):
            step = self._ask(wanted, "insisted", setup, stage.values, {a.check for a in stage.counted})
        dropped = tuple(a.check for a in stage.given if a.check in stage.stale)
        of_stage = (stage.known, stage.after, stage.values, observations, seen)
        return Conclusion(*of_stage, first, last, trail, stop_work, stands, dropped, ahead, step)

    def _steps(self, case: Premises, attempts: Sequence[Attempt]) -> tuple[Step, ...]:
        """What the attempts before left behind for the belief, in order."""
        steps: tuple[Step, ...] = ()
        for attempt in attempts:
            stage = stage_of(case, (*attempt.carried, *attempt.answers))
            seen = observe(self.kb, stage.known, stage.after, stage.counted)
            steps += self._fresh(seen, attempt.answers, steps)
            botched = 0.0 if attempt.surely_mended else self.kb.settings.botched_repair
            if applicable(self.kb.causes[attempt.cause], case.setup.devices):
                steps += (Mended(attempt.cause, botched),)
        return steps

    def _fresh(
        self, seen: Sequence[Observation], answers: Sequence[Answer], steps: Sequence[Step]
    ) -> tuple[Observation, ...]:
        """Observations not counted before: answered anew, or never seen in an earlier stage."""
        new = {a.check for a in answers}
        counted = {s.finding for s in steps if isinstance(s, Observation)}
        return tuple(o for o in seen if o.finding not in counted or self.kb.findings[o.finding].check in new)

    def _belief_after(self, site: Site, out: Excluded, complaint: str, steps: tuple[Step, ...]) -> Belief:
        """Belief after the steps; each builds on the one before, kept for the next answer."""
        if not steps:
            return prior(self.network(*site), complaint, dict(out))
        before, last = self._belief(site, out, complaint, steps[:-1]), steps[-1]
        if isinstance(last, Mended):
            return still_failing(before, last.cause, last.botched)
        return absorb(before, last, slip_of(self.kb.settings, last))

    def _excluded(self, stage: Stage) -> Excluded:
        return tuple(sorted(excluded(self.kb, stage.known, stage.after, stage.counted).items()))

    def site(self, setup: Setup, values: Mapping[str, Value]) -> Site:
        """What the network depends on: the sensors, and the facts that decide what some effect brings."""
        return setup.devices, tuple((f, values[f]) for f in self._depends_on if f in values)

    def _compile(self, devices: tuple[str, ...], known: tuple[tuple[str, Value], ...] = ()) -> Network:
        return compile_network(self.kb, devices, self._weights, dict(known))

    def _ahead(self, belief: Belief, case: Premises, stage: Stage, stopped: bool) -> Ahead:
        done, opened = set(stage.done) | set(stage.after.settled), open_groups(self.kb, stage.given)
        checks = askable(case, stage, stopped)
        options = tuple(self._option(c, opened, case.setup, stage.values, done) for c in checks)
        return Ahead(NearBelief(belief), options, self.costs(belief.network, opened), self.kb.settings.slip)

    def _option(
        self, check: Check, opened: frozenset[str], setup: Setup, values: Mapping[str, Value], done: set[str]
    ) -> Option:
        needs = self.open_needs(check, setup, values, done)
        asked = [check, *(self.kb.checks[n] for n in needs)]
        own = sum(c.minutes + self.kb.settings.asking_minutes for c in asked)
        shut = check.access and check.access not in opened
        return Option(check.id, check.id, own, check.access, self.kb.access[check.access].minutes if shut else 0.0)

    def open_needs(self, check: Check, setup: Setup, values: Mapping[str, Value], done: set[str]) -> tuple[str, ...]:
        """The context checks to ask before this one that are still open to this role."""
        if not check.needs:
            return ()
        return tuple(
            n.id
            for n in (self.kb.checks[n] for n in check.needs)
            if n.id not in done and permit.may_do(n, setup) and permit.open_now(n, values, frozenset())
        )

    def costs(self, network: Network, opened: frozenset[str]) -> Costs:
        """Minutes of remedy and proof per cause of the network, with the access group where it is still shut."""
        minutes = [repair_minutes(self.kb, self.kb.causes[c], opened) for c in network.causes]
        return Costs(_floats(minutes), self.kb.settings.specialist_minutes)

    def _next(self, case: Premises, stage: Stage, stop_work: tuple[str, ...], ahead: Ahead) -> Next:
        if stop_work:
            return Next(self.kb.settings.made_safe_check, "stop_work")
        if first := opening_check(case, stage):
            return Next(first, "opening")
        leader = float(ahead.near.belief.marginals[1:].max())
        chosen = self._chosen(ahead, leader)
        if chosen is None:
            return Next("", self._stop_reason(leader, ahead))
        why: Why = "pays" if chosen.pays else "tells"
        return self._ask(chosen, why, case.setup, stage.values, set(stage.done))

    def _chosen(self, ahead: Ahead, leader: float) -> Gain | None:
        """The check that pays; while the leader is not likely enough, else the one that tells most."""
        settings = self.kb.settings
        if leader >= settings.conclude_at:
            return None
        return choose(ahead.best) or most_telling(ahead.best, settings.least_bits_per_minute)

    def _ask(self, gain: Gain, why: Why, setup: Setup, values: Mapping[str, Value], done: set[str]) -> Next:
        needs = self.open_needs(self.kb.checks[gain.option.check], setup, values, done)
        return Next(needs[0], "needed", gain) if needs else Next(gain.option.check, why, gain)

    def _stop_reason(self, leader: float, ahead: Ahead) -> Why:
        if leader >= self.kb.settings.conclude_at:
            return "likely"
        return "not_worth_it" if ahead.options else "nothing_left"


def retraced(kb: KnowledgeBase, start: Belief, observations: Iterable[Observation]) -> Iterator[Belief]:
    """The whole belief at the start and after each observation, one at a time: they are megabytes each."""
    return accumulate(observations, lambda b, seen: absorb(b, seen, slip_of(kb.settings, seen)), initial=start)


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
