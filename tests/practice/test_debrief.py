"""Debrief: both paths, one different choice, the points, the cautions, what to practise."""

import pytest

from diagnose.practice.debrief import best_path, debrief, hint_points, one_choice
from diagnose.practice.exercise import advance, begin, best_from
from diagnose.practice.moves import CheckMove, FinishMove, HintMove, Move, ProofMove, RepairMove, TickMove
from diagnose.session.checklist import open_items
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
    assert seen.parts["hints"] == -2


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


def test_hints_in_a_row_get_dearer() -> None:
    exercise = small_exercise()
    for move in (HintMove(), HintMove(), CheckMove("look"), HintMove(), HintMove(), HintMove(), HintMove()):
        exercise = advance(small_reasoner(), exercise, move)
    assert hint_points(exercise) == (2 + 5) + (2 + 5 + 10 + 10)


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


def test_everything_stated_is_taken_apart_against_the_truth() -> None:
    """0.8 for what is there, 0.8 for what is not, twice 0.1 for what is not: Murphy's parts by hand."""
    moves = (
        CheckMove("look", beliefs=(("dirt", 0.8), ("worn", 0.1))),
        CheckMove("meter", beliefs=(("fuse", 0.8), ("worn", 0.1))),
    )
    parts = debrief(small_reasoner(), small_exercise("dirt", look="bad").gate, moves).truth_parts
    assert parts
    found = (parts.reliability, parts.resolution, parts.uncertainty)
    # groups: 0.8 (2 of 4, rate 0.5), 0.1 (2 of 4, rate 0); base rate 0.25
    assert found == pytest.approx((0.5 * 0.3**2 + 0.5 * 0.1**2, 0.5 * 0.25**2 + 0.5 * 0.25**2, 0.25 * 0.75))
