"""Words that are no answer may stand as one, at the prompt."""

from diagnose.model.visit import SOMETHING_ELSE
from diagnose.session.events import Back, Conclude, Reply
from diagnose.session.session import conclude
from diagnose.words import say
from tests.shipped import begun, knowledge, reasoner
from tests.terminal.typed import play

OFFER = 'Keep your words as the answer "something else"? (yes/no)'
FIRST = knowledge().settings.opening[0]
WORDS = "purple monkeys dishwasher"


def test_else_and_words_are_kept_and_said_back() -> None:
    played = play(f"else {WORDS}")
    assert played.saved[0] == Reply(FIRST, SOMETHING_ELSE, note=WORDS)
    assert f'= something else: "{WORDS}"' in played.flat()


def test_words_that_are_no_answer_are_offered_and_kept_on_yes() -> None:
    played = play(WORDS, "yes")
    assert OFFER in played.flat()
    assert played.saved == [Reply(FIRST, SOMETHING_ELSE, note=WORDS)]


def test_no_asks_again_and_anything_else_is_the_next_line() -> None:
    for lines in ((WORDS, "no", "1"), (WORDS, "1"), (WORDS, "", "1"), (WORDS, "help", "no", "1")):
        played = play(*lines)
        assert played.saved == [Reply(FIRST, next(iter(knowledge().checks[FIRST].options)))], lines
    assert play(WORDS, "conclude").saved[:1] == [Conclude()]
    assert play("1", WORDS, "back").saved == [Reply(FIRST, next(iter(knowledge().checks[FIRST].options)))]
    assert play("1", WORDS, "no", "back").saved[-1] == Back()


def test_one_odd_word_is_not_offered() -> None:
    assert OFFER not in play("flrble", "1").flat()


def test_what_else_is_heard_in_the_words_is_offered_as_well() -> None:
    played = play("else the boss says it only does this when it rains", "")
    assert [(e.check, e.value, e.heard) for e in played.saved if isinstance(e, Reply)] == [
        (FIRST, SOMETHING_ELSE, False),
        ("when_it_happens", "wet", True),
    ]


def test_words_in_which_something_is_heard_are_taken_as_before() -> None:
    played = play("it only does this when it rains", "")
    assert OFFER not in played.flat() and [e.check for e in played.saved if isinstance(e, Reply)] == [
        "when_it_happens"
    ]


def test_the_commands_name_it() -> None:
    assert say("terminal.does_else") in play("help", "help").flat()
    assert conclude(reasoner(), begun()).next.check == FIRST
