"""What holds after some answers: the facts, what rules make of them, what may be asked, which orders stand.

Nothing here weighs causes, so the session's law can ask it without a belief.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.core import permit
from diagnose.core.facts import Known, gather
from diagnose.core.rules import Consequences, consequences
from diagnose.model.bearing import bearing
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Answer, Attempt, Fact, Setup, Value

SAFE = ("safe", "made_safe")  # answers of settings.made_safe_check that confirm a stop-work order
Derive = Callable[[Iterable[Fact]], tuple[frozenset[Fact], tuple[str, ...]]]


@dataclass(frozen=True, slots=True)
class Premises:
    """All that facts are drawn from besides the answers; `derive` runs the rules."""

    kb: KnowledgeBase
    derive: Derive
    setup: Setup
    complaint: str


@dataclass(frozen=True, slots=True)
class Stage:
    """`given`: all answers; `stale` names those whose conditions do not hold, which count for nothing."""

    known: Known
    after: Consequences
    values: Mapping[str, Value]  # every fact, rules included
    given: tuple[Answer, ...]
    stale: frozenset[str]

    @property
    def counted(self) -> tuple[Answer, ...]:
        return tuple(a for a in self.given if a.check not in self.stale)

    @property
    def done(self) -> frozenset[str]:
        return frozenset(a.check for a in self.given)


def stage_of(case: Premises, answers: Sequence[Answer]) -> Stage:
    """Facts from the answers whose conditions hold."""
    given, stale = tuple(answers), set[str]()
    while True:
        known = gather(case.kb, case.setup, case.complaint, given)
        after = consequences(case.kb, *case.derive(known.facts))
        values = {**dict(sorted(after.facts)), **known.values}
        lapsed = {a.check for a in given if not permit.holds(case.kb.checks[a.check].only_if, values)}
        if not lapsed:
            return Stage(known, after, values, tuple(answers), frozenset(stale))
        stale |= lapsed
        given = tuple(a for a in given if a.check not in stale)


def unconfirmed(case: Premises, stage: Stage) -> tuple[str, ...]:
    """Stop-work orders still to be confirmed: 'made safe' covers only what was known when it was said."""
    if not stage.after.stop_work:
        return ()
    check, answers = case.kb.settings.made_safe_check, stage.counted
    said = next((i for i, a in enumerate(answers) if a.check == check and a.value in SAFE), None)
    if said is None:
        return stage.after.stop_work
    then = stage_of(case, answers[: said + 1]).after.stop_work
    return tuple(order for order in stage.after.stop_work if order not in then)


def standing(case: Premises, stage: Stage, attempts: Sequence[Attempt]) -> tuple[str, ...]:
    """Every stop-work order that stands, confirmed or not: nothing may run the gate.

    A repair makes answers obsolete, but lifts their order only where it was proved good.
    """
    found = dict.fromkeys(stage.after.stop_work)
    for attempt in reversed(attempts):
        if attempt.surely_mended:
            break
        found |= dict.fromkeys(stage_of(case, (*attempt.carried, *attempt.answers)).after.stop_work)
    return tuple(found)


def opening_check(case: Premises, stage: Stage) -> str:
    """The first of the opening checks, or of the first cut, that is still to be asked, or ''."""
    settings = case.kb.settings
    for check in (case.kb.checks[c] for c in (*settings.opening, settings.first_cut) if c):
        fits = permit.may_do(check, case.setup) and permit.open_now(check, stage.values, frozenset())
        if fits and check.id not in stage.done:
            return check.id
    return ""


def told_of(kb: KnowledgeBase, cause: str) -> frozenset[str]:
    """Checks whose answer tells of a cause: it bears on what they find."""
    if cause not in kb.causes:
        return frozenset()
    return frozenset(kb.findings[f].check for f in bearing(kb, kb.causes[cause]))


def touched_by(kb: KnowledgeBase, cause: str) -> frozenset[str]:
    """Those whose answer the repair of the cause can change."""
    return frozenset(c for c in told_of(kb, cause) if c in kb.checks and not kb.checks[c].lasts)


def reopened(kb: KnowledgeBase, attempts: Sequence[Attempt], carried: Iterable[Answer]) -> frozenset[str]:
    """Checks that were answered before a repair which can have changed what they find: they may be asked again."""
    last = {a.check: number for number, attempt in enumerate(attempts) for a in attempt.answers}
    touched = [touched_by(kb, attempt.cause) for attempt in attempts]
    return frozenset(a.check for a in carried if any(a.check in t for t in touched[last.get(a.check, 0) :]))


def untested(kb: KnowledgeBase, attempts: Sequence[Attempt], answers: Sequence[Answer]) -> tuple[str, ...]:
    """Causes whose repair did not end the trouble, while nothing was looked at since that shows whether it worked.

    `answers` are those since the last repair.
    """
    since = [*(attempt.answers for attempt in attempts[1:]), answers]
    found = dict[str, bool]()
    for number, attempt in enumerate(attempts):
        told = {a.check for each in since[number:] for a in each if a.says_something}
        found[attempt.cause] = not attempt.surely_mended and not told & touched_by(kb, attempt.cause)
    return tuple(cause for cause, so in found.items() if so)


def askable(case: Premises, stage: Stage, stopped: bool, again: Collection[str] = ()) -> list[Check]:
    """The scored checks that are open to this role. `stopped`: a stop-work order stands; `again`: those answered
    already that may be asked once more."""
    done = stage.done - set(again) | set(stage.after.settled)
    return [
        c
        for c in case.kb.checks.values()
        if c.finding
        and c.id not in done
        and permit.may_do(c, case.setup)
        and permit.open_now(c, stage.values, stage.after.unlocked, stopped, c.id in again)
    ]


def left_to_ask(case: Premises, stage: Stage, attempts: Sequence[Attempt], carried: Iterable[Answer]) -> bool:
    """Whether anything can still be asked here, worth its minutes or not; `carried`: answers from before repairs."""
    if unconfirmed(case, stage) or opening_check(case, stage):
        return True
    again = reopened(case.kb, attempts, carried)
    return bool(askable(case, stage, bool(standing(case, stage, attempts)), again))
