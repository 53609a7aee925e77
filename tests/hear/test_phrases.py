"""Lists in phrases, words of other places, what is settled or only supposed, commas."""

from dataclasses import replace
from types import MappingProxyType

import pytest

from diagnose.hear.reader import Reader
from diagnose.kb.lint_heard import lists
from diagnose.model.heard import DANGER, Hearing
from diagnose.model.knowledge import KnowledgeBase
from tests.shipped import knowledge

HEARING = Hearing(
    id=DANGER,
    options={"hurt": ("$mover ... hit|wounded ... $victim",), "smoke": ("smoke comes",)},
    lists={"mover": ("gate", "arm"), "victim": ("dog", "cyclist")},
    elsewhere=("bakery",),
    settled=("years ago",),
    mere=("would",),
    source="judgement",
)


def only(hearing: Hearing) -> KnowledgeBase:
    return replace(knowledge(), heard=MappingProxyType({DANGER: hearing}))


@pytest.mark.parametrize(
    ("text", "options"),
    [
        ("the gate hit our dog", ["hurt"]),
        ("the arm hit a cyclist", ["hurt"]),
        ("the gate hit a wall", []),
        ("the gate, I am told, hit the dog", ["hurt"]),
        ("the gate of old, rusty, grey, wide iron hit the dog", []),  # too many commas on the way
        ("smoke comes out", ["smoke"]),
        ("smoke comes from the bakery", []),
        ("at the bakery smoke comes out", []),
        ("near the bakery, smoke comes out", ["smoke"]),  # the comma parts them
        ("smoke comes, says the bakery", ["smoke"]),
        ("years ago the gate hit the dog", []),
        ("if the gate opens smoke comes out", ["smoke"]),
        ("if the gate hit the dog who would pay", []),
        ("would the gate hit the dog", []),
        ("the gate would hit the dog", ["hurt"]),  # 'would' is spelt right and no 'wound'
        ("the gate would scare the dog", []),
        ("the gate wuonedd the dog", []),  # two letters off
        ("the gate wuonded the dog", ["hurt"]),
    ],
)
def test_what_a_phrase_hears(text: str, options: list[str]) -> None:
    assert [h.option for h in Reader(only(HEARING)).read(text).dangers] == options


def test_a_list_must_be_there_and_hold_single_words() -> None:
    wrong = replace(HEARING, lists={"mover": ("gate", "swing gate")}, elsewhere=("tea room",))
    assert [message for _, message in lists(only(wrong))] == [
        "word list 'victim' is not defined",
        "'swing gate' must be one word",
        "'tea room' must be one word",
    ]
    assert not list(lists(only(HEARING)))
