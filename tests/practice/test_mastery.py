"""Beta mastery. Oracle: scipy.stats.beta; a textbook case (Gelman et al., Bayesian Data Analysis)."""

import numpy as np
import pytest
from scipy import stats

from diagnose.practice.ladder import LADDER
from diagnose.practice.mastery import Mastery, beta_cdf, beta_quantile, next_family


def test_the_distribution_function_and_its_inverse_agree_with_scipy() -> None:
    rng = np.random.default_rng(1)
    for _ in range(300):
        a, b = 1.0 + rng.exponential(8.0, 2)
        x = float(rng.random())
        assert beta_cdf(x, a, b) == pytest.approx(stats.beta.cdf(x, a, b), abs=1e-11)
        assert beta_quantile(x, a, b) == pytest.approx(stats.beta.ppf(x, a, b), abs=1e-9)


def test_the_textbook_case() -> None:
    """437 of 980 births, uniform prior: mean .446, sd .016, 95 % interval .415 to .477 (Gelman et al., BDA3, 2.4)."""
    known = Mastery(438.0, 544.0)
    assert (known.mean, known.sd) == pytest.approx((0.446029, 0.015854), abs=1e-6)
    assert known.interval(0.95) == pytest.approx((0.415065, 0.477200), abs=1e-6)


def test_whole_successes_count_like_coins_and_half_ones_half() -> None:
    known = Mastery().after(1.0, 5).after(1.0, 6).after(0.0, 7)
    assert (known.a, known.b, known.last, known.streak) == (3.0, 2.0, 7, 0)
    assert Mastery().after(0.25, 1) == Mastery(1.25, 1.75, 1, 0)
    assert known.seen == 3
    with pytest.raises(ValueError, match=r"^1\.2$"):
        known.after(1.2, 8)


def test_more_exercises_narrow_the_interval() -> None:
    few, many = Mastery(3.0, 2.0), Mastery(30.0, 20.0)
    assert few.mean == many.mean
    assert many.interval()[1] - many.interval()[0] < few.interval()[1] - few.interval()[0]


def test_what_went_well_comes_back_later_each_time_and_what_went_badly_tomorrow() -> None:
    known, gaps = Mastery(), []
    for day in (10, 20, 30):
        known = known.after(1.0, day)
        gaps.append(known.due() - day)
    assert gaps == [2, 4, 8]
    assert known.after(0.1, 40).due() == 41
    many = Mastery(50.0, 1.0, 100, 30)
    assert many.due() == 164


def test_the_weakest_family_that_is_due_comes_next_and_new_ones_are_due_at_once() -> None:
    strong, weak = Mastery(9.0, 1.0, 10, 0), Mastery(2.0, 6.0, 10, 0)
    known = {"supply": strong, "wiring": weak, "zone": Mastery(1.0, 9.0, 12, 3)}
    assert next_family(known, ["supply", "wiring", "zone"], 12) == "wiring"  # zone is weaker, but not due
    assert next_family(known, ["supply", "wiring", "zone"], 20) == "zone"
    assert next_family({"supply": strong}, ["supply", "output"], 12) == "output"
    assert next_family({"supply": strong, "zone": known["zone"]}, ["supply", "zone"], 10) == "supply"  # the next due


def test_hints_fade_and_faults_grow_up_the_ladder() -> None:
    hints, faults = [x.hints for x in LADDER], [x.faults for x in LADDER]
    assert hints == sorted(hints, reverse=True)
    assert faults == sorted(faults)
    assert (faults[0], faults[-1], hints[-1]) == (1, 2, 0)
