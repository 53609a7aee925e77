"""`diagnose calc`: the list, a calculator asked for step by step, and one worked out at once."""

import io

import pytest
from rich.cells import cell_len

from diagnose.calc.registry import BY_HAND
from diagnose.errors import AnswerError
from diagnose.terminal.calculate import LEFT, run
from diagnose.terminal.screen import Screen
from tests.terminal.typed import Line, Typed


def played(args: str, *lines: Line, width: int = 80) -> tuple[int, str]:
    out = io.StringIO()
    code = run(args.split(), Screen(out, width, plain=True), Typed(*lines))
    return code, out.getvalue()


def flat(text: str) -> str:
    """Every run of white space as one space, so that wrapping does not matter."""
    return " ".join(text.split())


def test_the_list_names_every_calculator() -> None:
    code, text = played("")
    assert code == 0
    assert all(f"{name}: {calculator.title}" in text for name, calculator in BY_HAND.items())


@pytest.mark.parametrize("name", BY_HAND)
def test_every_example_fits_forty_columns_with_its_drawing_whole(name: str) -> None:
    for args in (BY_HAND[name].example, f"{name} help"):
        code, text = played(args, width=40)
        assert code == 0
        assert all(cell_len(line) <= 40 for line in text.splitlines())
    _, text = played(BY_HAND[name].example, width=40)
    assert all(label in text for label in ("Formula", "Result", "At the gate", "Source"))


def test_a_drawing_is_not_reflowed() -> None:
    _, text = played("contacts off=open clear=closed blocked=open", width=40)
    assert "> NO, on at clear    open closed    open\n" in text


def test_asked_one_by_one_it_comes_to_the_same_as_all_at_once() -> None:
    asked = played("trailer", "1.5 m", "5 km/h", "?")
    at_once = played("trailer gap=1.5m speed=5km/h")
    assert asked[0] == at_once[0] == 0
    assert asked[1].endswith(at_once[1])


def test_wrong_answers_are_asked_again_and_back_goes_back() -> None:
    code, text = played("trailer", "", "banana", "15 m", "back", "1.5 m", "5 km/h", "1 s")
    text = flat(text)
    assert code == 0
    assert "This one is needed" in text and "gap: I cannot read" in text
    assert "gap: 1.5 m" in text and "may close on the trailer" in text


def test_back_at_the_first_input_and_inputs_that_do_not_go_together() -> None:
    code, text = played("snow", "back", "5 m", "?", "?", "", "", "5 m", "400 m", "", "", "")
    assert code == 0
    assert "first input" in text and "Give the visibility" in text and "heavy by visibility" in text


def test_repeated_inputs_end_with_an_empty_line() -> None:
    code, text = played("supply_run", "24 V", "0.5 mm2", "", "10m:0.1A", "30m:0.2A", "", "", "")
    assert code == 0
    assert "At least one dev" in text and "devices: 2" in text


def test_the_care_line_comes_before_the_first_question() -> None:
    text = flat(played("loop")[1])
    assert text.index("insulation test must never reach a detector") < text.index("Long side")


def test_leaving() -> None:
    assert played("trailer", "leave")[0] == LEFT
    assert played("trailer", "1 m")[0] == LEFT, "the input ended"


def test_what_was_wrong_is_raised_for_the_command_line_to_print() -> None:
    with pytest.raises(AnswerError, match="Did you mean"):
        played("suply")
    with pytest.raises(AnswerError, match="speed is missing"):
        played("trailer gap=1m")
