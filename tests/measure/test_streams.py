"""Chance by name: even, in proportion, the same everywhere, and untouched by other names."""

import subprocess
import sys
from collections import Counter
from itertools import pairwise

import numpy as np
import pytest

from diagnose.measure.streams import drawn, key, share, stream

WEIGHTS = {"one": 5.0, "two": 3.0, "three": 2.0, "never": 0.0}
DRAWS = 4000


def counted(weights: dict[str, float]) -> Counter[str]:
    return Counter(drawn(weights, seed) for seed in range(DRAWS))


def test_words_are_drawn_in_proportion_to_their_weights() -> None:
    found, total = counted(WEIGHTS), sum(WEIGHTS.values())
    for word, weight in WEIGHTS.items():
        expected = DRAWS * weight / total
        assert abs(found[word] - expected) <= 4 * np.sqrt(expected * (1 - weight / total)), word


def test_a_word_more_takes_its_own_share_and_leaves_every_other_draw() -> None:
    more = {"first": 1.0, **WEIGHTS}
    moved = [(drawn(WEIGHTS, s), drawn(more, s)) for s in range(DRAWS)]
    assert all(after in (before, "first") for before, after in moved)
    taken = sum(after == "first" for _, after in moved)
    assert abs(taken - DRAWS / 11) < 4 * np.sqrt(DRAWS / 11)


def test_the_order_of_the_words_draws_nothing_else() -> None:
    turned = dict(reversed(WEIGHTS.items()))
    assert all(drawn(WEIGHTS, seed) == drawn(turned, seed) for seed in range(200))


def test_without_a_weight_nothing_can_be_drawn() -> None:
    with pytest.raises(ValueError):
        drawn({"never": 0.0}, 1)


def test_names_next_to_each_other_have_nothing_in_common() -> None:
    found = np.array([share(7, f"check{i}") for i in range(DRAWS)])
    assert np.all((found >= 0.0) & (found < 1.0))
    assert abs(found.mean() - 0.5) < 4 / np.sqrt(12 * DRAWS)
    assert abs(np.corrcoef(found[:-1], found[1:])[0, 1]) < 4 / np.sqrt(DRAWS)
    firsts = [float(stream(7, f"check{i}").random()) for i in range(50)]
    assert all(a != b for a, b in pairwise(sorted(firsts)))
    assert key("a", "bc") != key("ab", "c")


def test_another_process_with_another_hash_seed_draws_the_same() -> None:
    says = "from diagnose.measure.streams import key, stream; print(key(3, 'x'), stream(3, 'x').random())"
    said = subprocess.run([sys.executable, "-c", says], env={"PYTHONHASHSEED": "11"}, capture_output=True, check=True)
    assert said.stdout.decode().split() == [str(key(3, "x")), str(stream(3, "x").random())]
