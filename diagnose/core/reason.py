"""The stages in order: answers -> facts -> rules -> findings -> posterior -> next check or conclusion."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from itertools import accumulate

from diagnose.core.asking import Next, Repairs, asked, costs_of, next_check, open_groups, option_of
from diagnose.core.compile import applicable, compile_network, depends_on
from diagnose.core.course import Heard, Mended, Step
from diagnose.core.engine import Engine
from diagnose.core.exclude import excluded
from diagnose.core.facts import Known
from diagnose.core.findings import observe, slip_of
from diagnose.core.ground import ground
from diagnose.core.looks import beside
from diagnose.core.misfit import Readings, unread
from diagnose.core.near import NearBelief
from diagnose.core.network import Network
from diagnose.core.policy import Ahead, Gain, most_telling
from diagnose.core.posterior import Belief, Chances, ImpossibleEvidence, absorb, prior, still_failing
from diagnose.core.rules import Consequences, fixpoint
from diagnose.core.stage import (
    Derive,
    Premises,
    Stage,
    askable,
    reopened,
    stage_of,
    standing,
    unconfirmed,
    untested,
)
from diagnose.model.gear import Gear, plain
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Attempt, Observation, Setup, Value


@dataclass(frozen=True, slots=True)
class Conclusion:
    """Everything that follows from the answers.

    `start` is the belief before the first observation, `belief` that after the last one. `seen` is everything
    observed, also before the last repair, as far as it still holds. `told` are all observations and repairs of the
    visit in order, and `path` the chances of the causes before the first of them and after each.
    `heard` is what was heard of each finding before the last repair; `tried` are causes whose repair did not end the
    trouble while nothing was looked at since that shows whether it worked.
    `stale` lists answers to checks whose conditions no longer hold; they count for nothing.
    `stands` are the stop-work orders that stand, confirmed or not; `stop_work` those not confirmed yet.
    `readings` works out how well careless answering explains the observations.
    """

    known: Known
    after: Consequences
    values: Mapping[str, Value]  # every fact, rules included
    observations: tuple[Observation, ...]
    seen: tuple[Observation, ...]
    heard: Mapping[str, Sequence[Heard]]
    tried: tuple[str, ...]
    told: tuple[Step, ...]
    start: Belief
    belief: Belief
    path: tuple[Chances, ...]
    stop_work: tuple[str, ...]
    stands: tuple[str, ...]
    stale: tuple[str, ...]
    ahead: Ahead
    next: Next
    readings: Callable[[], Readings]

    @property
    def misfit(self) -> float:
        """How much better careless answering explains the observations; see core/misfit."""
        return self.readings().misfit

    @property
    def worked(self) -> tuple[str, ...]:
        """Causes whose repair, more likely than not, removed a fault although the trouble went on."""
        mended = [step.cause for step in self.told if isinstance(step, Mended)]
        course = self.belief.course
        return tuple(c for n, c in enumerate(mended) if course and course.removed_by(n) > LIKELY_WORKED)

    @property
    def gains(self) -> Sequence[Gain]:
        """What every check that may be asked now promises."""
        return self.ahead.gains


@dataclass(frozen=True, slots=True)
class Staged:
    """What follows from answers by rules and sums alone, without any belief; named as in a Conclusion."""

    known: Known
    after: Consequences
    stop_work: tuple[str, ...]
    stale: tuple[str, ...]


Excluded = tuple[tuple[str, float], ...]  # causes with what is left of their odds
Site = tuple[tuple[str, ...], tuple[tuple[str, Value], ...]]  # sensors, and facts that effects depend on


LIKELY_WORKED = 0.5
REMEMBERED = 6  # whole beliefs kept: a few megabytes each
READ = 3  # pairs of such beliefs: what follows from one more answer, or from the last one taken back


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
        self._readings = lru_cache(maxsize=READ)(self._readings_after)
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
        told = (*steps, *observations)
        first, last = self._belief(*start, steps), self._belief(*start, told)
        path = tuple(self._chances(*start, told[:n]) for n in range(len(told) + 1))
        stop_work, stands = unconfirmed(case, stage), standing(case, stage, attempts)
        heard = heard_of(self.kb, steps)
        ahead = self._ahead(NearBelief(last, heard), case, stage, bool(stands), reopened(self.kb, attempts, carried))
        tried = untested(self.kb, attempts, answers)
        step = next_check(case, stage, stop_work, ahead, Repairs(attempts, tried, bool(answers)))
        if insist and not step.check and (wanted := most_telling(ahead.best)):
            step = asked(case, wanted, "insisted", stage.values, {a.check for a in stage.counted})
        step = replace(step, beside=beside(case, stage, ahead, step))
        dropped = tuple(a.check for a in stage.given if a.check in stage.stale)
        of_stage = (stage.known, stage.after, stage.values, observations, seen, heard, tried)
        readings = partial(self._readings, *start, steps, observations)
        return Conclusion(*of_stage, told, first, last, path, stop_work, stands, dropped, ahead, step, readings)

    def staged(
        self, setup: Setup, complaint: str, answers: Sequence[Answer], carried: Sequence[Answer] = ()
    ) -> Staged:
        """What a conclusion says of the answers apart from the causes, for a hundredth of its work."""
        case = Premises(self.kb, self._derive, setup, complaint)
        stage = stage_of(case, (*carried, *answers))
        dropped = tuple(a.check for a in stage.given if a.check in stage.stale)
        return Staged(stage.known, stage.after, unconfirmed(case, stage), dropped)

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
        """Observations not counted before: answered anew, or not seen so in an earlier stage."""
        new = {a.check for a in answers if a.says_something}
        counted = {s.finding: s.state for s in steps if isinstance(s, Observation)}
        return tuple(o for o in seen if counted.get(o.finding) != o.state or self.kb.findings[o.finding].check in new)

    def _belief_after(self, site: Site, out: Excluded, complaint: str, steps: tuple[Step, ...]) -> Belief:
        """Belief after the steps; each builds on the one before, kept for the next answer."""
        if not steps:
            return prior(self.network(*site), complaint, dict(out))
        before, last = self._belief(site, out, complaint, steps[:-1]), steps[-1]
        if isinstance(last, Observation):
            return absorb(
                before, last, slip_of(self.kb.settings, last), heard_of(self.kb, steps[:-1]).get(last.finding, ())
            )
        try:
            return still_failing(before, last.cause, last.botched)
        except ImpossibleEvidence:  # two faults were mended and proved good, and there is a third
            mended = {s.cause: 0.0 for s in steps if isinstance(s, Mended)}
            return prior(self.network(*site), complaint, dict(out) | mended)

    def _readings_after(
        self, site: Site, out: Excluded, complaint: str, steps: tuple[Step, ...], seen: tuple[Observation, ...]
    ) -> Readings:
        """What was seen since the last repair, read both ways; each builds on the one before."""
        if not seen:
            return unread(self._belief(site, out, complaint, steps))
        before, last, settings = self._readings(site, out, complaint, steps, seen[:-1]), seen[-1], self.kb.settings
        heard = heard_of(self.kb, steps).get(last.finding, ())
        return before.after(last, slip_of(settings, last), settings.careless_slip, heard)

    def _excluded(self, stage: Stage) -> Excluded:
        return tuple(sorted(excluded(self.kb, stage.known, stage.after, stage.counted).items()))

    def site(self, setup: Setup, values: Mapping[str, Value]) -> Site:
        """What the network depends on: the sensors, and the facts that decide what some effect brings."""
        return setup.devices, tuple((f, values[f]) for f in self._depends_on if f in values)

    def _compile(self, devices: tuple[str, ...], known: tuple[tuple[str, Value], ...] = ()) -> Network:
        return compile_network(self.kb, devices, self._weights, dict(known))

    def _ahead(self, near: NearBelief, case: Premises, stage: Stage, stopped: bool, again: frozenset[str]) -> Ahead:
        done, opened = set(stage.done) | set(stage.after.settled), open_groups(self.kb, stage.given)
        checks = askable(case, stage, stopped, again)
        options = tuple(option_of(case, c, opened, stage.values, done) for c in checks)
        return Ahead(near, options, costs_of(self.kb, near.belief.network, opened), self.kb.settings.slip)


def heard_of(kb: KnowledgeBase, steps: Iterable[Step]) -> Mapping[str, Sequence[Heard]]:
    """Finding -> what was heard of it, and after how many repairs."""
    found: dict[str, list[Heard]] = {}
    repairs = 0
    for step in steps:
        if isinstance(step, Mended):
            repairs += 1
        else:
            found.setdefault(step.finding, []).append(Heard(repairs, step.state, slip_of(kb.settings, step)))
    return found


def retraced(kb: KnowledgeBase, start: Belief, conclusion: Conclusion) -> Iterator[Belief]:
    """The whole belief at the start and after each observation, one at a time: they are megabytes each."""

    def after(belief: Belief, seen: Observation) -> Belief:
        return absorb(belief, seen, slip_of(kb.settings, seen), conclusion.heard.get(seen.finding, ()))

    return accumulate(conclusion.observations, after, initial=start)
