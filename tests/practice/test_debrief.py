"""Debrief: both paths, one different choice, the points, the cautions, what to practise."""

import pytest

from diagnose.practice.debrief import best_path, debrief, one_choice
from diagnose.practice.exercise import advance, begin, best_from, replayed
from diagnose.practice.moves import CheckMove, FinishMove, Move, ProofMove, RepairMove, TickMove
from diagnose.present.debrief import review_of
from diagnose.session.checklist import open_items
from diagnose.session.session import conclude
from tests.practice.gates import drops, shipped, small_exercise, small_reasoner
from tests.practice.test_exercise import DROPS


def finished(moves: tuple[Move, ...]) -> tuple[Move, ...]:
    """The moves, then every open line of the return to service, then the end."""
    exercise = begin(shipped(), drops())
    for move in moves:
        exercise = advance(shipped(), exercise, move)
    return (*moves, *(TickMove(i.id) for i in open_items(shipped().kb, exercise.session)), FinishMove())


def test_working_as_the_tool_does_earns_all_but_the_beliefs() -> None:
    path = best_from(shipped(), begin(shipped(), drops()))
    seen = debrief(shipped(), drops(), finished(tuple(d.move for d in path.done)))
    own = [x for x in seen.own if not isinstance(x.move, TickMove | FinishMove)]
    assert [x.move for x in own] == [x.move for x in seen.best]
    assert [x.minutes for x in own] == [x.minutes for x in seen.best]
    assert seen.otherwise is None
    assert seen.parts["solved"] == 40
    assert seen.parts["beliefs"] == 0
    assert not {"premature", "no_proof", "unsafe", "settled"} & set(seen.slips)


def test_the_score_is_the_sum_of_its_parts_within_bounds() -> None:
    seen = debrief(shipped(), drops(), finished(DROPS))
    assert seen.score == pytest.approx(min(100.0, max(0.0, sum(seen.parts.values()))))
    assert 0 < seen.score < 100


def test_unsafe_work_earns_nothing_whatever_came_before() -> None:
    seen = debrief(shipped(), drops(), (*DROPS, CheckMove("sup_mains_present")))
    assert (seen.score, seen.practise) == (0.0, "unsafe")
    assert "mains_licensed" in seen.missed


def test_bits_are_those_the_posterior_lost() -> None:
    seen = debrief(shipped(), drops(), DROPS)
    told = {x.move.check: x.bits for x in seen.own if isinstance(x.move, CheckMove)}
    assert told["env_window_look"] > 0.5
    assert told["anyone_touched"] == 0.0


def test_one_different_choice_is_the_difference_of_two_whole_paths() -> None:
    """Starting with the wrong repair: minutes of it and the best policy after it, less the best policy at once."""
    gate, wrong = small_exercise("dirt", look="bad").gate, RepairMove(("fuse",))
    start = begin(small_reasoner(), gate)
    after = advance(small_reasoner(), start, wrong)
    found = one_choice(small_reasoner(), [start, after])
    assert found
    by_hand = best_from(small_reasoner(), after).minutes - best_from(small_reasoner(), start).minutes
    assert found.number == 0
    assert found.saves == pytest.approx(by_hand)
    assert found.saves > 0
    assert found.instead == best_from(small_reasoner(), start).done[0].move


def test_choosing_as_the_tool_leaves_nothing_to_do_otherwise() -> None:
    start = begin(small_reasoner(), small_exercise(look="bad").gate)
    stages = [start]
    for done in best_from(small_reasoner(), start).done:
        stages.append(advance(small_reasoner(), stages[-1], done.move))
    assert one_choice(small_reasoner(), stages) is None


def test_cautions_missed_are_those_of_work_begun_unprepared() -> None:
    rash = (CheckMove("anyone_touched"), CheckMove("gate_made_safe"), CheckMove("env_window_look"))
    careful = (*rash[:2], CheckMove("env_window_look", prepared=True))
    assert debrief(shipped(), drops(), rash).missed == ("laser_class",)
    assert debrief(shipped(), drops(), careful).missed == ()


@pytest.mark.parametrize(
    ("moves", "practise"),
    [
        ((CheckMove("look"), CheckMove("look")), "settled"),
        ((CheckMove("look", beliefs=(("dirt", 0.02),)),), "calibration"),
        ((CheckMove("look"),), "say_beliefs"),
    ],
)
def test_the_one_thing_to_practise(moves: tuple[Move, ...], practise: str) -> None:
    assert debrief(small_reasoner(), small_exercise(look="bad").gate, moves).practise == practise


def test_a_debrief_of_the_same_moves_is_the_same() -> None:
    assert debrief(shipped(), drops(), DROPS) == debrief(shipped(), drops(), DROPS)


def test_the_best_path_ends_mended_and_says_its_cost() -> None:
    lines, ended = best_path(shipped(), drops())
    assert ended == "mended"
    assert isinstance(lines[-1].move, ProofMove)
    assert sum(x.minutes for x in lines) == best_from(shipped(), begin(shipped(), drops())).minutes


def test_a_false_lead_that_was_seen_is_named_and_one_that_was_not_is_not() -> None:
    gate = small_exercise("dirt", look="bad", colour="bad", meter="low").gate
    seen = debrief(small_reasoner(), gate, [CheckMove("look"), CheckMove("colour")])
    assert seen.false_leads == (("colour", "bad"),)


def test_what_was_held_is_counted_against_what_was_there() -> None:
    moves = (
        CheckMove("look", beliefs=(("dirt", 0.8), ("worn", 0.1))),
        CheckMove("meter", beliefs=(("fuse", 0.8), ("worn", 0.5))),
    )
    assert debrief(small_reasoner(), small_exercise("dirt", look="bad").gate, moves).held == (3, 1)


END: tuple[Move, ...] = (ProofMove(), TickMove("protective_zone"), FinishMove())


def test_a_right_repair_without_evidence_is_luck_and_does_not_pass() -> None:
    gate, moves = small_exercise("worn", look="bad").gate, (RepairMove(("worn",)), *END)
    guessed = debrief(small_reasoner(), gate, moves)
    assert (guessed.lucky, guessed.passed, guessed.practise) == ((0,), False, "luck")
    assert guessed.parts["solved"] == guessed.parts["time"] == guessed.parts["care"] == 0
    assert guessed.score < 70  # from which an exercise counts as done well
    said = review_of(small_reasoner(), gate.truth, replayed(small_reasoner(), gate, moves), guessed)
    assert "by luck" in said.verdict


def test_the_same_repair_after_the_evidence_passes() -> None:
    gate = small_exercise("dirt", look="bad").gate
    looks = (CheckMove("look"), CheckMove("meter"))
    seen = debrief(small_reasoner(), gate, (*looks, RepairMove(("dirt",)), *END))
    assert (seen.lucky, seen.passed) == ((), True)
    assert seen.parts["solved"] == 40
    left = debrief(small_reasoner(), gate, (*looks, RepairMove(("dirt",)), ProofMove(), FinishMove()))
    assert not left.passed  # nothing was proved for the return to service


def test_a_wrong_repair_is_no_luck() -> None:
    gate = small_exercise("dirt", look="bad").gate
    assert debrief(small_reasoner(), gate, (RepairMove(("worn",)), ProofMove())).lucky == ()


def test_each_slip_is_explained_with_its_moment_its_reading_and_what_to_do_instead() -> None:
    gate = small_exercise("fuse", meter="low").gate
    moves = (CheckMove("look"), CheckMove("look"), RepairMove(("worn",)))
    seen = debrief(small_reasoner(), gate, moves)
    again, early = (next(r for r in seen.remarks if r.slip.kind == kind) for kind in ("settled", "premature"))
    assert (again.number, again.minutes, early.number, early.minutes) == (1, 1.0, 2, 2.0)
    assert again.reading == "look - ok"
    assert early.reading == "nothing that was found spoke for it"
    wanted = conclude(small_reasoner(), replayed(small_reasoner(), gate, moves[:2]).session).next.check
    assert f"'{small_reasoner().kb.checks[wanted].ask}'" in early.instead
    assert {r.slip.kind for r in seen.remarks} == set(seen.slips)


def test_both_ways_show_their_readings() -> None:
    gate = small_exercise("dirt", look="bad").gate
    seen = debrief(small_reasoner(), gate, (CheckMove("look"), CheckMove("meter")))
    assert [x.found for x in seen.own] == ["bad", "ok"]
    assert {x.move.check: x.found for x in seen.best if isinstance(x.move, CheckMove)}["look"] == "bad"
