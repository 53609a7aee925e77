"""The questions before the first check: what is wrong may be said at any of them, and stays on a small screen."""

import io

import pytest

from diagnose.model.visit import Setup
from diagnose.session.events import Begin
from diagnose.terminal.ask import Asker
from diagnose.terminal.begin import ask_begin, ask_complaint
from diagnose.terminal.screen import Screen
from diagnose.words import say
from tests.shipped import knowledge
from tests.terminal.typed import Typed

GHOST = "it opens when nobody is there"
ROWS = 24


class Tty(io.StringIO):
    """What is written to a terminal."""

    def isatty(self) -> bool:
        return True


def asked(*lines: str) -> tuple[Begin, str]:
    out = io.StringIO()
    begin = ask_begin(knowledge(), Begin(Setup(), ""), (), Asker(Screen(out, 80, plain=True), Typed(*lines)))
    return begin, " ".join(out.getvalue().split())


@pytest.mark.parametrize("lines", [(GHOST, "1", "", "1"), ("1", GHOST, "", "1")], ids=["where", "which sensors"])
def test_what_is_wrong_may_be_said_at_an_earlier_question(lines: tuple[str, ...]) -> None:
    begin, text = asked(*lines)
    assert (begin.complaint, begin.words) == ("ghost_opening", GHOST)
    asked_twice = "terminal.where" if lines[0] == GHOST else "terminal.which_sensors"
    assert text.count(say(asked_twice)) == 2
    assert say("terminal.complaint_kept") in text
    assert say("terminal.say_it") not in text  # the words are used at once, without the list of all


def test_words_at_both_questions_are_all_kept_also_over_back() -> None:
    begin, _ = asked(GHOST, "1", "only when it rains", "back", "1", "", "1")
    assert begin.words == f"{GHOST}. only when it rains"


@pytest.mark.parametrize("line", ["there is smoke coming out of it", "its little light is off"])
def test_a_danger_or_something_seen_is_kept_too(line: str) -> None:
    assert asked(line, "1", "", "", "ghost_opening")[0].words == line


@pytest.mark.parametrize(
    "line",
    [
        "laser over the entry opens, exit loop closes",
        "barrier with loop closes",
        "overhead laser inside protects, radar inside opens, edges on the leaves protect",
    ],
)
def test_a_line_that_names_devices_is_no_complaint(line: str) -> None:
    begin, text = asked("1", line, "1")
    assert begin.setup.gear and begin.words == ""
    assert say("terminal.complaint_kept") not in text


def test_a_place_that_is_none_of_those_is_asked_again() -> None:
    begin, text = asked("in the office", "2", "", "1")
    assert begin.words == ""
    assert say("terminal.number_please", most=3) in text


def rows_of_list(monkeypatch: pytest.MonkeyPatch, columns: int, *lines: str) -> list[str]:
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("LINES", str(ROWS))
    out = Tty()
    assert ask_complaint(knowledge(), Asker(Screen(out, plain=True), Typed(*lines)))[0]
    return out.getvalue().splitlines()


@pytest.mark.parametrize("columns", [40, 80])
def test_the_list_of_complaints_and_what_may_be_typed_stay_on_a_small_screen(
    monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    rows = rows_of_list(monkeypatch, columns, "1")[:-1]  # the last says what was chosen
    seen = rows[-(ROWS - 2) :]
    assert say("terminal.what_is_wrong") in seen
    assert seen[-1] == say("terminal.say_it")
    assert sum(row.lstrip()[:1].isdigit() for row in seen) == len(knowledge().complaints)


def test_long_names_are_shown_where_there_is_room(monkeypatch: pytest.MonkeyPatch) -> None:
    each = (" ".join(rows_of_list(monkeypatch, columns, "1")[:-1]) for columns in (80, 40))
    wide, narrow = (" ".join(text.split()) for text in each)
    full = knowledge().complaints["nuisance_reversal"].says
    assert full in wide and full not in narrow


def test_words_show_the_best_and_how_to_see_all_below_them(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = rows_of_list(monkeypatch, 40, GHOST, "", "1")
    text = " ".join(" ".join(rows).split())
    assert text.index(say("page.which_fits")) < text.index(say("terminal.fits_how"))
    shown = text.partition(say("page.which_fits"))[2].partition(say("terminal.fits_how"))[0]
    assert 3 <= sum(word.isdigit() for word in shown.split()) <= 5
    assert text.count(say("terminal.say_it")) == 2  # at the beginning, and below the whole list


def test_words_that_sound_like_no_complaint_are_kept_beside_the_list() -> None:
    out = io.StringIO()
    ask = Asker(Screen(out, 80, plain=True), Typed("ghost_opening"))
    assert ask_complaint(knowledge(), ask, "zzqq") == ("ghost_opening", "zzqq")
    assert say("terminal.say_it") in out.getvalue()
