"""What was heard in somebody's words, on the pages: shown, struck out, taken; nothing silently."""

from pathlib import Path

from tests.web.tab import session_in, tab

WORDS = "It opens by itself when it rains, and on windy days I think. It is a sliding gate."


def test_the_first_words_are_shown_before_anything_is_taken_and_a_struck_line_stays_out(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin(words=WORDS)
    assert shown.address.endswith("/heard") and "when it rains" in shown.text
    assert session_in(tmp_path, shown.address).answers == ()
    form = next(f for f in shown.forms() if f.fields.get("do") == "take")
    shown.send(form, take="")
    assert shown.status == 200 and session_in(tmp_path, shown.address).answers == ()


def test_what_stands_is_taken_as_heard(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin(words=WORDS)
    form = next(f for f in shown.forms() if f.fields.get("do") == "take")
    shown.send(form, take="when_it_happens=wet")
    (answer,) = session_in(tmp_path, shown.address).answers
    assert (answer.check, answer.value, answer.heard, answer.note) == (
        "when_it_happens",
        "wet",
        True,
        "opens by itself when it rains",
    )
    shown.send(form, take="when_it_happens=wet")  # the same form twice counts once
    assert len(session_in(tmp_path, shown.address).answers) == 1


def test_what_was_not_in_the_words_is_not_taken(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin(words=WORDS)
    form = next(f for f in shown.forms() if f.fields.get("do") == "take")
    shown.send(form, take="gate_made_safe=safe")
    assert session_in(tmp_path, shown.address).answers == ()


def test_more_can_be_told_at_any_question(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    shown.send(next(f for f in shown.forms() if f.fields.get("do") == "listen"), said="only when it rains")
    assert "when it rains" in shown.text
    shown.send(next(f for f in shown.forms() if f.fields.get("do") == "take"), take="when_it_happens=wet")
    assert [a.value for a in session_in(tmp_path, shown.address).answers] == ["wet"]


def test_words_that_say_nothing_are_said_to_say_nothing(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    shown.send(next(f for f in shown.forms() if f.fields.get("do") == "listen"), said="hello there")
    assert shown.status == 422 and "Nothing in these words" in shown.text


def test_what_was_seen_at_a_proof_that_failed_is_heard_as_well(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    shown.do("conclude")
    shown.do("repaired", cause="web_or_insects_at_window", note="web taken off")
    shown.do("proved", passed="no", reading="it still opens by itself when it rains")
    assert shown.address.endswith("/heard") and "when it rains" in shown.text
    shown.send(next(f for f in shown.forms() if f.fields.get("do") == "take"), take="when_it_happens=wet")
    assert [(a.check, a.heard) for a in session_in(tmp_path, shown.address).answers] == [("when_it_happens", True)]
