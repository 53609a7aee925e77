"""Strict reading of YAML: words stay words, tricks are refused, nothing ever raises."""

import json

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from diagnose.kb.files import MAX_BYTES
from diagnose.kb.text import MAX_DEPTH, Problem, parse


def refused(text: str) -> Problem:
    (problem,) = parse(text, "f.yaml").problems
    return problem


@pytest.mark.parametrize(
    "word",
    [
        "yes",
        "no",
        "Yes",
        "NO",
        "on",
        "off",
        "y",
        "n",
        "12:30",
        "1:2:3",
        "2024-01-01",
        "0x10",
        "0b1",
        "1_000",
        "=",
        "<<",
    ],
)
def test_words_stay_words(word: str) -> None:
    """YAML 1.1 makes booleans, base-60 numbers, dates or merge keys of these; a relay's 'no' must stay 'no'."""
    assert parse(f"key: {word}", "f").value == {"key": word}
    assert parse(f"{word}: 1", "f").value == {word: 1}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("true", True), ("false", False), ("null", None), ("~", None), ("", None),
        ("5", 5), ("-3", -3), ("0", 0), ("0.5", 0.5), (".5", 0.5), ("1e3", 1000.0), ("+2.5", 2.5),
        ("'5'", "5"), ('"true"', "true"), ("5 V", "5 V"), ("1.2.3", "1.2.3"), (".inf", ".inf"), (".nan", ".nan"),
        ("1e999", "1e999"), ("9" * 18, int("9" * 18)), ("9" * 30, float("9" * 30)), ("9" * 400, "9" * 400),
    ],
)  # fmt: skip
def test_plain_values(text: str, value: object) -> None:
    """Numbers are decimal and finite; quoted is always text."""
    found = parse(f"key: {text}", "f").value["key"]
    assert found == value and type(found) is type(value)


@pytest.mark.parametrize(
    ("text", "line", "column", "says"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, 1, "'a' is already given on line 1"),
        ("x:\n  a: 1\n  'a': 2\n", 3, 3, "'a' is already given on line 2"),
        ("a: &n [1]\nb: *n\n", 2, 4, "aliases"),
        ("a: !!python/object/apply:os.system [x]\n", 1, 4, "tag"),
        ("a: !!str 5\n", 1, 4, "tag"),
        ("!thing a: 5\n", 1, 1, "plain word"),
        ("a: 1\n---\nb: 2\n", 2, 1, "a second document"),
        ("? [1, 2]\n: x\n", 1, 3, "a key must be a plain word"),
        ("a: [1, 2\nb: 3\n", 2, 2, "not YAML"),
        ("a: 1\n\tb: 2\n", 2, 1, "not YAML"),
        ("a: 'open\n", 2, 1, "not YAML"),
    ],
)
def test_refused_with_its_place(text: str, line: int, column: int, says: str) -> None:
    problem = refused(text)
    assert (problem.line, problem.column) == (line, column) and says in problem.says
    assert str(problem).startswith(f"f.yaml:{line}:{column}: ")


def test_every_duplicate_key_is_reported() -> None:
    assert [p.line for p in parse("a: 1\na: 2\nb: 1\nb: 2\na: 3\n", "f").problems] == [2, 4, 5]


def test_depth_is_limited() -> None:
    def nested(levels: int) -> str:
        return "".join(" " * i + "a:\n" for i in range(levels)) + " " * levels + "b"

    assert parse(nested(MAX_DEPTH), "f").problems == []
    assert "nested deeper" in refused(nested(MAX_DEPTH + 1)).says
    assert parse("[" * 100_000, "f").problems  # and quickly, without recursion


def test_alias_bomb_is_refused_at_the_first_alias() -> None:
    bomb = "a: &a [x, x]\n" + "".join(f"b{i}: &b{i} [*a, *a]\n" for i in range(30))
    assert "aliases" in refused(bomb).says


def test_huge_input_is_refused_unread() -> None:
    assert "larger than" in refused("a: " + "x" * MAX_BYTES).says
    assert "larger than" in refused("a: " + "\u00e9" * (MAX_BYTES // 2)).says  # counted in bytes


def test_marks_point_at_every_part() -> None:
    document = parse("a:\n  b: [1, {c: 2}]\n", "f")
    assert document.marks[("a", "b", 1, "c")] == (2, 11)
    assert document.problem(("a", "b", 1, "missing"), "x").column == 10  # nearest enclosing part


@settings(max_examples=300, deadline=None)
@given(st.text())
@example("\x00")
@example("\ud800")
@example("a: \ud800")
@example("\ufeffa: 1")
@example("%TAG ! !\n---\na")
@example("a: !<x> b")
def test_no_text_ever_raises(text: str) -> None:
    document = parse(text, "f")
    assert all(p.line >= 1 and p.column >= 1 and p.says for p in document.problems)


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="ab:-[]{},&*!?|>'\"%@#\n \t~0.", max_size=60))
def test_no_heap_of_punctuation_ever_raises(text: str) -> None:
    parse(text, "f")


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200))
def test_no_binary_ever_raises(data: bytes) -> None:
    parse(data.decode("latin-1"), "f")


PLAIN = st.recursive(
    st.text(st.characters(codec="ascii", categories=("L", "N", "Zs")), max_size=8)
    | st.integers(-999, 999)
    | st.booleans(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("abc", min_size=1, max_size=3), inner, max_size=3)
    ),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.text("xyz", min_size=1, max_size=3), PLAIN, max_size=4))
def test_json_reads_back_as_itself(value: dict[str, object]) -> None:
    """Source: YAML 1.2 is a superset of JSON (its specification, section 1.3, from memory); json.dumps as writer."""
    assert parse(json.dumps(value), "f").value == value
