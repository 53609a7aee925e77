"""Exercises: what moves do, what they cost, that noise persists, that they can be played again."""

import pytest

from diagnose.errors import DiagnoseError, SessionError
from diagnose.practice.exercise import advance, begin, best_from, offered, replayed
from diagnose.practice.moves import (
    CheckMove,
    FinishMove,
    HintMove,
    Move,
    ProofMove,
    RepairMove,
    TickMove,
    from_plain,
    to_plain,
)
from diagnose.session.checklist import open_items
from diagnose.session.session import conclude, replay
from tests.practice.gates import drops, shipped, small, small_exercise, small_reasoner, two

DROPS = (
    CheckMove("anyone_touched"),
    CheckMove("gate_made_safe"),
    HintMove(),
    CheckMove("env_window_look", "drops", (("window_wet_drops", 0.5),), True),
    RepairMove(("window_wet_drops",), prepared=True),
    ProofMove(),
)


def test_a_check_costs_its_minutes_and_opening_once() -> None:
    start = small_exercise()
    looked = advance(small_reasoner(), start, CheckMove("look"))
    opened = advance(small_reasoner(), looked, CheckMove("meter"))
    again = advance(small_reasoner(), opened, CheckMove("meter"))
    assert (looked.minutes, opened.minutes, again.minutes) == (1.0, 1.0 + 12.0 + 5.0, 1.0 + 17.0 + 12.0)


def test_asking_again_shows_the_same_and_changes_no_belief() -> None:
    once = advance(small_reasoner(), small_exercise(look="bad"), CheckMove("look"))
    twice = advance(small_reasoner(), once, CheckMove("look"))
    assert twice.session == once.session
    assert twice.events == once.events


def test_the_context_a_reading_needs_comes_with_it() -> None:
    end = replayed(shipped(), drops(), [CheckMove("when_it_happens"), CheckMove("env_after_it_stops", prepared=True)])
    assert {a.check for a in end.session.given} >= {"env_after_it_stops", "env_roofed"}


def test_a_right_repair_is_proved_and_the_gate_goes_back_into_service() -> None:
    exercise = replayed(shipped(), drops(), DROPS)
    assert [(r.cause, r.proof) for r in exercise.session.repairs] == [("window_wet_drops", "passed")]
    assert exercise.gate.truth == ()
    for item in open_items(shipped().kb, exercise.session):
        exercise = advance(shipped(), exercise, TickMove(item.id))
    ended = advance(shipped(), exercise, FinishMove())
    assert (ended.ended, ended.session.outcome) == ("solved", "in_service")


def test_ending_with_the_checklist_open_leaves_the_gate_out_of_service() -> None:
    ended = advance(shipped(), replayed(shipped(), drops(), DROPS), FinishMove())
    assert (ended.ended, ended.session.outcome) == ("left_out", "left_out")


def test_a_wrong_repair_fails_its_proof_and_costs_its_minutes() -> None:
    end = replayed(small_reasoner(), small_exercise("dirt").gate, [RepairMove(("fuse",)), ProofMove()])
    assert (end.session.repairs[0].proof, end.gate.truth, end.minutes) == ("failed", ("dirt",), 20.0 + 5.0)
    assert small_reasoner().kb.causes["fuse"].proof_minutes == 5.0


def test_the_second_fault_is_still_there_after_the_first_is_mended() -> None:
    moves: list[Move] = [RepairMove(("object_put_in_area",), prepared=True), ProofMove()]
    end = replayed(shipped(), two(), moves)
    assert (end.session.repairs[0].proof, end.gate.truth) == ("passed", ("auto_close_off",))
    assert not end.session.concluded  # asked anew
    end = replayed(shipped(), two(), [*moves, RepairMove(("auto_close_off",), prepared=True), ProofMove()])
    assert end.gate.truth == ()


def test_two_remedies_at_once_are_carried_out_and_only_the_last_is_proved() -> None:
    end = replayed(small_reasoner(), small_exercise("dirt").gate, [RepairMove(("dirt", "fuse"))])
    assert [(r.cause, r.proof) for r in end.session.repairs] == [("dirt", "passed"), ("fuse", "pending")]
    assert end.minutes == 40.0


def test_what_is_not_possible_is_said_and_changes_nothing() -> None:
    start = small_exercise()
    refused: list[tuple[Move, str]] = [
        (CheckMove("no such check"), "makes no sense"),
        (RepairMove(("no such cause",)), "on the list"),
        (RepairMove(()), "on the list"),
        (ProofMove(), "no repair is waiting"),
    ]
    for move, says in refused:
        with pytest.raises(DiagnoseError, match=says):
            advance(small_reasoner(), start, move)
    with pytest.raises(SessionError, match="no checklist item"):
        advance(small_reasoner(), start, TickMove("nothing"))
    pending = advance(small_reasoner(), start, RepairMove(("fuse",)))
    with pytest.raises(DiagnoseError, match="not been proved"):
        advance(small_reasoner(), pending, RepairMove(("dirt",)))


def test_the_list_offers_any_check_that_makes_sense_also_the_unsafe_ones() -> None:
    names = {c.id for c in offered(small(), conclude(small_reasoner(), small_exercise().session), small_exercise())}
    assert {"mains", "bridge", "spark", "drive", "look", "meter"} <= names
    kb = shipped().kb
    start = begin(shipped(), drops())
    laser = offered(kb, conclude(shipped(), start.session), start)
    assert all(not c.devices or "laser" in c.devices for c in laser)
    assert len(laser) > 150


def test_an_exercise_is_its_gate_and_its_moves_and_its_visit_an_ordinary_one() -> None:
    plain = [to_plain(m) for m in DROPS]
    exercise = replayed(shipped(), drops(), [from_plain(p) for p in plain])
    assert exercise == replayed(shipped(), drops(), DROPS)
    assert replay(shipped().kb, exercise.events) == exercise.session


@pytest.mark.parametrize(
    "plain",
    [
        {},
        {"move": "fly"},
        {"move": "look"},
        {"move": "look", "check": "a", "more": 1},
        {"move": "look", "check": "a", "beliefs": {"dirt": 3}},
        {"move": "look", "check": "a", "beliefs": {"dirt": "x"}},
        {"move": "look", "check": "a", "beliefs": [1]},
        {"move": "repair", "causes": 5},
    ],
)
def test_what_is_no_move_is_refused(plain: dict[str, object]) -> None:
    with pytest.raises(DiagnoseError):
        from_plain(plain)


def test_the_best_policy_mends_these_gates_safely() -> None:
    for gate in (drops(), two()):
        end = best_from(shipped(), begin(shipped(), gate))
        assert (end.gate.truth, end.danger) == ((), None)
        assert end == best_from(shipped(), begin(shipped(), gate))
