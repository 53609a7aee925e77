"""Lists in phrases, words of other places, what is settled or only supposed, commas."""

from dataclasses import replace
from types import MappingProxyType

import pytest

from diagnose.hear.reader import Listener
from diagnose.kb.lint_heard import lists
from diagnose.model.heard import DANGER, Hearing
from diagnose.model.knowledge import KnowledgeBase
from tests.shipped import knowledge

HEARING = Hearing(
    id=DANGER,
    options={"hurt": ("$mover ... hit|wounded ... $hittable",), "smoke": ("smoke comes",)},
    lists={"mover": ("gate", "arm"), "hittable": ("dog", "cyclist")},
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
    assert [h.option for h in Listener(only(HEARING)).read(text).dangers] == options


def test_a_list_must_be_there_and_hold_single_words() -> None:
    wrong = replace(HEARING, lists={"mover": ("gate", "swing gate")}, elsewhere=("tea room",))
    assert [message for _, message in lists(only(wrong))] == [
        "word list 'hittable' is not defined",
        "'swing gate' must be one word",
        "'tea room' must be one word",
    ]
    assert not list(lists(only(HEARING)))


FACT = Hearing(
    id="when_it_happens",
    options={
        "wet": ("$rain & fails|opens",),
        "fixed_times": ("at .. # ... every day",),
        "certain_vehicles": ("@miss ... zebra",),
        "always": ("took wires >> nothing better",),
    },
    amid=("gate", "arm"),
    never_amid=("bakery",),
    source="judgement",
)


@pytest.mark.parametrize(
    ("text", "options"),
    [
        ("the gate opens in a shower", ["wet"]),
        ("showers, and the gate opens", ["wet"]),  # the parts stand in any order
        ("a shower fell on a long and merry day with my aunt and uncle at sea, and the gate opens", []),  # too far
        ("the gate opens, no shower", []),
        ("it opens in a shower", []),  # nothing is said of gate or arm
        ("the gate of the bakery opens in a shower", []),
        ("I wonder whether the gate opens in a shower", []),  # what is asked is no fact
        ("not only in a shower the gate opens", []),
        ("it is not the gate that is at fault when it opens in showers", ["wet"]),
        ("the gate goes at about 14.30 every day", ["fixed_times"]),
        ("the gate does not notice my zebra", ["certain_vehicles"]),
        ("the gate overlooks my zebra", ["certain_vehicles"]),  # another turn of phrase of the same name
        ("the gate notices my zebra", []),
        ("I took the wires off the gate. It was nothing better.", ["always"]),
        ("I took the wires. Tea. Cake. The gate was nothing better.", []),  # too many clauses later
        ("It was nothing better. I took the wires off the gate.", []),
    ],
)
def test_what_a_fact_needs_to_be_heard(text: str, options: list[str]) -> None:
    kb = replace(knowledge(), heard=MappingProxyType({FACT.id: FACT}))
    assert [h.option for h in Listener(kb).read(text).facts] == options


def test_a_turn_of_phrase_must_be_there() -> None:
    kb = replace(knowledge(), heard=MappingProxyType({"x": replace(FACT, options={"wet": ("@gone fishing",)})}))
    assert [message for _, message in lists(kb)] == ["turn of phrase 'gone' is not defined"]
