"""Several looks in one go, at the prompt."""

from diagnose.session.events import Reply
from diagnose.session.session import step
from diagnose.session.state import Session
from diagnose.terminal.commands import word
from diagnose.words import say
from tests.shipped import knowledge
from tests.terminal.typed import opened, play

NOTHING = "the sky is blue"


def at_a_round() -> Session:
    """A visit whose next check is looked at in one go with others."""
    return step(knowledge(), opened(), Reply("env_roofed", "open"))


def test_words_without_an_answer_are_told_what_can_be_typed_instead() -> None:
    told = say("terminal.round_heard_nothing", ok=word("ok"), one=word("one"))
    played = play(NOTHING, session=at_a_round(), rounds=True)
    assert played.saved == []
    assert told in played.flat()
    assert told not in play("", session=at_a_round(), rounds=True).flat()
    assert told not in play("it began after the storm", "no", session=at_a_round(), rounds=True).flat()


def test_tell_says_what_can_be_done_with_words_that_answer_nothing() -> None:
    played = play(f"tell {NOTHING}", session=at_a_round(), rounds=True)
    assert say("terminal.heard_nothing") in played.flat()
    assert played.saved == []
