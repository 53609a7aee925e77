"""Each slip explained for the debrief: the moment, the reading that was there, and what to do instead."""

from dataclasses import dataclass

from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.evidence import heaviest, seen_says
from diagnose.practice.exercise import Exercise
from diagnose.practice.moves import CheckMove, RepairMove
from diagnose.practice.slips import Scene, Slip, cheaper_look, separating, stated_by
from diagnose.session.wording import answer_says
from diagnose.words import say

TOLD_WHOLE = ("unsafe", "base_rates")  # what happened says all there is to these


@dataclass(frozen=True, slots=True)
class Remark:
    """`number` of the move, from 0; `minutes` on the clock when it was made; `reading` what was known then."""

    number: int
    minutes: float
    slip: Slip
    reading: str
    instead: str


def remark_of(scene: Scene, slip: Slip) -> Remark:
    """The slip with its moment, its reading and what to do instead."""
    made = scene.before
    return Remark(len(made.done), made.minutes, slip, _reading(scene, slip.kind), _instead(scene, slip.kind))


def _reading(scene: Scene, kind: str) -> str:
    if kind == "settled" and isinstance(scene.move, CheckMove) and (said := _said(scene, scene.move.check)):
        return said
    if kind == "anchoring":
        said_most = max(stated_by(scene), key=lambda pair: pair[1])[0]
        return _heaviest(scene, said_most, -1) or _last(scene)
    if kind == "premature" and isinstance(scene.move, RepairMove):
        return _heaviest(scene, scene.move.causes[0], 1) or say("practice.nothing_spoke")
    return "" if kind in TOLD_WHOLE else _last(scene)


def _heaviest(scene: Scene, cause: str, sign: int) -> str:
    """In words; '' where nothing spoke."""
    if cause not in scene.conclusion.belief.network.causes:
        return ""
    most = heaviest(scene.conclusion, cause, sign)
    return seen_says(scene.kb, most.finding, most.state) if most else ""


def _last(scene: Scene) -> str:
    given = scene.before.session.given
    return _said(scene, given[-1].check) if given else ""


def _said(scene: Scene, check: str) -> str:
    return reading_of(scene.kb, scene.before, check)


def reading_of(kb: KnowledgeBase, exercise: Exercise, check: str) -> str:
    """A check with what it showed, '' where it was not done."""
    answer = exercise.session.answer(check)
    if answer is None:
        return ""
    said = answer_says(kb.checks[check], answer, exercise.session.setup.role)
    return say("present.answered", asked=kb.checks[check].ask, said=said)


def _instead(scene: Scene, kind: str) -> str:
    checks, causes = scene.kb.checks, scene.kb.causes
    if kind == "skipped_look":
        return say("practice.instead_skipped_look", check=checks[cheaper_look(scene)].ask)
    if kind == "cannot_separate":
        first, second = (causes[c].says for c, _ in scene.conclusion.belief.ranked()[:2])
        ask = checks[separating(scene)].ask
        return say("practice.instead_cannot_separate", first=first, second=second, check=ask)
    if kind == "premature":
        return say("practice.instead_premature", check=checks[scene.conclusion.next.check].ask)
    if kind == "unsafe" and scene.after.danger:
        return say(f"practice.instead_{scene.after.danger.rule}")
    return say(f"practice.instead_{kind}")


def lucky(scene: Scene) -> bool:
    """A remedy that mends what is hidden, though what was found made it no lead and a check that pays was open.

    Nobody is told before the debrief: it would say that the remedy was right.
    """
    if not isinstance(scene.move, RepairMove) or scene.conclusion.next.why not in ("pays", "tells", "opening"):
        return False
    right = [c for c in scene.move.causes if c in scene.before.gate.truth]
    belief, least = scene.conclusion.belief, scene.kb.settings.act_at
    return any(c in belief.network.causes and belief.probability(c) < least for c in right)
