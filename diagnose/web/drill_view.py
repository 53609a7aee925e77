"""An exercise as plain values: where it stands, what the coach says, the debrief."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.practice import coach
from diagnose.practice.blocks import block_of_check, blocks
from diagnose.practice.coach import Feedback
from diagnose.practice.debrief import Debrief, Line
from diagnose.practice.exercise import Exercise, offered, opening_minutes
from diagnose.practice.moves import Hint, Look
from diagnose.practice.slips import SAYS
from diagnose.practice.wording import ENDED, PRACTISE, move_says, parting
from diagnose.session.checklist import open_items
from diagnose.session.session import conclude
from diagnose.session.summary import cautions_for
from diagnose.session.wording import answer_says, state_says
from diagnose.web.drills import Drill
from diagnose.web.view import Order, orders_of


@dataclass(frozen=True, slots=True)
class Offered:
    """A check of the list, with what it costs."""

    check: str
    says: str
    facts: str


@dataclass(frozen=True, slots=True)
class Stand:
    """Where the exercise stands. `parts` are the blocks of the installation: (name, good so far)."""

    name: str
    number: int
    lesson: str
    trainee: str
    complaint: str
    sensors: str
    minutes: float
    orders: tuple[Order, ...]
    last: str
    results: tuple[tuple[str, str], ...]
    told: tuple[str, ...]
    hint: str
    answers: tuple[tuple[str, str], ...]
    parts: tuple[tuple[str, bool], ...]
    offered: Mapping[str, tuple[Offered, ...]]
    owed: str
    proved: tuple[tuple[str, str], ...]
    can_finish: bool


@dataclass(frozen=True, slots=True)
class Asked:
    """A check that the trainee is about to do. `careful`: there is something to prepare for."""

    check: str
    says: str
    help: str
    states: tuple[tuple[str, str], ...]
    careful: bool


@dataclass(frozen=True, slots=True)
class Review:
    """The debrief."""

    ended: str
    danger: str
    truth: tuple[tuple[str, str], ...]
    false_leads: tuple[str, ...]
    own: tuple[tuple[str, str], ...]
    own_minutes: float
    best: tuple[tuple[str, str], ...]
    best_minutes: float
    part_at: int
    otherwise: str
    missed: tuple[str, ...]
    score: float
    points: tuple[tuple[str, float], ...]
    judged: tuple[str, ...]
    slips: tuple[str, ...]
    practise: str


def stand_of(reasoner: Reasoner, drill: Drill, words: str) -> Stand:
    kb, exercise = reasoner.kb, drill.exercise
    conclusion, session = conclude(reasoner, exercise.session), exercise.session
    moved = exercise.done[-1].move if exercise.done else None
    told = coach.feedback(reasoner, *drill.stages[-2:]) if len(drill.stages) > 1 else None
    hint = coach.hint(reasoner, drill.stages[-2], drill.lesson.hints)[1] if isinstance(moved, Hint) else ""
    items = [] if session.pending or exercise.gate.truth else open_items(kb, session)
    return Stand(
        name=drill.name,
        number=drill.number,
        lesson=drill.lesson.says,
        trainee=drill.trainee,
        complaint=kb.complaints[exercise.gate.complaint].says,
        sensors=", ".join(kb.devices[d] for d in session.setup.devices) or "not known",
        minutes=exercise.minutes,
        orders=orders_of(kb, conclusion),
        last=move_says(kb, moved) if moved and not hint else "",
        results=_results(kb, drill),
        told=told_of(kb, told) if told and not hint else (),
        hint=hint,
        answers=_answers(kb, exercise),
        parts=tuple((b.id, b.good) for b in blocks(kb, conclusion.belief)),
        offered=_offered(kb, conclusion, exercise, words),
        owed=kb.causes[session.pending.cause].proof if session.pending else "",
        proved=tuple((item.id, item.says) for item in items),
        can_finish=not session.pending,
    )


def _answers(kb: KnowledgeBase, exercise: Exercise) -> tuple[tuple[str, str], ...]:
    role = exercise.session.setup.role
    given = exercise.session.given
    return tuple((kb.checks[a.check].ask, answer_says(kb.checks[a.check], a, role)) for a in given)


def _results(kb: KnowledgeBase, drill: Drill) -> tuple[tuple[str, str], ...]:
    """What the last move showed: answers that are new, or what the proof said."""
    if len(drill.stages) < 2 or not isinstance(drill.exercise.done[-1].move, Look):
        return _proof(kb, drill)
    before = set(drill.stages[-2].session.given)
    role = drill.exercise.session.setup.role
    looked = drill.exercise.done[-1].move.check
    new = [a for a in drill.exercise.session.given if a not in before or a.check == looked]
    return tuple((kb.checks[a.check].ask, answer_says(kb.checks[a.check], a, role)) for a in new)


def _proof(kb: KnowledgeBase, drill: Drill) -> tuple[tuple[str, str], ...]:
    repairs = drill.exercise.session.repairs
    if len(drill.stages) < 2 or not repairs or drill.stages[-2].session.repairs == repairs:
        return ()
    if repairs[-1].proof == "pending":
        remedy = kb.causes[repairs[-1].cause].remedy
        return (("The remedy was carried out", "; ".join(remedy.steps)),)
    if repairs[-1].proof == "failed":
        return (("The proof", "FAILED: the trouble is still there"),)
    left = "but something is still wrong" if drill.exercise.gate.truth else "all is well now"
    return (("The proof", f"PASSED; {left}"),)


def told_of(kb: KnowledgeBase, told: Feedback) -> tuple[str, ...]:
    """What the coach says after a move."""
    said = []
    if told.expected is not None:
        said.append("As you expected." if told.expected else "Not what you expected.")
    if told.surprise is not None:
        said.append(f"Your expectation against the chances: Brier {told.surprise:.2f} (0 best, 1 worst).")
    if told.brier is not None:
        said.append(f"Your suspects against the posterior: Brier {told.brier:.3f} (0 best).")
    if told.bits or told.weight:
        pair = f"'{kb.causes[told.leader].says}' against '{kb.causes[told.rival].says}'"
        said.append(f"It told {told.bits:.2f} bit, and {round(told.weight):+d} dB for {pair}.")
    if told.counter:
        said.append(coach.says_counter(kb, told.counter))
    return (*said, *(f"SLIP: {SAYS[slip.kind]}. {slip.says}" for slip in told.slips))


def _offered(
    kb: KnowledgeBase, conclusion: Conclusion, exercise: Exercise, words: str
) -> dict[str, tuple[Offered, ...]]:
    """Checks that make sense here, by part of the installation; only those with all the words."""
    wanted, found = words.casefold().split(), dict[str, list[Offered]]()
    for check in offered(kb, conclusion, exercise):
        text = f"{check.id.replace('_', ' ')} {check.ask}".casefold()
        if all(word in text for word in wanted):
            found.setdefault(block_of_check(kb, check), []).append(_one(kb, exercise, check))
    return {block: tuple(checks) for block, checks in found.items()}


def _one(kb: KnowledgeBase, exercise: Exercise, check: Check) -> Offered:
    opening = opening_minutes(kb, exercise.session, check)
    facts = [f"{check.minutes:g} min", *([f"+{opening:g} to {kb.access[check.access].says}"] if opening else [])]
    facts += [kb.tools[t] for t in check.tools] + (["electrician"] if check.who == "electrician" else [])
    facts += ["answered"] if exercise.session.answer(check.id) else []
    return Offered(check.id, check.ask, "; ".join(facts))


def asked_of(kb: KnowledgeBase, check: Check) -> Asked:
    states = check.finding.states if check.finding else ()
    says = tuple((s, state_says(kb, check.finding.id, s)) for s in states if check.finding)
    return Asked(check.id, check.ask, check.help, says, bool(cautions_for(kb, check)))


def causes_of(kb: KnowledgeBase, names: Sequence[str]) -> dict[str, list[tuple[str, str]]]:
    """What can be wrong at this gate, by family, to choose from."""
    found: dict[str, list[tuple[str, str]]] = {}
    for name in names:
        found.setdefault(kb.causes[name].family, []).append((name, kb.causes[name].says))
    return found


def review_of(kb: KnowledgeBase, drill: Drill, seen: Debrief) -> Review:
    parted = parting(seen)
    end, other = drill.exercise, seen.otherwise
    return Review(
        ended=ENDED[end.ended],
        danger=end.danger.says if end.danger else "",
        truth=tuple((kb.causes[c].says, kb.causes[c].explain) for c in drill.recording.gate.truth),
        false_leads=tuple(f"{kb.findings[f].says}: {state_says(kb, f, s)}" for f, s in seen.false_leads),
        own=_path(kb, seen.own),
        own_minutes=seen.minutes,
        best=_path(kb, seen.best),
        best_minutes=seen.best_minutes,
        part_at=0 if parted is None else parted + 1,
        otherwise=f"At your step {other.number + 1}: '{move_says(kb, other.instead)}' would have saved "
        f"{other.saves:.0f} min."
        if other
        else "",
        missed=tuple(kb.cautions[c].says for c in seen.missed),
        score=seen.score,
        points=tuple(seen.parts.items()),
        judged=_judged(seen),
        slips=tuple(f"{SAYS[kind]} ({count})" for kind, count in seen.slips.most_common()),
        practise=PRACTISE[seen.practise],
    )


def _path(kb: KnowledgeBase, lines: Sequence[Line]) -> tuple[tuple[str, str], ...]:
    return tuple(
        (move_says(kb, x.move), f"{x.minutes:g} min" + (f", {x.bits:+.2f} bit" if isinstance(x.move, Look) else ""))
        for x in lines
    )


def _judged(seen: Debrief) -> tuple[str, ...]:
    said = []
    if seen.brier is not None:
        said.append(f"Your suspects against the posterior: mean Brier {seen.brier:.3f}.")
    if seen.truth_brier is not None:
        said.append(f"Your suspects against what it was: mean Brier {seen.truth_brier:.3f}.")
    if parts := seen.truth_parts:
        told = f"miscalibration {parts.reliability:.3f}, gained by telling cases apart {parts.resolution:.3f}"
        said.append(f"Over every single statement: {told}.")
    return tuple(said)
