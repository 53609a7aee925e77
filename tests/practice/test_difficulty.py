"""Difficulty: minutes of the best policy and misleading first evidence, worked out another way here."""

import math
from typing import Any

import pytest

from diagnose.model.visit import Answer
from diagnose.practice.difficulty import EASY_BELOW, HARD_FROM, Difficulty, difficulty, draw_level
from diagnose.practice.exercise import begin, best_from
from diagnose.practice.gate import Gate, ImpossibleGate, WantedGate, draw_gate
from diagnose.practice.moves import CheckMove
from tests.practice.gates import LASER, drops, shipped, small_exercise, small_reasoner, two


def test_minutes_and_misleading_by_hand() -> None:
    """Fuse behind a look that says dirt: after everything seen first, dirt outweighs fuse by so many decibans."""
    gate = small_exercise("fuse", look="bad").gate
    path = best_from(small_reasoner(), begin(small_reasoner(), gate))
    found = difficulty(small_reasoner(), gate)
    assert found.minutes == path.minutes
    first = [d.move.check for d in path.done if isinstance(d.move, CheckMove)]
    answers = [Answer(c, gate.results[c]) for c in first]
    chances = small_reasoner().conclude(gate.setup, gate.complaint, answers).path
    belief = chances[min(3, len(chances) - 1)]
    others = max(p for c, p in belief.ranked() if c != "fuse")
    assert found.misleading == pytest.approx(10 * math.log10(others / belief.probability("fuse")))
    assert found.misleading > 3


def test_evidence_that_points_at_the_truth_misleads_by_nothing() -> None:
    assert difficulty(small_reasoner(), small_exercise("dirt", look="bad").gate).misleading == 0.0


def test_two_faults_are_harder_than_one_of_them_here() -> None:
    assert difficulty(shipped(), two()).value > difficulty(shipped(), drops()).value


def test_levels_follow_the_value() -> None:
    levels = [Difficulty(60.0 * v, 5, 0.0).level for v in (0.0, EASY_BELOW, HARD_FROM - 0.01, HARD_FROM)]
    assert levels == ["easy", "medium", "medium", "hard"]
    assert Difficulty(60.0, 5, 10.0).value == 2.0


def test_a_level_asked_for_is_drawn_and_the_draw_is_the_same_again() -> None:
    gate, found = draw_level(shipped(), LASER, WantedGate(family="environment"), "easy", 2)
    assert found.level == "easy"
    assert (gate, found) == draw_level(shipped(), LASER, WantedGate(family="environment"), "easy", 2)


def test_a_gate_that_even_the_best_policy_cannot_mend_is_not_given_to_a_trainee() -> None:
    hidden = small_exercise("something_else", look="bad").gate
    assert not difficulty(small_reasoner(), hidden).mended
    assert difficulty(small_reasoner(), small_exercise("dirt", look="bad").gate).mended
    assert draw_level(shipped(), LASER, WantedGate(), None, 4)[1].mended


def test_faults_that_do_not_go_together_are_left_for_others(monkeypatch: pytest.MonkeyPatch) -> None:
    """A trainee was told after half a minute that no gate could be made, and got none."""
    asked = list[int]()

    def first_impossible(*given: Any) -> Gate:
        asked.append(given[3])
        if len(asked) == 1:
            raise ImpossibleGate("these contradict each other")
        return draw_gate(*given)

    monkeypatch.setattr("diagnose.practice.difficulty.draw_gate", first_impossible)
    gate, _ = draw_level(shipped(), LASER, WantedGate(family="environment"), None, 2)
    assert len(asked) >= 2 and gate.seed == asked[-1] != asked[0]
