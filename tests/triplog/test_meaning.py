"""Patterns as answers of a visit: capped, counted once, and never certain."""

from dataclasses import replace
from math import exp, log

import pytest

from diagnose.triplog.judge import LogVerdict, judge
from diagnose.triplog.meaning import (
    MOST_TO_ONE,
    answers,
    because,
    causes_of,
    is_sure,
    meaning_of,
    strength,
    to_one,
)
from tests.shipped import knowledge
from tests.triplog.made import planted
from tests.triplog.test_patterns import patternless

LOG = knowledge().trip_log
WHEN, COMPARED, AFTERWARDS = LOG.when, LOG.compared, LOG.outlasts_rain.check


def verdict(name: str) -> LogVerdict:
    return judge(planted(name, 1))


def test_evidence_is_capped_at_what_a_sure_answer_counts() -> None:
    slip = knowledge().settings.slip
    assert pytest.approx((1 - slip) / slip, rel=0.05) == MOST_TO_ONE
    strongest = verdict("rain").patterns[0]
    assert exp(strongest.log_bayes) > 1e9 and to_one(strongest) == pytest.approx(MOST_TO_ONE)
    weak = replace(strongest, log_bayes=log(5))
    assert to_one(weak) == pytest.approx(5) and not is_sure(weak) and "not sure" in strength(weak)


def test_a_strong_pattern_behind_few_of_the_trips_is_not_sure() -> None:
    strong = verdict("rain").patterns[0]
    count = replace(strong.count, inside=round(strong.count.total * (strong.count.share + 0.2)))
    part = replace(strong, count=count)
    assert not is_sure(part) and "not sure" in strength(part)


@pytest.mark.parametrize(
    ("name", "said"),
    [("rain", "wet"), ("low_sun", "low_sun"), ("period", "fixed_times")],
)
def test_a_pattern_says_when_the_trouble_shows(name: str, said: str) -> None:
    found = {a.check: a for a in answers(verdict(name), knowledge(), {})}
    assert found[WHEN].value == said and found[COMPARED].value == "skip"
    assert "rate ratio" in found[WHEN].note


def test_one_log_counts_once_where_a_person_said_when() -> None:
    found = {a.check: a.value for a in answers(verdict("low_sun"), knowledge(), {WHEN: "fixed_times"})}
    assert found == {COMPARED: "sun_clock"}
    vague = {a.check: a.value for a in answers(verdict("low_sun"), knowledge(), {WHEN: "no_pattern"})}
    assert vague[WHEN] == "low_sun"


def test_hours_after_rain_are_evidence_of_their_own() -> None:
    found = {a.check: a.value for a in answers(verdict("after_rain"), knowledge(), {})}
    assert found[AFTERWARDS] == "stays_after" and found[WHEN] == "wet"
    stops = {a.check: a.value for a in answers(verdict("rain"), knowledge(), {})}
    assert stops.get(AFTERWARDS, "only_while_falling") == "only_while_falling"


def test_no_pattern_is_an_answer_only_with_the_power_to_see_one() -> None:
    many = next(v for seed in range(40) if (v := judge(patternless(seed))).episodes > 300)
    assert [(a.check, a.value, a.sure) for a in answers(many, knowledge(), {})] == [(COMPARED, "no_pattern", False)]
    few = next(v for seed in range(80) if (v := judge(patternless(seed))).episodes < 25)
    assert not few.patterns and answers(few, knowledge(), {}) == []


@pytest.mark.parametrize("name", ["change", "one_sensor", "trend"])
def test_a_pattern_that_says_nothing_about_when_answers_nothing(name: str) -> None:
    found = verdict(name)
    assert found.patterns[0].name == name
    assert all(meaning_of(knowledge(), p).when for p in found.patterns[1:]) or not answers(found, knowledge(), {})


def test_causes_come_with_a_test_the_likeliest_first() -> None:
    found = causes_of(verdict("low_sun").patterns[0], knowledge(), ("laser",))
    assert found[0].id == "low_sun_into_sensor" and all(cause.test for cause in found)
    assert all(not cause.devices or "laser" in cause.devices for cause in found)
    assert causes_of(verdict("trend").patterns[0], knowledge())[0].id == "window_dirty"


def test_the_numbers_behind_a_pattern_are_told() -> None:
    pattern = verdict("time_of_day").patterns[0]
    assert f"best of {pattern.searched} tried" in because(pattern) and f"{pattern.count.inside} of" in because(
        pattern
    )


def test_a_pattern_that_the_knowledge_does_not_know_answers_nothing() -> None:
    silent = replace(knowledge(), trip_log=replace(LOG, patterns={}))
    assert answers(verdict("rain"), silent, {}) == []
