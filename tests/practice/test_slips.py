"""Every reasoning slip by its stated definition: a move that makes it, and the near miss that does not."""

from dataclasses import replace

import pytest

from diagnose.practice import slips
from diagnose.practice.coach import feedback
from diagnose.practice.exercise import Exercise, advance
from diagnose.practice.moves import CheckMove, FinishMove, Move, ProofMove, RepairMove, TickMove
from diagnose.practice.slips import DETECTORS, differ
from diagnose.practice.wording import slip_says
from diagnose.session.session import conclude
from tests.practice.gates import drops, shipped, small_exercise, small_reasoner
from tests.practice.test_exercise import DROPS


def made(*moves: Move, truth: str = "dirt", **shows: str) -> set[str]:
    """The slips of the last move."""
    exercise = before = small_exercise(truth, **shows)
    for move in moves:
        before, exercise = exercise, advance(small_reasoner(), exercise, move)
    return {s.kind for s in feedback(small_reasoner(), before, exercise).slips}


def test_every_slip_the_coach_can_name_has_words_of_its_own() -> None:
    said = {slip_says(kind) for kind in DETECTORS}
    assert len(said) == len(DETECTORS)
    assert not said & set(DETECTORS)


@pytest.mark.parametrize("move", [CheckMove("spark"), CheckMove("mains", prepared=True)])
def test_unsafe(move: Move) -> None:
    assert "unsafe" in made(move)
    assert "unsafe" not in made(CheckMove("spark", prepared=True))


def test_settled_by_its_own_answer_or_by_a_rule() -> None:
    assert "settled" in made(CheckMove("look"), CheckMove("look"))
    assert "settled" in made(CheckMove("look"), CheckMove("again"))  # 'look: ok' settles it
    assert "settled" not in made(CheckMove("look"), CheckMove("again"), look="bad")
    assert "settled" not in made(CheckMove("look"))


def test_saying_safe_again_is_no_slip() -> None:
    assert made(CheckMove("made_safe"), CheckMove("made_safe")) == set()


def test_a_test_that_cannot_separate_the_leaders() -> None:
    """'colour' shows the same under every cause; 'look' and 'meter' tell the two leaders apart by 0.8."""
    assert "cannot_separate" in made(CheckMove("colour"))
    assert "cannot_separate" not in made(CheckMove("look"))
    assert "cannot_separate" not in made(CheckMove("meter"))


def test_total_variation_by_hand() -> None:
    """Leak .05 and strengths .9/.05, net convention: P(bad | dirt) = 1 - .95 * .1 = .905, | fuse = 1 - .95 * .95."""
    belief = conclude(small_reasoner(), small_exercise().session).belief
    assert differ(belief, "look", "dirt", "fuse") == pytest.approx(0.905 - 0.0975)
    assert differ(belief, "colour", "dirt", "fuse") == pytest.approx(0.0)
    table = belief.network.tables["look"]
    assert belief.network.shown_by(table, "dirt").tolist() == pytest.approx([0.095, 0.905])


def test_premature() -> None:
    assert "premature" in made(RepairMove(("dirt",)))
    assert "premature" in made(FinishMove())
    sure = (CheckMove("look"), CheckMove("meter"))
    assert "premature" not in made(*sure, RepairMove(("dirt",)), look="bad")
    assert "premature" not in made(CheckMove("look"))


def test_leaving_a_mended_gate_is_not_premature() -> None:
    assert "premature" not in made(RepairMove(("dirt",)), ProofMove(), FinishMove())


def test_base_rates() -> None:
    """'worn' looks exactly like 'dirt' and is twenty times rarer."""
    assert "base_rates" in made(CheckMove("look", beliefs=(("worn", 0.6), ("dirt", 0.3))))
    assert "base_rates" not in made(CheckMove("look", beliefs=(("dirt", 0.6), ("worn", 0.3))))
    assert "base_rates" not in made(CheckMove("look", beliefs=(("dirt", 0.6), ("fuse", 0.7))))  # equally common


def test_a_rare_cause_may_stand_first_once_evidence_speaks_for_it() -> None:
    both = (("worn", 0.6), ("fuse", 0.3))
    assert "base_rates" in made(CheckMove("look", beliefs=both))
    assert "base_rates" not in made(CheckMove("look"), CheckMove("meter", beliefs=both), look="bad")


def test_anchoring_on_a_lead_that_later_evidence_spoke_against() -> None:
    """'look: bad' speaks for dirt; 'meter: low' with a repair of dirt that failed does away with it."""
    on_dirt = CheckMove("colour", beliefs=(("dirt", 0.8),))
    led = (CheckMove("meter"), CheckMove("look"))
    assert "anchoring" in made(*led, on_dirt, truth="fuse", meter="low")
    assert "anchoring" not in made(on_dirt)
    assert "anchoring" not in made(CheckMove("meter"), CheckMove("look"), on_dirt, look="bad")
    little = CheckMove("colour", beliefs=(("dirt", 0.2), ("fuse", 0.3)))
    assert "anchoring" not in made(*led, little, truth="fuse", meter="low")


def test_somebody_who_was_never_led_there_is_not_anchored() -> None:
    wild = CheckMove("colour", beliefs=(("worn", 0.8),))  # worn never stood at more than a few per cent
    assert "anchoring" not in made(CheckMove("meter"), CheckMove("look"), wild, truth="fuse", meter="low")


def test_skipping_the_cheap_look() -> None:
    """The meter costs 17 minutes with its box; the look costs one, needs nothing, and tells as much."""
    assert "skipped_look" in made(CheckMove("colour"))
    assert "skipped_look" not in made(CheckMove("look"))
    assert "skipped_look" not in made(CheckMove("look"), CheckMove("meter"), look="bad")


def test_a_dear_check_that_tells_more_is_no_slip() -> None:
    scene_bits = {g.option.check: g.bits for g in conclude(small_reasoner(), small_exercise().session).gains}
    assert ("skipped_look" in made(CheckMove("meter"))) == (scene_bits["look"] >= scene_bits["meter"])


def test_two_things_at_once() -> None:
    assert "two_things" in made(RepairMove(("dirt", "fuse")))
    assert "two_things" not in made(RepairMove(("dirt",)))


def test_no_proof_after_the_repair() -> None:
    assert "no_proof" in made(RepairMove(("dirt",)), FinishMove())
    assert "no_proof" in made(
        RepairMove(("dirt",)), ProofMove(), FinishMove()
    )  # the protective function is not proved
    assert "no_proof" not in made(RepairMove(("dirt",)), ProofMove(), TickMove("protective_zone"), FinishMove())
    assert "no_proof" not in made(RepairMove(("dirt",)), ProofMove())


def test_no_proof_of_the_protective_function_after_a_repair() -> None:
    def ended(moves: tuple[Move, ...]) -> set[str]:
        exercise = before = _begun()
        for move in moves:
            before, exercise = exercise, advance(shipped(), exercise, move)
        return {s.kind for s in feedback(shipped(), before, exercise).slips}

    assert "no_proof" in ended((*DROPS, FinishMove()))


def _begun() -> Exercise:
    from diagnose.practice.exercise import begin

    return begin(shipped(), drops())


def test_the_best_policy_makes_no_slip_of_reasoning() -> None:
    from diagnose.practice.exercise import best_from

    path, exercise = best_from(shipped(), _begun()), _begun()
    for done in path.done:
        before, exercise = exercise, advance(shipped(), exercise, done.move)
        found = {s.kind for s in feedback(shipped(), before, exercise).slips}
        assert not found - {"skipped_look"}, (done.move, found)


def test_words_do_not_matter() -> None:
    """The same move is the same slip whatever the trainee expected or called it."""
    one = made(CheckMove("look"), CheckMove("look", expects="bad"))
    other = made(CheckMove("look"), CheckMove("look", expects="ok"))
    assert one == other
    assert replace(small_exercise(), ended="") == small_exercise()
    assert slips.SAME < slips.USEFUL
