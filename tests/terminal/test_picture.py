"""`picture PATH`: beside the last answer, the remedy, the proof or the visit; what is refused, and in which words."""

import os
from pathlib import Path

import pytest

from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Close, Conclude, Event, Pictured, Proved, Repaired, Reply
from diagnose.session.photos import MOST
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.store.journal import Journal, read
from diagnose.store.photos import folder_of, kept
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit
from tests.faults.test_crash_points import NOON
from tests.shipped import knowledge, reasoner
from tests.store.pictured import GPS, picture, with_place
from tests.terminal.typed import Typed, opened, play


@pytest.fixture
def lamp(tmp_path: Path) -> Path:
    path = tmp_path / "the lamp.jpg"
    path.write_bytes(with_place())
    return path


def pictures(saved: list[Event]) -> list[tuple[str, str]]:
    return [(e.of, e.which) for e in saved if isinstance(e, Pictured)]


def shown(monkeypatch: pytest.MonkeyPatch, session: Session, *lines: str) -> tuple[str, list[Event], list[bytes]]:
    put: list[bytes] = []

    def keep(data: bytes) -> str:
        put.append(data)
        return "0123456789abcdef.jpg"

    monkeypatch.setattr(Visit, "keep", staticmethod(keep))
    played = play(*lines, session=session)
    return played.flat(), played.saved, put


def after(*events: Event) -> Session:
    session = opened()
    for event in events:
        session = step(knowledge(), session, event)
    return session


def test_at_a_question_it_is_of_the_last_answer(monkeypatch: pytest.MonkeyPatch, lamp: Path) -> None:
    session = opened()
    text, saved, put = shown(monkeypatch, session, f"picture {lamp}", "leave")
    assert pictures(saved) == [("answer", session.given[-1].check)] and len(put) == 1
    assert "Kept as 0123456789abcdef.jpg" in text and "without place" in text
    asked = knowledge().checks[session.given[-1].check].ask
    assert " ".join(asked.split()) in text.split("Kept as")[0][-300:]


@pytest.mark.parametrize("typed", ["photo '{}'", 'picture "{}"', "PICTURE {}"])
def test_a_path_may_be_quoted_and_hold_blanks(monkeypatch: pytest.MonkeyPatch, lamp: Path, typed: str) -> None:
    assert len(shown(monkeypatch, opened(), typed.format(lamp), "leave")[2]) == 1


def test_without_a_path_it_is_asked_for_and_enter_means_none(monkeypatch: pytest.MonkeyPatch, lamp: Path) -> None:
    text, saved, put = shown(monkeypatch, opened(), "picture", "", "picture", str(lamp), "leave")
    assert "Which file is the picture in?" in text and len(put) == len(pictures(saved)) == 1


def test_after_a_conclusion_a_proof_and_the_end(monkeypatch: pytest.MonkeyPatch, lamp: Path) -> None:
    concluded = after(Conclude())
    leader = conclude(reasoner(), concluded).belief.ranked()[0][0]
    assert pictures(shown(monkeypatch, concluded, f"picture {lamp}")[1]) == [("remedy", leader)]
    mended = after(Conclude(), Repaired("laser_emitter_aged"))
    text, saved, _ = shown(monkeypatch, mended, f"picture {lamp}", "note clean now", "yes", "it stays shut", "no", "")
    assert pictures(saved) == [("proof", "laser_emitter_aged")] and "note or picture for the record" in text
    assert "Noted for the record." in text and Proved(True, "it stays shut") in saved
    ended = after(Close("left_out", "no part"))
    assert pictures(shown(monkeypatch, ended, f"picture {lamp}")[1]) == [("visit", "")]


def test_what_is_no_picture_is_refused_in_words_and_nothing_is_saved(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "page.jpg").write_text("<!doctype html><script>alert(1)</script>")
    (tmp_path / "link.jpg").symlink_to(tmp_path / "page.jpg")
    os.mkfifo(tmp_path / "pipe.jpg")
    for name, says in (
        ("page.jpg", "no whole JPEG, PNG or WebP picture; take it anew"),
        ("link.jpg", "link; name the picture itself"),
        ("pipe.jpg", "is no file"),
        (".", "is no file"),
        ("gone.jpg", "No such file"),
    ):
        text, saved, put = shown(monkeypatch, opened(), f"picture {tmp_path / name}", "leave")
        assert says in text and not saved and not put, name


def test_a_full_visit_and_one_without_a_file_say_so(monkeypatch: pytest.MonkeyPatch, lamp: Path) -> None:
    full = after(*(Pictured(f"{n:016x}.jpg", "visit") for n in range(MOST)))
    text, saved, put = shown(monkeypatch, full, f"picture {lamp}", "leave")
    assert f"{MOST} pictures, and can hold no more" in text and not saved and not put
    monkeypatch.undo()
    played = play(f"picture {lamp}", "leave", session=opened())
    assert "no visit file here" in played.flat() and not played.saved


def test_on_disk_first_and_without_the_place(tmp_path: Path, lamp: Path) -> None:
    """Through the command's own way of going on with a visit."""
    from diagnose.cli.shared import carry_on

    with Journal.create(tmp_path / "visits", NOON) as journal:
        journal.append(Begin(Setup(), "ghost_opening"))
        journal.append(Reply("anyone_touched", "nobody"))
        session = step(knowledge(), None, Begin(Setup(), "ghost_opening"))
        session = step(knowledge(), session, Reply("anyone_touched", "nobody"))
        carry_on(reasoner(), session, journal, Screen(None, 80, plain=True), Typed(f"picture {lamp}", "leave"))
    (event,) = [e for e in read(journal.path).events if isinstance(e, Pictured)]
    stored = kept(journal.path, event.name)
    assert stored and (event.of, event.which) == ("answer", "anyone_touched")
    assert b"Exif" not in stored and folder_of(journal.path).is_dir() and GPS
    assert len(stored) < len(picture((4000, 3000)))
