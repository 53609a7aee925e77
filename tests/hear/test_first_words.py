"""How much is heard of first messages that nobody wrote phrases from: invented, written apart from the reader."""

from diagnose.hear.reader import Listener
from tests.hear.measure import first_messages, first_words
from tests.shipped import knowledge

REACHED_RECALL, REACHED_PRECISION, SLACK = 0.697, 0.771, 0.03


def test_messages_nobody_wrote_phrases_from_are_heard_as_well_as_before() -> None:
    score = first_words(Listener(knowledge()), 0)
    assert score.recall >= REACHED_RECALL - SLACK and score.precision >= REACHED_PRECISION - SLACK, score


def test_every_fact_of_the_messages_is_an_answer_of_its_check() -> None:
    checks = knowledge().checks
    told = [
        (check, o) for each in first_messages() for check, options in each["facts"].items() for o in _all(options)
    ]
    assert len(told) > 400
    assert [fact for fact in told if fact[1] not in checks[fact[0]].options] == []


def _all(options: str | list[str]) -> list[str]:
    return [options] if isinstance(options, str) else list(options)
