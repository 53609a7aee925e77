"""An exercise as plain values: where it stands, what the coach says, the debrief."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.practice import coach
from diagnose.practice.blocks import BLOCKS, Block, block_of_check, block_of_family, blocks
from diagnose.practice.coach import Feedback
from diagnose.practice.debrief import Debrief, Line, Otherwise
from diagnose.practice.exercise import Exercise, offered, opening_minutes
from diagnose.practice.moves import Hint, Look
from diagnose.practice.slips import SAYS
from diagnose.practice.wording import ENDED, PRACTISE, move_says, parting
from diagnose.present.figures import minutes, rounded, weight
from diagnose.present.notices import Order, orders_of
from diagnose.present.reasons import seen_says
from diagnose.session.checklist import open_items
from diagnose.session.session import conclude
from diagnose.session.summary import cautions_for
from diagnose.session.wording import answer_says, state_says, who_says
from diagnose.web.drills import Drill
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Offered:
    """A check of the list, with what it costs."""

    check: str
    says: str
    facts: str


@dataclass(frozen=True, slots=True)
class Stand:
    """Where the exercise stands. `parts` are those of the installation, each with how it looks so far; `offered`
    checks by part; `owed` a proof, '' for none."""

    name: str
    number: int
    lesson: str
    trainee: str
    complaint: str
    sensors: str
    minutes: str
    orders: tuple[Order, ...]
    last: str
    results: tuple[tuple[str, str], ...]
    told: tuple[str, ...]
    hint: str
    answers: tuple[tuple[str, str], ...]
    parts: tuple[tuple[str, str], ...]
    offered: Mapping[str, tuple[Offered, ...]]
    owed: str
    proved: tuple[tuple[str, str], ...]


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
    own_minutes: str
    best: tuple[tuple[str, str], ...]
    best_minutes: str
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
        sensors=", ".join(kb.devices[d] for d in session.setup.devices) or say("web.not_known"),
        minutes=minutes(exercise.minutes),
        orders=orders_of(kb, conclusion),
        last=move_says(kb, moved) if moved and not hint else "",
        results=_results(kb, drill),
        told=told_of(kb, told) if told and not hint else (),
        hint=hint,
        answers=_answers(kb, exercise),
        parts=tuple((_part(b.id), _looks(b)) for b in blocks(kb, conclusion.belief)),
        offered=_offered(kb, conclusion, exercise, words),
        owed=kb.causes[session.pending.cause].proof if session.pending else "",
        proved=tuple((item.id, item.says) for item in items),
    )


def _part(block: str) -> str:
    """What a part of the installation is called; one that has no name yet, as it is kept."""
    return say(f"web.part_{block}") if block in (*BLOCKS, "facts") else block.replace("_", " ")


def _looks(block: Block) -> str:
    return say("web.good_so_far") if block.good else say("web.open_still")


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
        return ((say("web.remedy_done"), "; ".join(remedy.steps)),)
    if repairs[-1].proof == "failed":
        return ((say("web.the_proof"), say("web.proof_bad")),)
    return ((say("web.the_proof"), say("web.proof_left") if drill.exercise.gate.truth else say("web.proof_good")),)


def told_of(kb: KnowledgeBase, told: Feedback) -> tuple[str, ...]:
    """What the coach says after a move."""
    said = []
    if told.expected is not None:
        said.append(say("web.as_expected") if told.expected else say("web.not_expected"))
    if told.surprise is not None:
        said.append(say("web.expected_off", off=f"{told.surprise:.2f}"))
    if told.brier is not None:
        said.append(say("web.shares_off", off=f"{told.brier:.3f}"))
    if told.bits or told.weight:
        leader, rival = kb.causes[told.leader].says, kb.causes[told.rival].says
        said.append(say("web.it_weighs", weight=weight(told.weight), leader=leader, rival=rival))
    if told.counter:
        said.append(coach.says_counter(kb, told.counter))
    return (*said, *(say("web.slip", kind=SAYS[slip.kind], says=slip.says) for slip in told.slips))


def _offered(
    kb: KnowledgeBase, conclusion: Conclusion, exercise: Exercise, words: str
) -> dict[str, tuple[Offered, ...]]:
    """Checks that make sense here, by part of the installation; only those with all the words."""
    wanted, found = words.casefold().split(), dict[str, list[Offered]]()
    for check in offered(kb, conclusion, exercise):
        text = f"{check.id.replace('_', ' ')} {check.ask}".casefold()
        if all(word in text for word in wanted):
            found.setdefault(_part(block_of_check(kb, check)), []).append(_one(kb, exercise, check))
    return {block: tuple(checks) for block, checks in found.items()}


def _one(kb: KnowledgeBase, exercise: Exercise, check: Check) -> Offered:
    opening = opening_minutes(kb, exercise.session, check)
    facts = [minutes(check.minutes), *(kb.tools[t] for t in check.tools)]
    if opening:
        facts.insert(1, say("web.opening_too", minutes=minutes(opening), opening=kb.access[check.access].says))
    facts += [who_says(check.who)] if check.who == "electrician" else []
    facts += [say("web.answered")] if exercise.session.answer(check.id) else []
    return Offered(check.id, check.ask, "; ".join(facts))


def asked_of(kb: KnowledgeBase, check: Check) -> Asked:
    states = check.finding.states if check.finding else ()
    says = tuple((s, state_says(kb, check.finding.id, s)) for s in states if check.finding)
    return Asked(check.id, check.ask, check.help, says, bool(cautions_for(kb, check)))


def causes_of(kb: KnowledgeBase, names: Sequence[str]) -> dict[str, list[tuple[str, str]]]:
    """What can be wrong at this gate, by part of the installation, to choose from."""
    found: dict[str, list[tuple[str, str]]] = {}
    for name in names:
        found.setdefault(_part(block_of_family(kb.causes[name].family)), []).append((name, kb.causes[name].says))
    return found


def review_of(kb: KnowledgeBase, drill: Drill, seen: Debrief) -> Review:
    parted = parting(seen)
    end, other = drill.exercise, seen.otherwise
    return Review(
        ended=ENDED[end.ended],
        danger=end.danger.says if end.danger else "",
        truth=tuple((kb.causes[c].says, kb.causes[c].explain) for c in drill.recording.gate.truth),
        false_leads=tuple(seen_says(kb, f, s) for f, s in seen.false_leads),
        own=_path(kb, seen.own),
        own_minutes=minutes(seen.minutes),
        best=_path(kb, seen.best),
        best_minutes=minutes(seen.best_minutes),
        part_at=0 if parted is None else parted + 1,
        otherwise=_otherwise(kb, other) if other else "",
        missed=tuple(kb.cautions[c].says for c in seen.missed),
        score=seen.score,
        points=tuple(seen.parts.items()),
        judged=_judged(seen),
        slips=tuple(say("web.slips", kind=SAYS[kind], times=count) for kind, count in seen.slips.most_common()),
        practise=PRACTISE[seen.practise],
    )


def _path(kb: KnowledgeBase, lines: Sequence[Line]) -> tuple[tuple[str, str], ...]:
    return tuple((move_says(kb, line.move), minutes(line.minutes)) for line in lines)


def _otherwise(kb: KnowledgeBase, other: Otherwise) -> str:
    saved = rounded(other.saves)
    return say("web.otherwise", step=other.number + 1, move=move_says(kb, other.instead), saved=saved)


def _judged(seen: Debrief) -> tuple[str, ...]:
    said = []
    if seen.brier is not None:
        said.append(say("web.all_shares_off", off=f"{seen.brier:.3f}"))
    if seen.truth_brier is not None:
        said.append(say("web.truth_off", off=f"{seen.truth_brier:.3f}"))
    if parts := seen.truth_parts:
        lost, gained = f"{parts.reliability:.3f}", f"{parts.resolution:.3f}"
        said.append(say("web.truth_parts", lost=lost, gained=gained))
    return tuple(said)
