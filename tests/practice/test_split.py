"""Half-splitting: what a look tells about the link, against the sum over links by hand; and which looks count."""

import math
from collections import Counter

import pytest

from diagnose.core.posterior import Belief
from diagnose.practice.exercise import begin
from diagnose.practice.split import Split, parted, split_of
from diagnose.session.session import conclude
from tests.practice.gates import drops, shipped


def by_hand(belief: Belief, finding: str) -> float:
    """I(link; state), added up column by column."""
    table, joint = belief.network.tables[finding], Counter[tuple[str, str]]()
    for column, link in enumerate(belief.network.begins, start=1):
        below = [0.0, *table.below([column])]
        for k, state in enumerate(table.states):
            joint[link, state] += belief.columns[column] / belief.columns[1:].sum() * (below[k + 1] - below[k])
    links, states = Counter[str](), Counter[str]()
    for (link, state), p in joint.items():
        links[link] += p
        states[state] += p
    return sum(p * math.log2(p / (links[x] * states[y])) for (x, y), p in joint.items() if p > 0)


@pytest.mark.parametrize("check", ["power_lamp", "env_window_look", "sup_others_dead"])
def test_bits_about_the_link_are_the_mutual_information(check: str) -> None:
    belief = conclude(shipped(), begin(shipped(), drops()).session).belief
    assert parted(belief, check) == pytest.approx(by_hand(belief, check), abs=1e-9)
    assert parted(belief, check) > 0.001


def test_a_look_is_held_against_the_best_for_no_more_minutes() -> None:
    conclusion = conclude(shipped(), begin(shipped(), drops()).session)
    options = conclusion.ahead.options
    for option in options[:: len(options) // 8]:
        split = split_of(conclusion, option.check)
        assert split
        rivals = [o for o in options if o.own + o.opening <= option.own + option.opening]
        assert split.best == max(parted(conclusion.belief, o.finding) for o in rivals)
        assert split.told <= split.best


def test_well_means_at_least_half_of_the_best() -> None:
    assert Split(0.2, 0.4, "x").well
    assert not Split(0.19, 0.4, "x").well


def test_questions_that_come_first_everywhere_and_what_is_not_asked_are_no_matter_of_halving() -> None:
    conclusion = conclude(shipped(), begin(shipped(), drops()).session)
    assert split_of(conclusion, "power_lamp", ("power_lamp",)) is None
    assert split_of(conclusion, "power_lamp") is not None
    assert split_of(conclusion, "no_such_check") is None
