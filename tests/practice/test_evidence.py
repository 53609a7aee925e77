"""The answer that spoke most for a suspect, and the one that spoke most against it: never the other way round."""

from diagnose.practice.evidence import heaviest
from diagnose.practice.exercise import advance
from diagnose.practice.moves import CheckMove
from diagnose.session.session import conclude
from tests.practice.gates import small_exercise, small_reasoner


def test_for_and_against_are_different_answers() -> None:
    """The look speaks for dirt beside the fuse, the meter against it (by the tables of the small knowledge)."""
    exercise = small_exercise("fuse", look="bad", meter="low")
    for check in ("look", "meter"):
        exercise = advance(small_reasoner(), exercise, CheckMove(check, prepared=True))
    conclusion = conclude(small_reasoner(), exercise.session)
    found = {(c, sign): heaviest(conclusion, c, sign) for c in ("dirt", "fuse") for sign in (1, -1)}
    told = {key: weight.finding if weight else "" for key, weight in found.items()}
    assert told == {("dirt", 1): "look", ("dirt", -1): "meter", ("fuse", 1): "meter", ("fuse", -1): "look"}


def test_nothing_is_named_that_spoke_for_neither() -> None:
    exercise = advance(small_reasoner(), small_exercise("dirt"), CheckMove("colour", prepared=True))
    conclusion = conclude(small_reasoner(), exercise.session)
    assert heaviest(conclusion, "dirt", -1) is None
