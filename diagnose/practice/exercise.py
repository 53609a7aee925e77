"""One exercise as a frozen value, changed only by moves; and the best policy's way through the same gate.

The trainee's visit is an ordinary session, so it is drawn, recorded and exported like any other.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from diagnose.core import permit
from diagnose.core.asking import open_groups, open_needs
from diagnose.core.explain import repair_order
from diagnose.core.facts import fact_name
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import DiagnoseError
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.practice import hazards
from diagnose.practice.gate import Gate, after_repair
from diagnose.practice.hazards import Danger
from diagnose.practice.moves import (
    CheckMove,
    FinishMove,
    HintMove,
    Move,
    ProofMove,
    RepairMove,
    SuspectMove,
    TickMove,
)
from diagnose.session.checklist import open_items
from diagnose.session.events import AnotherFault, Begin, Close, Event, Proved, Repaired, Reply, Ticked
from diagnose.session.law import doers, may_follow
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.store.limits import require_bounded
from diagnose.words import say

Ended = Literal["", "unsafe", "solved", "left_out", "specialist"]
BY = "trainee"
TICK_MINUTES = 2.0  # judgement
HINT_MINUTES = (2.0, 4.0, 8.0)  # on the clock, by strength, as a call to a colleague takes; judgement
MOST_WORDS = 500
MOST_MOVES = 60


@dataclass(frozen=True, slots=True)
class Done:
    """One move and what it cost."""

    move: Move
    minutes: float


@dataclass(frozen=True, slots=True)
class Exercise:
    """`gate` as it is now, `session` as the trainee's visit stands, `events` that made it, `danger` that ended it."""

    gate: Gate
    session: Session
    events: tuple[Event, ...]
    done: tuple[Done, ...] = ()
    ended: Ended = ""
    danger: Danger | None = None

    @property
    def minutes(self) -> float:
        return sum(d.minutes for d in self.done)

    @property
    def hints(self) -> int:
        """Hints asked since the last check or repair."""
        count = 0
        for done in reversed(self.done):
            if isinstance(done.move, SuspectMove):
                continue
            if not isinstance(done.move, HintMove):
                break
            count += 1
        return count

    @property
    def wrote(self) -> bool:
        """Whether the trainee has said what he suspects, in his own words or with percentages."""
        moves = (done.move for done in self.done)
        return any(isinstance(m, SuspectMove) or (isinstance(m, CheckMove) and m.beliefs) for m in moves)


def begin(reasoner: Reasoner, gate: Gate) -> Exercise:
    """An exercise on a fresh gate."""
    opening = Begin(gate.setup, gate.complaint, site=say("practice.gate_name"), digest=reasoner.kb.digest)
    return Exercise(gate, step(reasoner.kb, None, opening), (opening,))


def replayed(reasoner: Reasoner, gate: Gate, moves: Iterable[Move]) -> Exercise:
    """The exercise after these moves. Raises DiagnoseError at the first that is not possible."""
    exercise = begin(reasoner, gate)
    for move in moves:
        exercise = advance(reasoner, exercise, move)
    return exercise


def made(reasoner: Reasoner, exercise: Exercise, move: Move) -> Exercise:
    """The exercise after a move that is made now: as `advance`, within what a visit may hold, so that its record can
    always be kept. It can always be ended."""
    after = advance(reasoner, exercise, move)
    if isinstance(move, CheckMove | RepairMove):
        require_bounded(after.events, len(after.events))
    return after


def advance(reasoner: Reasoner, exercise: Exercise, move: Move) -> Exercise:
    """The exercise after a move. Raises DiagnoseError, and changes nothing, when it is not possible."""
    if exercise.ended:
        raise DiagnoseError(say("practice.over"))
    match move:
        case CheckMove():
            return _look(reasoner, exercise, move)
        case SuspectMove():
            return _suspect(exercise, move)
        case HintMove():
            return _added(exercise, move, HINT_MINUTES[min(exercise.hints, len(HINT_MINUTES) - 1)])
        case RepairMove():
            return _repair(reasoner, exercise, move)
        case ProofMove():
            return _prove(reasoner, exercise, move)
        case TickMove():
            return _sent(reasoner.kb, _added(exercise, move, TICK_MINUTES), Ticked(move.item, "pass", "proved"))
        case FinishMove():
            return _finish(reasoner.kb, exercise, move)


def _added(exercise: Exercise, move: Move, minutes: float) -> Exercise:
    return replace(exercise, done=(*exercise.done, Done(move, minutes)))


def _suspect(exercise: Exercise, move: SuspectMove) -> Exercise:
    if not move.words.strip() or len(move.words) > MOST_WORDS:
        raise DiagnoseError(say("practice.write_something", most=MOST_WORDS))
    return _added(exercise, move, 0.0)


def _sent(kb: KnowledgeBase, exercise: Exercise, *events: Event) -> Exercise:
    session = exercise.session
    for event in events:
        session = step(kb, session, event)
    return replace(exercise, session=session, events=(*exercise.events, *events))


def offered(kb: KnowledgeBase, conclusion: Conclusion, exercise: Exercise) -> list[Check]:
    """Checks on the list: those that make sense at this gate, asked already or not, safe or not."""
    devices = exercise.session.setup.devices
    return [c for c in kb.checks.values() if _sensible(c, conclusion, devices, exercise)]


def _sensible(check: Check, conclusion: Conclusion, devices: tuple[str, ...], exercise: Exercise) -> bool:
    if check.devices and devices and not set(check.devices) & set(devices):
        return False
    filled = fact_name(check) in exercise.session.setup.profile
    return not filled and permit.holds(check.only_if, conclusion.values)


def _look(reasoner: Reasoner, exercise: Exercise, move: CheckMove) -> Exercise:
    kb, check = reasoner.kb, reasoner.kb.checks.get(move.check)
    conclusion = conclude(reasoner, exercise.session)
    if check is None or check not in offered(kb, conclusion, exercise):
        raise DiagnoseError(say("practice.no_sense"))
    if danger := hazards.of_check(kb, exercise.session.setup, conclusion, check, move.prepared):
        return replace(_added(exercise, move, 0.0), ended="unsafe", danger=danger)
    if not permit.may_do(check, exercise.session.setup):
        raise DiagnoseError(say("practice.no_tools"))
    needs = _open_needs(reasoner, conclusion, exercise, check)
    events = [Reply(c.id, exercise.gate.results[c.id], by=BY) for c in (*needs, check)]
    again = (e for e in events if e.check != kb.settings.made_safe_check)  # it covers only what was known when said
    known = {e.check for e in again if (a := exercise.session.answer(e.check)) and a.value == e.value}
    minutes = sum(c.minutes for c in (*needs, check)) + opening_minutes(kb, exercise.session, check)
    return _sent(kb, _added(exercise, move, minutes), *(e for e in events if e.check not in known))


def _open_needs(reasoner: Reasoner, conclusion: Conclusion, exercise: Exercise, check: Check) -> list[Check]:
    answered = {a.check for a in exercise.session.given} | set(conclusion.after.settled)
    needs = open_needs(reasoner.kb, check, exercise.session.setup, conclusion.values, answered)
    return [reasoner.kb.checks[n] for n in needs]


def opening_minutes(kb: KnowledgeBase, session: Session, check: Check) -> float:
    """What reaching the check costs on top of doing it, while its access is still shut."""
    shut = check.access and check.access not in open_groups(kb, session.given)
    return kb.access[check.access].minutes if shut else 0.0


def _repair(reasoner: Reasoner, exercise: Exercise, move: RepairMove) -> Exercise:
    kb, conclusion = reasoner.kb, conclude(reasoner, exercise.session)
    if not move.causes or any(c not in kb.causes for c in move.causes):
        raise DiagnoseError(say("practice.name_a_cause"))
    if why := may_follow(kb, exercise.session)["repaired"]:
        raise DiagnoseError(why)
    for cause in move.causes:
        if danger := hazards.of_repair(kb, exercise.session.setup, conclusion, cause, move.prepared):
            return replace(_added(exercise, move, 0.0), ended="unsafe", danger=danger)
    minutes = sum(_remedy_minutes(kb, exercise.session, cause) for cause in move.causes)
    exercise = _added(exercise, move, minutes)
    for cause in move.causes[:-1]:  # nobody can tell afterwards which of them helped
        exercise = _proved(reasoner, _sent(kb, exercise, Repaired(cause)))
    return _sent(kb, exercise, Repaired(move.causes[-1]))


def _remedy_minutes(kb: KnowledgeBase, session: Session, cause: str) -> float:
    if cause == kb.settings.outside_cause:
        return kb.settings.specialist_minutes
    remedy = kb.causes[cause].remedy
    shut = remedy.access and remedy.access not in open_groups(kb, session.given)
    return remedy.minutes + (kb.access[remedy.access].minutes if shut else 0.0)


def _prove(reasoner: Reasoner, exercise: Exercise, move: ProofMove) -> Exercise:
    repair = exercise.session.pending
    if repair is None:
        raise DiagnoseError(may_follow(reasoner.kb, exercise.session)["proved"])
    outside = repair.cause == reasoner.kb.settings.outside_cause
    minutes = 0.0 if outside else reasoner.kb.causes[repair.cause].proof_minutes
    return _proved(reasoner, _added(exercise, move, minutes))


def _proved(reasoner: Reasoner, exercise: Exercise) -> Exercise:
    """What the proof of the pending repair shows; a gate that is still wrong says so."""
    repair = exercise.session.pending
    assert repair
    if repair.cause not in exercise.gate.truth:
        return _sent(reasoner.kb, exercise, Proved(False, say("practice.note_failed")))
    gate = after_repair(reasoner, exercise.gate, repair.cause)
    exercise = _sent(reasoner.kb, replace(exercise, gate=gate), Proved(True, say("practice.note_passed")))
    return _sent(reasoner.kb, exercise, AnotherFault()) if gate.truth else exercise


def _finish(kb: KnowledgeBase, exercise: Exercise, move: FinishMove) -> Exercise:
    done = _added(exercise, move, 0.0)
    proved = not exercise.session.pending and not open_items(kb, exercise.session)
    if proved and not exercise.gate.truth:
        return replace(_sent(kb, done, Close("in_service")), ended="solved")
    return replace(_sent(kb, done, Close("left_out", say("practice.note_ended"))), ended="left_out")


def best_from(reasoner: Reasoner, exercise: Exercise) -> Exercise:
    """The rest of the exercise as the tool would do it: its checks, its repair order, each repair proved."""
    while not exercise.ended and exercise.gate.truth and len(exercise.done) < MOST_MOVES:
        move = best_move(reasoner, exercise)
        if move is None:
            spent = Done(FinishMove(), reasoner.kb.settings.specialist_minutes)
            return replace(exercise, done=(*exercise.done, spent), ended="specialist")
        exercise = advance(reasoner, exercise, move)
    return exercise


def best_move(reasoner: Reasoner, exercise: Exercise) -> Move | None:
    """What the tool would do now; None sends for the specialist."""
    if exercise.session.pending:
        return ProofMove()
    conclusion = conclude(reasoner, exercise.session)
    if conclusion.next.check:
        return CheckMove(conclusion.next.check, prepared=True)
    opened = open_groups(reasoner.kb, exercise.session.given)
    tried = {r.cause for r in exercise.session.repairs}
    order = (c for c in repair_order(reasoner.kb, conclusion.belief, opened) if c not in tried)
    mine = (c for c in order if "" in doers(reasoner.kb, exercise.session, c))
    cause = next(mine, "")
    return RepairMove((cause,), prepared=True) if cause else None
