"""How a visit ends in a terminal, what may follow its end, and that help, back and leave are taken everywhere."""

import pytest

from diagnose.model.visit import Setup
from diagnose.session.events import Back, Close, Conclude, Noted, Proved, Reopen, Repaired, TakeOver
from tests.shipped import begun
from tests.terminal.typed import Line, Played, opened, play

CALL, GATE = Setup("help_desk", devices=("photo_eye",)), Setup(devices=("photo_eye",))
OWED = ("1", "Ana Invented", "2026-12-03", "chained open")


def ended(*lines: Line, setup: Setup = GATE) -> Played:
    return play("conclude", *lines, session=opened(setup))


def mended(*lines: Line) -> Played:
    """A call whose remedy touched protection, done by a technician and proved."""
    return ended("repaired", "3", "yes", "Dan Invented", "new hood", "yes", "seen dry", "no", *lines, setup=CALL)


def test_a_call_that_touched_protection_ends_with_the_proof_owed() -> None:
    played = mended("close", *OWED, "")
    assert played.session.repairs[-1].name == "Dan Invented"
    assert played.saved[-1] == Close("proof_owed", by="Ana Invented", due="2026-12-03", meanwhile="chained open")
    assert "NOT PROVED YET. Not later than: 2026-12-03 Until then: chained open" in played.flat()


def test_what_may_not_be_left_out_is_asked_again_and_nothing_is_lost() -> None:
    played = mended("close", "1", "Ana Invented", "soon", "chained open", "", "close", *OWED)
    assert "by which day" in played.flat() and played.session.outcome == "proof_owed"


def test_a_sent_visit_is_taken_over_here_and_ends_as_mended() -> None:
    sent = ended("close", "2", "nobody can look there", "", "takeover", "Ben Invented", "no", setup=CALL)
    there = ["conclude", "repaired", "1", "new hood", "yes", "seen dry", "no", "close", "1", *["pass seen"] * 12]
    played = play(*there, session=sent.session)
    assert sent.saved[-1] == TakeOver(GATE, "Ben Invented")
    assert (played.session.outcome, played.session.repairs[-1].name) == ("in_service", "Ben Invented")
    assert [e.outcome for e in played.session.earlier] == ["dispatched"]
    assert "A name for the record" not in played.text


@pytest.mark.parametrize(
    ("lines", "end"),
    [
        (("1", "no part", "shut", "Ben"), Close("left_out", "no part", by="Ben", meanwhile="shut")),
        (("3", "the guard was shown the switch"), Close("nothing_wrong", "the guard was shown the switch")),
        (("4", "2", "no address", ""), Close("passed_on", "no address", to="network")),
    ],
)
def test_every_end_asks_for_what_it_needs(lines: tuple[str, ...], end: Close) -> None:
    assert ended("close", *lines).saved[-1] == end


def test_an_ended_visit_is_opened_again() -> None:
    played = ended("close", "1", "no part", "", "", "reopen", "note the spare came", "back", "")
    assert [type(e) for e in played.saved[1:]] == [
        Close,
        Reopen,
        Noted,
        Back,
    ]
    assert "Taken back: that it was opened again." in played.flat()
    assert played.session.outcome == "left_out" and played.session.notes


def test_resume_of_an_ended_visit_offers_what_may_follow() -> None:
    session = ended("close", "1", "no part", "", "").session
    assert "reopen" in play("", session=session).text
    assert play("reopen", "", session=session).session.outcome == ""


def test_help_and_back_are_no_answer_to_yes_or_no() -> None:
    """Once 'help' was taken for no, and the next word for the reason."""
    played = ended("repaired", "1", "help", "back", "", setup=CALL)
    assert "Please type yes or no" in played.flat() and "Nothing of that was noted." in played.flat()
    assert [type(e) for e in played.saved] == [Conclude]


def test_back_at_a_reason_ends_nothing() -> None:
    played = ended("close", "3", "back", "")
    assert not played.session.outcome and played.left == 0


def test_leave_is_taken_at_a_proof_and_back_takes_the_repair_back() -> None:
    assert ended("repaired", "1", "hood", "leave").session.pending
    played = ended("repaired", "1", "hood", "back", "")
    assert [type(e) for e in played.saved] == [Conclude, Repaired, Back] and "the repair of" in played.flat()


def test_a_gate_is_left_out_of_service_while_its_proof_is_owed() -> None:
    played = ended("repaired", "1", "hood", "close", "1", "no rain to prove it in", "shut", "")
    assert played.session.outcome == "left_out" and played.session.pending


def test_after_more_back_returns_to_the_conclusion_and_repaired_is_understood() -> None:
    played = ended("more", "repaired", "", "back", "")
    assert played.flat().count("Which remedy was carried out?") == 1
    assert [type(e).__name__ for e in played.saved] == ["Conclude", "AskOn", "Conclude"]
    assert "Back at the conclusion." in played.text


def test_more_after_a_proved_repair_looks_for_something_else() -> None:
    played = ended("repaired", "1", "hood", "yes", "dry", "no", "more", "no", "more", "yes")
    assert [type(e).__name__ for e in played.saved][-2:] == ["Proved", "AnotherFault"]
    assert any(isinstance(e, Proved) for e in played.saved)


def test_back_at_a_conclusion_says_what_it_takes_back() -> None:
    assert "Taken back, and asked again:" in ended("back").flat()


def test_a_correction_and_a_note_are_for_the_record() -> None:
    played = play("note two remotes are lost", "correct", "it was the left leaf", session=begun())
    assert [(n.text, n.kind) for n in played.session.notes] == [
        ("two remotes are lost", "remark"),
        ("it was the left leaf", "correction"),
    ]
