"""Disturbed knowledge: as large as it says, nowhere else, and still knowledge."""

from collections import Counter
from functools import cache

import numpy as np
import pytest

from diagnose.core.compile import compile_network, strength
from diagnose.measure.perturb import MOST_TOGETHER, SEVEN_POINTS, log_odds_noise, one_step, perturbed, snapped
from diagnose.model.knowledge import KnowledgeBase
from tests.build import cause, check, knowledge
from tests.shipped import knowledge as shipped


def links(kb: KnowledgeBase) -> dict[tuple[str, str, str], float]:
    return {
        (c.id, finding, state): strength(value, kb.scales)
        for c in kb.causes.values()
        for finding, shown in c.signs.items()
        for state, value in shown.items()
    }


def alone(kb: KnowledgeBase) -> set[tuple[str, str, str]]:
    """Links of findings with one state after the first, which are never scaled back together."""
    return {k for k in links(kb) if len(kb.causes[k[0]].signs[k[1]]) == 1}


def test_no_disturbance_is_no_change() -> None:
    """The disturbed knowledge goes the same way through compilation as the one as written."""
    kb = shipped()
    before = compile_network(kb, ("laser",))
    after = compile_network(perturbed(kb, (lambda p: p, lambda word, words: words[word])), ("laser",))
    assert after.odds == pytest.approx(before.odds, abs=0)
    assert {c: v.tolist() for c, v in after.presenting.items()} == {
        c: v.tolist() for c, v in before.presenting.items()
    }
    for name, table in before.tables.items():
        assert after.tables[name].cumulative == pytest.approx(table.cumulative, abs=1e-9)
        assert after.tables[name].leak == pytest.approx(table.leak, abs=1e-9)


def test_one_step_moves_a_third_up_a_third_down() -> None:
    kb = shipped()
    after, scale = links(perturbed(kb, one_step(kb, np.random.default_rng(1)))), sorted(kb.scales.strength.values())
    steps = Counter[int]()
    for key in alone(kb):
        if (before := written()[key]) in scale[1:-1]:
            steps[scale.index(after[key]) - scale.index(before)] += 1
    assert set(steps) == {-1, 0, 1}
    for count in steps.values():  # a third each; 4 standard deviations of a binomial
        n = steps.total()
        assert abs(count - n / 3) < 4 * np.sqrt(n * 2 / 9)


@cache
def written() -> dict[tuple[str, str, str], float]:
    return links(shipped())


@pytest.mark.parametrize("deviation", [0.5, 1.0])
def test_noise_is_normal_on_the_log_odds(deviation: float) -> None:
    kb = shipped()
    after = links(perturbed(kb, log_odds_noise(kb, np.random.default_rng(2), deviation)))
    middle = [k for k in alone(kb) if 0.1 < written()[k] < 0.9]
    moved = np.array([np.log(after[k] / (1 - after[k]) * (1 - written()[k]) / written()[k]) for k in middle])
    assert abs(moved.mean()) < 4 * deviation / np.sqrt(len(moved))
    assert moved.std() == pytest.approx(deviation, rel=4 / np.sqrt(2 * len(moved)))
    frequency = perturbed(kb, log_odds_noise(kb, np.random.default_rng(2), deviation)).scales.frequency
    ratios = np.log([frequency[f"of {c.id}"] / kb.scales.frequency[c.common] for c in kb.causes.values()])
    assert ratios.std() == pytest.approx(deviation, rel=4 / np.sqrt(2 * len(ratios)))


def test_what_people_notice_of_an_effect_is_disturbed_as_what_they_notice_of_a_cause_is() -> None:
    kb = shipped()
    after = perturbed(kb, log_odds_noise(kb, np.random.default_rng(2), 1.0))
    for before, now in ((kb.causes, after.causes), (kb.effects, after.effects)):
        words = [(w, now[i].complaints[c]) for i, x in before.items() for c, w in x.complaints.items()]
        moved = np.log([after.scales.complaint[new] / kb.scales.complaint[old] for old, new in words])
        assert moved.std() == pytest.approx(1.0, rel=4 / np.sqrt(2 * len(moved)))


def test_snapping_leaves_seven_values() -> None:
    """The seven points of Renooij & Witteman (1999) with the ends off 0 and 1, as target T14 wants."""
    kb = shipped()
    after = links(perturbed(kb, snapped(kb, np.random.default_rng(1))))
    assert {after[k] for k in alone(kb)} <= set(SEVEN_POINTS)
    assert after[max(alone(kb), key=lambda k: written()[k])] == 0.995


def test_states_never_exceed_certainty_and_hard_zeros_stay() -> None:
    causes = [cause("one", {"a": {"low": 0.5, "out": 0.45}, "b": {"out": 0.0}})]
    kb = knowledge(causes, [check("a", ("ok", "low", "out"), {"low": 0.01}), check("b", ("ok", "out"), {"out": 0.1})])
    for seed in range(30):
        signs = perturbed(kb, log_odds_noise(kb, np.random.default_rng(seed), 2.0)).causes["one"].signs
        assert sum(float(p) for p in signs["a"].values()) <= MOST_TOGETHER + 1e-12
        assert signs["b"]["out"] == 0.0
