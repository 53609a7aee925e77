"""How many dangers are heard in people's own words, and how often harmless words sound like one.

`danger_learning.yaml`: invented sentences, written apart from the reader. The phrases were made with two thirds of
the pairs in view; every third was held back and says more about words that nobody has seen.
"""

from functools import cache
from pathlib import Path

import pytest

from diagnose.hear.reader import Reader
from diagnose.kb.text import parse
from tests.shipped import knowledge

PAIRS = Path(__file__).with_name("danger_learning.yaml")
SEEN_BY_MISTAKE = ("l003", "l006", "l009", "l012")


@cache
def reader() -> Reader:
    return Reader(knowledge())


def pairs(held_back: bool) -> list[dict[str, str]]:
    data = parse(PAIRS.read_text(encoding="utf-8"), PAIRS.name).value
    assert isinstance(data, list) and len(data) == 150
    return [d for d in data if (int(d["id"][1:]) % 3 == 0 and d["id"] not in SEEN_BY_MISTAKE) == held_back]


@pytest.mark.parametrize(("held_back", "most_missed", "most_false"), [(False, 1, 7), (True, 16, 10)])
def test_dangers_are_heard_and_harmless_words_are_not(held_back: bool, most_missed: int, most_false: int) -> None:
    told = pairs(held_back)
    missed = [d["id"] for d in told if not reader().read(d["danger"]).dangers]
    false = [d["id"] for d in told if reader().read(d["harmless"]).dangers]
    assert len(missed) <= most_missed and len(false) <= most_false, (missed, false)
