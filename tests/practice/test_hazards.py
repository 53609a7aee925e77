"""Unsafe choices, each rule on its own: the exercise stops and says why."""

import pytest

from diagnose.errors import DiagnoseError
from diagnose.model.visit import Setup
from diagnose.practice.exercise import advance, begin
from diagnose.practice.gate import made_gate
from diagnose.practice.moves import CheckMove, Move, RepairMove
from tests.practice.gates import LASER, drops, shipped, small_exercise, small_reasoner


def stopped(*moves: Move, **shows: str) -> str:
    """The rule that stopped the exercise at the last of the moves; '' when nothing did."""
    exercise = small_exercise(**shows)
    for number, move in enumerate(moves, start=1):
        exercise = advance(small_reasoner(), exercise, move)
        assert not exercise.ended or number == len(moves)
    return exercise.danger.rule if exercise.danger else ""


@pytest.mark.parametrize(
    ("rule", "moves", "shows"),
    [
        ("licence", [CheckMove("mains", prepared=True)], {}),
        ("unprepared", [CheckMove("spark")], {}),
        ("not_cleared", [CheckMove("bridge", prepared=True)], {}),
        ("stop_work", [CheckMove("touched"), CheckMove("look")], {"touched": "yes"}),
        ("stop_work", [CheckMove("touched"), RepairMove(("dirt",), prepared=True)], {"touched": "yes"}),
    ],
)
def test_an_unsafe_choice_stops_the_exercise(rule: str, moves: list[Move], shows: dict[str, str]) -> None:
    assert stopped(*moves, **shows) == rule


@pytest.mark.parametrize(
    "move", [CheckMove("look"), CheckMove("spark", prepared=True), CheckMove("drive"), CheckMove("meter")]
)
def test_the_same_kind_of_choice_done_safely_does_not(move: Move) -> None:
    assert stopped(move) == ""


def test_made_safe_lets_the_work_go_on_but_nothing_may_run_the_gate() -> None:
    safe = [CheckMove("touched"), CheckMove("made_safe")]
    assert stopped(*safe, CheckMove("look"), touched="yes", made_safe="safe") == ""
    assert stopped(*safe, CheckMove("drive"), touched="yes", made_safe="safe") == "runs_gate"


def test_nothing_can_be_done_in_an_exercise_that_was_stopped() -> None:
    ended = advance(small_reasoner(), small_exercise(), CheckMove("spark"))
    assert (ended.ended, ended.minutes) == ("unsafe", 0.0)
    with pytest.raises(DiagnoseError, match="over"):
        advance(small_reasoner(), ended, CheckMove("look"))


def test_a_remedy_for_the_electrician_and_one_without_its_precautions_are_unsafe() -> None:
    start = begin(shipped(), drops())
    licensed = next(c.id for c in shipped().kb.causes.values() if c.remedy.who == "electrician")
    found = [
        advance(shipped(), start, RepairMove((licensed,), prepared=True)),
        advance(shipped(), start, RepairMove(("window_wet_drops",))),
    ]
    assert [e.danger.rule for e in found if e.danger] == ["licence", "unprepared"]


def test_a_caller_is_never_sent_to_open_or_measure() -> None:
    desk = Setup("help_desk", devices=LASER.devices, profile=LASER.profile)
    start = begin(shipped(), made_gate(shipped(), desk, ("window_wet_drops",), "ghost_opening", 1))
    assert (danger := advance(shipped(), start, CheckMove("sup_volts_sensor", prepared=True)).danger)
    assert danger.rule == "enclosure"
    look = next(c.id for c in shipped().kb.checks.values() if c.who == "caller" and not c.only_if and not c.devices)
    assert not advance(shipped(), start, CheckMove(look, prepared=True)).danger


def test_a_tool_that_is_not_at_hand_costs_nothing_and_hurts_nobody() -> None:
    bare = Setup("technician", tools=frozenset(), devices=LASER.devices, profile=LASER.profile)
    start = begin(shipped(), made_gate(shipped(), bare, ("window_wet_drops",), "ghost_opening", 1))
    with pytest.raises(DiagnoseError, match="not at hand"):
        advance(shipped(), start, CheckMove("sup_volts_sensor", prepared=True))
