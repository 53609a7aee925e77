"""Record, hand-over, history and learning as commands over a visit that was carried through."""

import json
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.model.visit import Earlier, Setup
from diagnose.session.events import Begin, Close, Event, Pictured, Proved, Repaired, Reply, TakeOver, Ticked
from diagnose.session.session import replay
from diagnose.session.visit_record import visit_record
from diagnose.store.journal import Journal, read
from diagnose.store.photos import folder_of, keep, made
from tests.shipped import knowledge
from tests.store.pictured import picture

CAUSE = "window_wet_drops"


def events() -> list[Event]:
    kb = knowledge()
    opened: list[Event] = [
        Begin(Setup("help_desk", devices=("laser",)), "ghost_opening", "opens in rain", "invented yard", kb.digest),
        Reply("when_it_happens", "wet"),
    ]
    return opened


def mended() -> list[Event]:
    kb = knowledge()
    there = TakeOver(Setup("technician", devices=("laser",)), "technician in the van")
    done = [*events(), there, Repaired(CAUSE, "new hood"), Proved(True, "an hour of rain")]
    return [*done, *(Ticked(p, "pass", "seen") for p in kb.proofs), Close("in_service", "caretaker told")]


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A visits folder with one closed visit, a database and a data folder of its own."""
    from datetime import datetime

    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    folder = tmp_path / "visits"
    with Journal.create(folder, datetime(2026, 1, 2, 3, 4, 5)) as journal:
        for event in mended():
            journal.append(event)
    yield folder


def run(*words: str) -> int:
    return main([words[0], "--plain", *words[1:]])


def test_a_closed_visit_becomes_a_record_with_only_proved_causes() -> None:
    session = replay(knowledge(), mended())
    found = visit_record("v", session, ["2026-01-02T03:04:05+00:00", "2026-01-02T04:04:05+00:00"])
    assert found.outcome is not None
    assert (found.state, found.outcome.causes, found.outcome.in_service) == ("finished", (CAUSE,), True)
    failed = replay(
        knowledge(), [*events(), Repaired(CAUSE, by="technician"), Proved(False), Close("dispatched", "still opens")]
    )
    other = visit_record("v", failed, ["2026-01-02T03:04:05+00:00"])
    assert other.outcome is not None
    assert (other.outcome.causes, other.outcome.in_service, other.outcome.note) == ((), False, "still opens")


def test_record_writes_both_versions(kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    assert run("record", "--visits", str(kept), "-o", str(out)) == 0
    assert sorted(p.suffix for p in out.iterdir()) == [".html", ".html", ".json", ".json"]
    assert "new hood" in next(out.glob("*full.html")).read_text()
    assert str(out) in capsys.readouterr().out


def test_a_visit_handed_over_goes_on_elsewhere_with_a_trace(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from datetime import datetime

    call = tmp_path / "call"
    with Journal.create(call, datetime(2026, 1, 3)) as journal:
        for event in events():
            journal.append(event)
    assert run("handover", "--visits", str(call), "-o", str(tmp_path / "h.visit")) == 0
    typed = iter(["change 1", "wind", "leave"])
    monkeypatch.setattr("builtins.input", lambda _prompt: next(typed))
    assert run("takeover", str(tmp_path / "h.visit"), "--visits", str(tmp_path / "van"), "--by", "van 2") == 0
    (path,) = (tmp_path / "van").glob("*.visit")
    session = replay(knowledge(), read(path).events)
    answer = session.answer("when_it_happens")
    assert session.setup.role == "technician"
    assert answer is not None
    assert (answer.value, answer.replaced) == ("wind", Earlier("wet", "caller"))
    assert "came with the visit" in capsys.readouterr().out


def test_history_finds_the_visit_and_learning_is_switched_on_and_off(
    kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = ("--visits", str(kept), "--database", f"sqlite:///{tmp_path / 'h.db'}")
    assert run("history", "hood", *place) == 0
    assert "invented yard" in capsys.readouterr().out
    assert run("frequencies", "--on", *place) == 0
    learned = json.loads((tmp_path / "data" / "gate-diagnose" / "learned.json").read_text())
    assert learned["outcomes"] == 1
    assert run("show", "--visits", str(kept), "--json") == 0
    capsys.readouterr()
    assert run("frequencies", "--off", *place) == 0
    assert "Off" in capsys.readouterr().out
    assert not (tmp_path / "data" / "gate-diagnose" / "learned.json").exists()


def test_a_sent_visit_is_taken_over_by_name_on_the_same_machine(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from datetime import datetime

    with Journal.create(tmp_path / "v", datetime(2026, 1, 3)) as journal:
        for event in (*events(), Close("dispatched", "nobody can look")):
            journal.append(event)
        name = journal.path.stem
    monkeypatch.setattr("builtins.input", lambda _prompt: "leave")
    assert run("takeover", name, "--visits", str(tmp_path / "v"), "--by", "Ben") == 0
    (path,) = (tmp_path / "v").glob("*.visit")
    session = replay(knowledge(), read(path).events)
    assert (session.by, session.outcome, session.earlier[0].outcome) == ("Ben", "", "dispatched")


def test_a_record_without_a_folder_says_where_it_was_written(
    kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("record", "--visits", str(kept), "--json") == 0
    assert str(tmp_path.resolve()) in "".join(capsys.readouterr().out.split())


def test_pictures_go_along_beside_the_file_that_is_handed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with Journal.create(tmp_path / "visits", datetime(2026, 3, 1)) as journal:
        for event in events():
            journal.append(event)
        for colour in ("red", "blue"):
            journal.append(Pictured(keep(journal.path, made(picture(colour=colour))), "answer", "when_it_happens"))
    (tmp_path / "stick").mkdir()
    assert main(["handover", "--visits", str(tmp_path / "visits"), "-o", str(tmp_path / "stick")]) == 0
    assert "With 2 pictures, in the folder" in capsys.readouterr().out
    (given,) = (tmp_path / "stick").glob("*.visit")
    monkeypatch.setattr("builtins.input", lambda *_: "leave")
    for there, lacks in ((2, ""), (1, "One picture of this visit is not here")):
        for path in sorted(folder_of(given).iterdir())[there:]:
            path.unlink()
        mine = tmp_path / f"van {there}"
        assert main(["takeover", str(given), "--visits", str(mine), "--plain"]) == 0
        assert len(list(mine.glob("*.photos/*.jpg"))) == there
        out = " ".join(capsys.readouterr().out.split())
        assert lacks in out and ("not here" in out) is bool(lacks)
