"""What a phrase hears and what it does not; examples are invented, common practice, no source."""

import pytest

from diagnose.hear.phrase_text import phrase_of
from diagnose.hear.phrases import matches, senses
from diagnose.hear.text import clauses
from diagnose.model.heard import Speech
from tests.shipped import knowledge

SPEECH = knowledge().speech


def heard(phrase: str, text: str, speech: Speech = SPEECH) -> list[str]:
    """The stretches of the text that the phrase takes."""
    made = phrase_of(speech, phrase, {})
    known = frozenset(w for item in made.items for w in item)
    return [
        text[c.words[m.places[0]].start : c.words[m.places[-1]].end]
        for c in clauses(speech, text)
        for m in matches(made, c, senses(c, known))
    ]


@pytest.mark.parametrize(
    ("phrase", "text", "found"),
    [
        ("opens by itself", "It keeps opening by itself.", ["opening by itself"]),
        ("opens by itself", "It opens all by itself", ["opens all by itself"]),
        ("opens by itself", "It never opens by itself", []),
        ("opens by itself", "It doesn't open by itself", []),
        ("does not open", "The gate doesn't open any more", ["doesn't open"]),
        ("when it rains", "It does not close when it rains", ["when it rains"]),
        ("when it rains", "It stays shut, not when it rains", []),
        ("barrier ... up", "the barrier for lorries stays up", ["barrier for lorries stays up"]),
        ("barrier ... up", "the bariier stays up", ["bariier stays up"]),
        ("barrier ... up", "The barrier. It is up", []),
        ("hit|struck", "It struck the car but it did not hit the boy", ["struck"]),
        ("hit", "no, it hit him", ["hit"]),
    ],
)
def test_a_phrase_stands_where_it_is_said_and_not_denied(phrase: str, text: str, found: list[str]) -> None:
    assert heard(phrase, text) == found


def test_a_short_word_must_be_right() -> None:
    assert heard("gate", "the gats stands open") == []


def test_a_word_that_phrases_know_is_not_taken_for_another() -> None:
    made = phrase_of(SPEECH, "contacts", {})
    (clause,) = clauses(SPEECH, "it contracts")
    assert not matches(made, clause, senses(clause, {"contact", "contract"}))
    (mistyped,) = clauses(SPEECH, "two contcts")
    assert matches(made, mistyped, senses(mistyped, {"contact", "contract"}))


def test_guesses_suppositions_and_questions_are_told_apart() -> None:
    guess, supposed, asked = clauses(SPEECH, "I think it rains. If it rains it stays. Does it rain?")
    assert (guess.guessed, supposed.supposed, asked.question) == (True, True, True)
    assert not (guess.supposed or guess.question)
