"""No answer fits: the person's own words, on the pages."""

from pathlib import Path

from diagnose.model.visit import SOMETHING_ELSE, Answer
from tests.web.tab import Form, Tab, session_in, tab
from tests.web.test_record_pages import taken_over

WORDS = "purple <b>monkeys</b>"


def field_of(shown: Tab) -> Form:
    return next(f for f in shown.forms() if f.fields.get("answer") == SOMETHING_ELSE)


def answers(folder: Path, shown: Tab) -> tuple[Answer, ...]:
    return session_in(folder, shown.address).answers


def test_every_question_has_the_field_and_the_words_are_shown_harmless(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    shown.send(field_of(shown), words=WORDS)
    assert [(a.value, a.note) for a in answers(tmp_path, shown)] == [(SOMETHING_ELSE, WORDS)]
    assert shown.status == 200 and field_of(shown)
    name = shown.address.split("/")[2]
    for page in ("answers", "sheet"):
        shown.open(f"/visit/{name}/{page}")
        assert "something else: &#34;purple &lt;b&gt;monkeys&lt;/b&gt;&#34;" in shown.text, page


def test_it_needs_words(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    shown.send(field_of(shown), words="  ")
    assert shown.status == 422 and "your own words" in shown.text
    assert answers(tmp_path, shown) == ()


def test_what_else_is_heard_in_the_words_is_shown_to_be_taken(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    shown.send(field_of(shown), words="the boss says only when it rains")
    assert shown.address.endswith("/heard") and "when it rains" in shown.text
    shown.send(shown.form("take"), take="when_it_happens=wet")
    assert [a.value for a in answers(tmp_path, shown)] == [SOMETHING_ELSE, "wet"]


def test_words_typed_for_a_reading_are_in_the_field_when_they_are_not_understood(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    shown.send(next(f for f in shown.forms() if f.fields.get("do") == "reply"), answer="it reads all over the place")
    assert shown.status == 422
    assert field_of(shown).fields["words"] == "it reads all over the place"


def test_whoever_takes_over_confirms_it_with_its_words(tmp_path: Path) -> None:
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    there.mkdir()
    shown = tab(here).begin(role="help_desk")
    shown.send(field_of(shown), words=WORDS)
    name = shown.address.split("/")[2]
    shown = taken_over(tab(there), (here / f"{name}.visit").read_bytes())
    shown.send(next(f for f in shown.forms() if "confirm" in f.fields))
    (confirmed,) = answers(there, shown)
    assert (confirmed.value, confirmed.note, confirmed.confirmed) == (SOMETHING_ELSE, WORDS, True)
