"""What people type at a check: numbers, words, readings with units, doubt, and nonsense."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import AnswerError
from diagnose.kb.domain import answers_of
from diagnose.model.knowledge import Check
from diagnose.model.visit import NO_ANSWER
from diagnose.session.parse import Parsed, number_of, options_of, parse_answer
from tests.shipped import knowledge


def make(kind: str, **more: Any) -> Check:
    words = {"id": "lamp", "ask": "?", "help": "h", "good": "g", "bad": "b", "minutes": 1.0, "source": "src"}
    return Check(kind=kind, **{**words, **more})  # type: ignore[arg-type]


LAMP = make(
    "choice",
    options={
        "steady": "lit and steady",
        "flickers": "lit but flickers or drops out",
        "off": "off, nothing lit",
        "made_safe": "safe now",
    },
    caller_options={"off": "no light at all"},
)
YES_NO = make("yes_no")
VOLTS = make("quantity", unit="V", plausible=(18.0, 30.0), hard=(0.0, 60.0))
OHMS = make("quantity", unit="ohm", plausible=(0.0, 20e6), hard=(0.0, 1e8))
LENGTH = make("quantity", unit="m", hard=(0.0, 20.0))


@pytest.mark.parametrize(
    ("typed", "option"),
    [
        ("1", "steady"),
        (" 2 ", "flickers"),
        ("3.", "off"),
        ("3)", "off"),
        ("OFF", "off"),
        ("made_safe", "made_safe"),
        ("made safe", "made_safe"),
        ("Lit and  STEADY", "steady"),
        ("flick", "flickers"),
        ("drops out", "flickers"),
        ("nothing lit", "off"),
        ("no light", "off"),
        ("safe now", "made_safe"),
    ],
)
def test_an_option_is_chosen_by_number_id_or_words(typed: str, option: str) -> None:
    assert parse_answer(LAMP, typed) == Parsed(option)


@pytest.mark.parametrize(
    "typed", ["0", "5", "lit", "ead", "f", "-1", "1 2", "zebra", "9" * 400, "²", "１", "maybe", "."]
)
def test_what_names_no_option_or_several_is_asked_again(typed: str) -> None:
    with pytest.raises(AnswerError, match="number from 1 to 4"):
        parse_answer(LAMP, typed)


def test_words_that_fit_several_options_say_so() -> None:
    with pytest.raises(AnswerError, match="'lit' fits several"):
        parse_answer(LAMP, "lit")


@pytest.mark.parametrize(
    ("typed", "value"),
    [("y", "yes"), ("Yes", "yes"), ("yeah", "yes"), ("n", "no"), ("NO", "no"), ("1", "yes"), ("2", "no")],
)
def test_yes_and_no(typed: str, value: str) -> None:
    assert parse_answer(YES_NO, typed) == Parsed(value)


@pytest.mark.parametrize(
    ("check", "typed", "value"),
    [
        (VOLTS, "9,8 V", 9.8),
        (VOLTS, "9.8", 9.8),
        (VOLTS, "980 mV", 0.98),
        (VOLTS, "24VDC", 24.0),
        (OHMS, "1.2k ohm", 1200.0),
        (OHMS, "1k2", 1200.0),
        (LENGTH, "14 in", 0.3556),  # 14 x 25.4 mm, the international inch
        (LENGTH, "5'6\"", 1.6764),  # 66 x 25.4 mm
    ],
)
def test_readings_in_any_usual_form(check: Check, typed: str, value: float) -> None:
    parsed = parse_answer(check, typed)
    assert isinstance(parsed.value, float)
    assert math.isclose(parsed.value, value, rel_tol=1e-12)


def test_an_assumed_unit_is_told() -> None:
    assert parse_answer(VOLTS, "24").note == "no unit given, taken as V"


@pytest.mark.parametrize(("check", "typed"), [(VOLTS, "230 V"), (VOLTS, "-1 V"), (LENGTH, "3 km"), (VOLTS, "61")])
def test_an_impossible_reading_is_refused_with_its_limits(check: Check, typed: str) -> None:
    with pytest.raises(AnswerError, match=r"cannot be right here; possible is 0 .* to .*Try again"):
        parse_answer(check, typed)


@pytest.mark.parametrize(("typed", "value"), [("0 V", 0.0), ("60 V", 60.0)])
def test_the_limits_themselves_are_possible(typed: str, value: float) -> None:
    assert parse_answer(VOLTS, typed).value == value


def test_the_wrong_kind_of_unit_is_refused_kindly() -> None:
    with pytest.raises(AnswerError, match="asks for volts"):
        parse_answer(VOLTS, "3 ohm")


@pytest.mark.parametrize(("typed", "strange"), [("17.9", True), ("18", False), ("30", False), ("30.1", True)])
def test_a_strange_reading_is_kept_with_a_doubt(typed: str, strange: bool) -> None:
    assert ("is unusual here (usual: 18 V to 30 V)" in parse_answer(VOLTS, typed).doubt) is strange


def test_over_range_is_kept_as_the_highest_possible() -> None:
    parsed = parse_answer(OHMS, "OL")
    assert (parsed.value, parsed.note) == (1e8, "over range, kept as 100 MΩ")


@pytest.mark.parametrize("typed", ["2?", "maybe 2", "Maybe flickers", "flickers ?", "maybe 2?", "2 ??"])
def test_maybe_and_a_question_mark_mean_not_sure(typed: str) -> None:
    assert parse_answer(LAMP, typed) == Parsed("flickers", sure=False)
    assert not parse_answer(VOLTS, "24 V?").sure


@pytest.mark.parametrize(
    ("typed", "value"),
    [("?", "dont_know"), ("Don't know", "dont_know"), ("no idea", "dont_know"), ("cannot", "cant_check"),
     ("can't check", "cant_check"), ("skip", "skip")],
)  # fmt: skip
def test_no_answer_is_an_answer(typed: str, value: str) -> None:
    for check in (LAMP, YES_NO, VOLTS):
        assert parse_answer(check, typed) == Parsed(value)


@pytest.mark.parametrize("typed", ["", "   ", "??", "maybe ?"])
def test_nothing_typed_points_to_help(typed: str) -> None:
    with pytest.raises(AnswerError, match=r"'help'|number from"):
        parse_answer(LAMP, typed)


LIKELY_TEXT = st.text(max_size=80) | st.text("0123456789.,-+/?~<>='\" eEkKmMΩohmVin%²½٣", max_size=70)


@given(st.sampled_from(sorted(knowledge().checks)), LIKELY_TEXT)
def test_nonsense_is_an_answer_the_check_allows_or_a_friendly_error(name: str, typed: str) -> None:
    check = knowledge().checks[name]
    try:
        parsed = parse_answer(check, typed)
    except AnswerError as error:
        assert str(error)
        return
    if isinstance(parsed.value, str):
        assert parsed.value in {*answers_of(check), *NO_ANSWER}
    else:
        assert check.hard is not None
        assert check.hard[0] <= parsed.value <= check.hard[1]


@given(st.sampled_from(sorted(knowledge().checks)))
def test_every_shown_option_can_be_typed_by_number_by_id_and_in_full(name: str) -> None:
    check = knowledge().checks[name]
    for plain in (False, True):
        for number, (option, says) in enumerate(options_of(check, plain).items(), start=1):
            assert parse_answer(check, str(number)).value == option
            assert parse_answer(check, option).value == option
            assert parse_answer(check, says.rstrip("?")).value == option


@given(st.text(max_size=6), st.integers(0, 30))
def test_a_list_number_is_never_outside_the_list(typed: str, most: int) -> None:
    assert 0 <= number_of(typed, most) <= most


@pytest.mark.parametrize(
    ("typed", "value", "sure"),
    [
        ("12 to 14 V", 13.0, False),
        ("between 12 and 14", 13.0, False),
        ("23.8 and 24.1 V", 23.8, False),
        ("24 ± 0.5 V", 24.0, True),
        ("> 20 V", 20.0, True),
        ("ca. 24 V", 24.0, True),
    ],
)
def test_two_ends_are_not_sure(typed: str, value: float, sure: bool) -> None:
    parsed = parse_answer(VOLTS, typed)
    assert (parsed.value, parsed.sure) == (value, sure)
