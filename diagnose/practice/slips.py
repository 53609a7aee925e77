"""Reasoning slips, each by a stated definition over what was known when the move was made; never by wording.

The bounds are judgement. Each detector looks at one move with the conclusion before it and says what it saw, or ''.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import log10

import numpy as np

from diagnose.core.policy import Gain
from diagnose.core.posterior import Belief
from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.practice.exercise import Exercise, opening_minutes
from diagnose.practice.moves import CheckMove, FinishMove, Move, RepairMove
from diagnose.session.checklist import open_items
from diagnose.words import say

SAME = 0.05  # two causes whose answers differ by less (total variation) are not told apart
USEFUL = 0.30  # a test that differs by this much would tell them apart
LITTLE_BITS = 0.02  # a test that tells less about all causes together tells nothing
RARER = 3.0  # prior odds from which one cause counts as rarer than another
SILENT_DB = 3.0  # evidence between two causes below this favours neither
AGAINST_DB = 6.0  # evidence that should have moved the trainee off a suspect
CLUNG = 0.4  # stated probability at which somebody clings to a suspect
LED = 0.2  # probability at which a cause was a lead worth following
LOST = 0.1  # posterior below which that suspect is no longer likely
CHEAPER = 3.0  # a look is the cheap one when it costs this many times less


@dataclass(frozen=True, slots=True)
class Slip:
    """`kind` is a key of DETECTORS; `says` what happened here."""

    kind: str
    says: str


@dataclass(frozen=True, slots=True)
class Scene:
    """A move, what was known before it, and the exercise before and after it."""

    kb: KnowledgeBase
    before: Exercise
    after: Exercise
    conclusion: Conclusion
    move: Move

    @property
    def check(self) -> Check | None:
        return self.kb.checks[self.move.check] if isinstance(self.move, CheckMove) else None

    @property
    def gain(self) -> Gain | None:
        """What the chosen check promised, when it was one the reasoner rates."""
        name = self.check.id if self.check else ""
        return next((g for g in self.conclusion.gains if g.option.check == name), None)


def slips(scene: Scene) -> tuple[Slip, ...]:
    """Every slip of one move."""
    found = ((kind, detect(scene)) for kind, detect in DETECTORS.items())
    return tuple(Slip(kind, says) for kind, says in found if says)


def unsafe(scene: Scene) -> str:
    """The move ended the exercise as dangerous."""
    return scene.after.danger.says if scene.after.danger and not scene.before.danger else ""


def settled(scene: Scene) -> str:
    """The check has an answer that holds, or a rule settled it: noise persists, so asking again tells nothing."""
    check = scene.check
    if check is None or check.id == scene.kb.settings.made_safe_check:
        return ""
    answer = scene.before.session.answer(check.id)
    if answer and answer.check not in scene.conclusion.stale:
        return say("practice.answered_already")
    if check.id in scene.conclusion.after.settled:
        return say("practice.settled_by_rule")
    return ""


def cannot_separate(scene: Scene) -> str:
    """The answers under the two leading causes differ by less than SAME, hardly any other cause shows in them,
    another permitted check differs by USEFUL, and it is not what would have been asked here anyway."""
    gain = scene.gain
    if gain is None or gain.bits >= LITTLE_BITS or gain.option.check == scene.conclusion.next.check:
        return ""
    belief = scene.conclusion.belief
    (first, _), (second, _) = belief.ranked()[:2]
    if differ(belief, gain.option.finding, first, second) >= SAME:
        return ""
    return say("practice.shows_same") if separating(scene) else ""


def separating(scene: Scene) -> str:
    """A check that tells the two leading causes apart, '' where there is none."""
    belief = scene.conclusion.belief
    (first, _), (second, _) = belief.ranked()[:2]
    better = (g for g in scene.conclusion.gains if differ(belief, g.option.finding, first, second) >= USEFUL)
    return next((g.option.check for g in better), "")


def differ(belief: Belief, finding: str, first: str, second: str) -> float:
    """Total variation distance of a finding's states under either cause alone, 0..1."""
    table = belief.network.tables[finding]
    ps = [belief.network.shown_by(table, c) for c in (first, second)]
    return float(np.abs(ps[0] - ps[1]).sum() / 2.0)


def premature(scene: Scene) -> str:
    """A repair is begun, or the job left, while a check still pays and no cause named is likely enough."""
    if not isinstance(scene.move, RepairMove | FinishMove) or scene.conclusion.next.why not in (
        "pays",
        "tells",
        "opening",
    ):
        return ""
    if isinstance(scene.move, FinishMove) and not scene.before.gate.truth:
        return ""
    causes = scene.move.causes if isinstance(scene.move, RepairMove) else ()
    likely = max((scene.conclusion.belief.probability(c) for c in causes if _listed(scene, c)), default=0.0)
    if likely >= scene.kb.settings.conclude_at:
        return ""
    return say("practice.too_early")


def base_rates(scene: Scene) -> str:
    """A rarer cause is stated above a commoner one although the evidence so far favours neither."""
    said = [(c, p) for c, p in stated_by(scene) if _listed(scene, c)]
    for rare, p_rare in said:
        for common, p_common in said:
            if p_rare > p_common and _rarer(scene.conclusion, rare, common):
                causes = scene.kb.causes
                return say("practice.rarer_first", rare=causes[rare].says, common=causes[common].says)
    return ""


def _rarer(conclusion: Conclusion, rare: str, common: str) -> bool:
    network = conclusion.belief.network
    odds = network.odds[network.columns(common)].sum() / network.odds[network.columns(rare)].sum()
    told = odds_db(conclusion.belief, rare, common) + 10.0 * log10(odds)  # all evidence, complaint included
    return bool(odds >= RARER and abs(told) < SILENT_DB)


def odds_db(belief: Belief, cause: str, rival: str) -> float:
    """Decibans of a cause against a rival."""
    return 10.0 * log10(max(belief.probability(cause), 1e-12) / max(belief.probability(rival), 1e-12))


def anchoring(scene: Scene) -> str:
    """The leading suspect as stated was a lead once (LED), has since had AGAINST_DB of evidence against it and is
    now below LOST, but is still stated at CLUNG or more."""
    said = [(p, c) for c, p in stated_by(scene) if _listed(scene, c)]
    if not said or max(said)[0] < CLUNG:
        return ""
    suspect = max(said)[1]
    now = scene.conclusion.belief.probability(suspect)
    peak = max(b.probability(suspect) for b in scene.conclusion.path)
    if peak < LED or now >= LOST or _own_db(peak) - _own_db(now) < AGAINST_DB:
        return ""
    return say("practice.clung_to", cause=scene.kb.causes[suspect].says)


def _own_db(p: float) -> float:
    return 10.0 * log10(max(p, 1e-12) / max(1.0 - p, 1e-12))


def skipped_look(scene: Scene) -> str:
    """A look that costs CHEAPER times less, without opening or tools, tells at least as many bits."""
    look, check = cheaper_look(scene), scene.check
    if not look or check is None:
        return ""
    cost = check.minutes + opening_minutes(scene.kb, scene.before.session, check)
    return say("practice.cheaper_look", least=f"{scene.kb.checks[look].minutes:g}", cost=f"{cost:g}")


def cheaper_look(scene: Scene) -> str:
    """The look that was skipped, '' for none."""
    gain, check = scene.gain, scene.check
    if gain is None or check is None:
        return ""
    cost = check.minutes + opening_minutes(scene.kb, scene.before.session, check)
    for other in scene.conclusion.gains:
        look = scene.kb.checks[other.option.check]
        if not look.access and not look.tools and look.minutes * CHEAPER <= cost and other.bits >= gain.bits:
            return look.id
    return ""


def two_things(scene: Scene) -> str:
    """More than one remedy was carried out before a proof."""
    if isinstance(scene.move, RepairMove) and len(scene.move.causes) > 1:
        return say("practice.several_changed")
    return ""


def no_proof(scene: Scene) -> str:
    """The job was ended with a repair unproved, or with lines of the return to service open after a repair."""
    if not isinstance(scene.move, FinishMove):
        return ""
    if scene.before.session.pending:
        return say("practice.never_proved")
    passed = any(r.proof == "passed" for r in scene.before.session.repairs)
    left = open_items(scene.kb, scene.before.session) if passed else []
    return say("practice.line_not_proved", line=left[0].says) if left else ""


def stated_by(scene: Scene) -> tuple[tuple[str, float], ...]:
    return scene.move.beliefs if isinstance(scene.move, CheckMove | RepairMove) else ()


def _listed(scene: Scene, cause: str) -> bool:
    return cause in scene.conclusion.belief.network.causes


DETECTORS: Mapping[str, Callable[[Scene], str]] = {
    "unsafe": unsafe,
    "settled": settled,
    "cannot_separate": cannot_separate,
    "premature": premature,
    "base_rates": base_rates,
    "anchoring": anchoring,
    "skipped_look": skipped_look,
    "two_things": two_things,
    "no_proof": no_proof,
}
