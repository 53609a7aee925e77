"""An exercise as it stands: what can be done, what a move showed, what the coach says."""

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.core.posterior import Belief
from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.told import cautions_for
from diagnose.practice.blocks import block_of_check, block_of_family, blocks, part_says
from diagnose.practice.coach import Feedback, says_counter
from diagnose.practice.exercise import Exercise, offered, opening_minutes
from diagnose.practice.gate import Gate
from diagnose.practice.moves import CheckMove, ProofMove, RepairMove
from diagnose.practice.wording import slip_says
from diagnose.present.figures import minutes, weight
from diagnose.session.wording import answer_says, state_says, who_says
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Offered:
    """A check of the list, with what it costs."""

    check: str
    says: str
    facts: str


@dataclass(frozen=True, slots=True)
class AskedOnce:
    """A check that the trainee is about to do. `states` it can show: (id, words); `careful`: it needs preparing."""

    check: str
    says: str
    help: str
    states: tuple[tuple[str, str], ...]
    careful: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """What a move showed: what was looked at, and what was seen. `beside`: it came with the check that was chosen."""

    asked: str
    said: str
    beside: bool = False


@dataclass(frozen=True, slots=True)
class CoachTold:
    """What the coach says after a move: comparisons, an answer that speaks against a suspect or '', slips."""

    says: tuple[str, ...]
    counter: str
    slips: tuple[str, ...]


def complaint_of(kb: KnowledgeBase, gate: Gate) -> str:
    return kb.complaints[gate.complaint].says


def sensors_of(kb: KnowledgeBase, gate: Gate) -> str:
    """The sensor kinds of the gate."""
    return ", ".join(kb.devices[d] for d in gate.setup.devices) or say("present.not_known")


def offered_of(
    kb: KnowledgeBase, conclusion: Conclusion, exercise: Exercise, words: str = ""
) -> dict[str, tuple[Offered, ...]]:
    """Checks that make sense here, by part of the installation; only those with all the words in them or in the
    name of their part."""
    wanted, found = words.casefold().split(), dict[str, list[Offered]]()
    for check in offered(kb, conclusion, exercise):
        part = part_says(kb, block_of_check(kb, check))
        text = f"{check.id.replace('_', ' ')} {check.ask}".casefold()
        if all(word in text for word in wanted) or all(word in part.casefold() for word in wanted):
            found.setdefault(part, []).append(_one(kb, exercise, check))
    return {part: tuple(checks) for part, checks in found.items()}


def _one(kb: KnowledgeBase, exercise: Exercise, check: Check) -> Offered:
    opening = opening_minutes(kb, exercise.session, check)
    facts = [minutes(check.minutes), *(kb.tools[t] for t in check.tools)]
    if opening:
        facts.insert(1, say("practice.opening_too", minutes=minutes(opening), opening=kb.access[check.access].says))
    facts += [who_says(check.who)] if check.who == "electrician" else []
    facts += [say("practice.answered")] if exercise.session.answer(check.id) else []
    return Offered(check.id, check.ask, "; ".join(facts))


def asked_of(kb: KnowledgeBase, check: Check) -> AskedOnce:
    """A check before it is done."""
    states = check.finding.states if check.finding else ()
    says = tuple((s, state_says(kb, check.finding.id, s)) for s in states if check.finding)
    return AskedOnce(check.id, check.ask, check.help, says, bool(cautions_for(kb, check)))


def causes_of(kb: KnowledgeBase, names: Sequence[str]) -> dict[str, list[tuple[str, str]]]:
    """What can be wrong at this gate, (id, words) by part of the installation, to choose from."""
    found: dict[str, list[tuple[str, str]]] = {}
    for name in names:
        part = part_says(kb, block_of_family(kb, kb.causes[name].family))
        found.setdefault(part, []).append((name, kb.causes[name].says))
    return found


def parts_of(kb: KnowledgeBase, belief: Belief) -> tuple[tuple[str, str], ...]:
    """Every part of the installation with how it looks so far. How likely is for a hint to say."""
    looks = (say("practice.good_so_far"), say("practice.open_still"))
    return tuple((part_says(kb, b.id), looks[0] if b.good else looks[1]) for b in blocks(kb, belief))


def shown_of(kb: KnowledgeBase, before: Exercise, after: Exercise) -> tuple[Shown, ...]:
    """What the last move of `after` showed: answers that are new, the steps of a remedy, what the proof said."""
    move = after.done[-1].move
    if isinstance(move, CheckMove):
        return _seen(kb, move.check, before, after)
    if after.danger or not isinstance(move, ProofMove | RepairMove):
        return ()
    repair = after.session.repairs[-1]
    if isinstance(move, RepairMove):
        return (Shown(say("practice.remedy_done"), "; ".join(kb.causes[repair.cause].remedy.steps)),)
    return (Shown(say("practice.the_proof"), say(f"practice.{_proof(after)}")),)


def _seen(kb: KnowledgeBase, looked: str, before: Exercise, after: Exercise) -> tuple[Shown, ...]:
    known, role = set(before.session.given), after.session.setup.role
    new = [a for a in after.session.given if a not in known or a.check == looked]
    return tuple(
        Shown(kb.checks[a.check].ask, answer_says(kb.checks[a.check], a, role), a.check != looked) for a in new
    )


def _proof(after: Exercise) -> str:
    if after.session.repairs[-1].proof == "failed":
        return "proof_bad"
    return "proof_left" if after.gate.truth else "proof_good"


def told_of(kb: KnowledgeBase, told: Feedback) -> CoachTold:
    """What the coach says after a move."""
    said = []
    if told.expected is not None:
        said.append(say("practice.as_expected") if told.expected else say("practice.not_expected"))
    if told.surprise is not None:
        said.append(say("practice.expected_off", off=f"{told.surprise:.2f}"))
    if told.brier is not None:
        said.append(say("practice.shares_off", off=f"{told.brier:.3f}"))
    if told.bits or told.weight:
        leader, rival = kb.causes[told.leader].says, kb.causes[told.rival].says
        said.append(say("practice.it_weighs", weight=weight(told.weight), leader=leader, rival=rival))
    slips = tuple(say("practice.slip", kind=slip_says(slip.kind), says=slip.says) for slip in told.slips)
    return CoachTold(tuple(said), says_counter(kb, told.counter) if told.counter else "", slips)
