"""The person of a case answers as the case says, in the state that the gate is in."""

from collections import Counter
from typing import Any

import pytest

from diagnose.cases.model import CaseState, FieldCase
from diagnose.cases.person import NOT_KNOWN, Person, PersonAnswer
from tests.cases import made
from tests.shipped import knowledge


def person(case: FieldCase, seed: int = 1) -> Person:
    return Person(made.small(), case, seed)


def answer(who: Person, check: str) -> PersonAnswer:
    return who.answer(who.kb.checks[check], {})


def test_an_encoded_answer_is_given() -> None:
    assert answer(person(made.case()), "lamp").value == "out"
    assert answer(person(made.case()), "lamp").source == "encoded"


def test_a_check_that_the_fault_does_not_touch_is_healthy() -> None:
    reply = answer(person(made.case()), "window")
    assert (reply.value, reply.source) == ("clean", "healthy")


def test_a_touched_check_without_an_answer_is_not_encoded_and_unknown() -> None:
    case = made.case(states={"start": made.state({"volts": "none"})})
    reply = answer(person(case), "lamp")
    assert (reply.value, reply.source) == (NOT_KNOWN, "not_encoded")


def test_unscored_context_is_never_taken_as_healthy() -> None:
    assert answer(person(made.case()), "shape").source == "not_encoded"


@pytest.mark.parametrize(("part", "source"), [("nobody", "nobody"), ("no_fit", "no_fit")])
def test_what_nobody_can_tell_and_what_fits_no_answer_are_unknown(part: str, source: str) -> None:
    keys: Any = {"lamp": "it is covered by a cap"} if part == "no_fit" else ("lamp",)
    reply = answer(person(made.case(states={"start": made.state({}, **{part: keys})})), "lamp")
    assert (reply.value, reply.source) == (NOT_KNOWN, source)


def test_after_the_first_repair_its_own_signs_are_healthy_and_the_second_fault_still_shows() -> None:
    who = person(made.pair())
    assert answer(who, "lamp").value == "out"
    who.mended = frozenset({0})
    assert answer(who, "lamp").value == "lit"
    assert answer(who, "bracket").value == "bent"
    who.mended = frozenset({1})
    assert (answer(who, "lamp").value, answer(who, "bracket").value) == ("out", "straight")


def test_whoever_is_on_site_sees_what_the_caller_did_not() -> None:
    states = {"start": made.state({"lamp": "lit"}), "on_site": CaseState(answers={"lamp": "out"})}
    who = person(made.case(who="caller_no_tools", states=states))
    assert answer(who, "lamp").value == "lit"
    who.on_site = True
    assert answer(who, "lamp").value == "out"


def test_trouble_that_comes_and_goes_is_met_as_often_as_the_case_says() -> None:
    states = {"start": made.state({"lamp": "out"}), "resting": CaseState(answers={"lamp": "lit"})}
    case = made.case(states=states, intermittent=True, encoded={"present": 0.3})
    seen = Counter(answer(person(case, seed), "lamp").value for seed in range(400))
    assert 0.2 < seen["out"] / 400 < 0.4


def test_answers_with_weights_are_drawn_by_them_and_the_same_for_the_same_seed() -> None:
    case = made.case(states={"start": made.state({"lamp": {"out": 0.8, "lit": 0.2}})})
    seen = Counter(answer(person(case, seed), "lamp").value for seed in range(400))
    assert 0.7 < seen["out"] / 400 < 0.9
    assert len({answer(person(case, 7), "lamp").value for _ in range(5)}) == 1


def test_each_check_has_a_stream_of_its_own_so_that_one_more_question_changes_no_other_answer() -> None:
    weights = {"out": 0.5, "lit": 0.5}
    case = made.case(states={"start": made.state({"lamp": weights, "bracket": {"bent": 0.5, "straight": 0.5}})})
    for seed in range(20):
        alone, both = person(case, seed), person(case, seed)
        answer(both, "bracket")
        assert answer(alone, "lamp") == answer(both, "lamp")


def test_a_healthy_reading_is_one_that_the_knowledge_itself_calls_normal() -> None:
    kb = knowledge()
    check = next(
        c for c in kb.checks.values()
        if c.kind == "quantity" and c.finding and c.finding.fact in kb.calculations
        and set(kb.calculations[c.finding.fact].inputs.values()) <= {c.id}
    )  # fmt: skip
    states = {"start": made.state({}, healthy=(check.id,))}
    reply = Person(kb, made.case(states=states), 1).answer(check, {})
    from diagnose.core.facts import run_calculation

    assert check.finding
    outcome = run_calculation(kb.calculations[check.finding.fact], {check.id: reply.value})
    assert outcome is not None
    assert outcome.word in next(iter(check.finding.states.values()))
