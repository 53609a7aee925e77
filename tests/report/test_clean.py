"""Hostile text: what is left of it."""

import unicodedata
from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st

from diagnose.present.clean import LONGEST_TEXT, MOST_MARKS, clean, cleaned


def test_direction_and_control_characters_are_taken_out() -> None:
    assert clean("a\u202eb\u2066c\u200fd\x00e\x1b[31mf\ud800g\u00adh") == "abcde[31mfgh"


def test_lines_and_tabs_become_one_space() -> None:
    assert clean(" two\r\nlines\u2028and\ttabs ") == "two lines and tabs"


def test_smears_of_accents_are_cut_short() -> None:
    assert clean("Z" + "\u0301" * 50) == "Z" + "\u0301" * MOST_MARKS


def test_what_is_cut_off_is_counted() -> None:
    assert clean("W" * (LONGEST_TEXT + 7)) == "W" * LONGEST_TEXT + " [and 7 more characters, left out]"


def test_ordinary_signs_of_the_trade_and_other_scripts_stay() -> None:
    for text in ("180 MΩ ≥ 50 MΩ, 0.5 mm², -25 °C, ±5 %", "Привет", "שלום", "می\u200cخواهم", "a<b&c"):
        assert clean(text) == text


@given(st.text())
def test_nothing_unprintable_is_ever_left(text: str) -> None:
    once = clean(text)
    allowed = "\u200c\u200d"
    assert all(
        unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") or c in allowed for c in once
    )
    assert clean(once) == once or len(once) > LONGEST_TEXT


@dataclass(frozen=True)
class Inner:
    says: str


@dataclass(frozen=True)
class Outer:
    inner: tuple[Inner, ...]
    pairs: tuple[tuple[str, float], ...]
    count: int


def test_every_text_of_a_record_is_reached() -> None:
    dirty = Outer((Inner("a\x00"),), (("b\u202e", 1.5),), 3)
    assert cleaned(dirty) == Outer((Inner("a"),), (("b", 1.5),), 3)
