"""What is missing in a visit file is said by whatever reads it, in the same words."""

import os
from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Close, Event, Reply
from diagnose.store.journal import Journal, read
from tests.faults.limits import within
from tests.faults.test_crash_points import NOON
from tests.shipped import knowledge

EVENTS: tuple[Event, ...] = (
    Begin(Setup(), "stuck_open", site="north gate", digest=knowledge().digest, id="one"),
    Reply("anyone_touched", "nobody"),
    Reply("gate_made_safe", "safe"),
    Reply("power_lamp", "steady"),
    Close("left_out", "no part"),
)
READING = (
    ("show",), ("record", "--html"), ("history",), ("frequencies",), ("overview",), ("list",), ("explain",),
    ("resume",), ("handover",),
)  # fmt: skip


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr("builtins.input", lambda *_: "leave")
    with Journal.create(tmp_path / "visits", NOON) as made:
        for event in EVENTS:
            made.append(event)
    lines = made.path.read_bytes().splitlines(keepends=True)
    made.path.write_bytes(b"".join([lines[0], lines[1], b"#", *lines[3:]]))
    return made.path


def said(capsys: pytest.CaptureFixture[str], *command: str) -> str:
    main([*command, "--plain"])
    out, err = capsys.readouterr()
    return " ".join((out + err).split())


WRONG = "line 3 is damaged (it is not a line of a visit); entry 3 is missing; 4 entries are whole and are used."


@pytest.mark.parametrize("command", READING, ids=" ".join)
def test_every_command_says_what_is_missing(
    command: tuple[str, ...], path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Take-over took 14 of 34 events and said nothing; records, history and frequencies neither."""
    before = path.read_bytes()
    more = ("-o", str(tmp_path / "out")) if command[0] in ("record", "handover") else ()
    assert f"{path.name}: {WRONG}" in said(capsys, *command, *more, "--visits", str(path.parent))
    assert command[0] == "resume" or path.read_bytes() == before
    if command[0] == "record":
        assert all(WRONG in p.read_text() for p in (tmp_path / "out").iterdir())


def test_a_take_over_says_it_and_so_does_the_copy(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = tmp_path / "mine"
    assert f"{path.name}: {WRONG}" in said(capsys, "takeover", str(path), "--visits", str(mine))
    (copy,) = mine.glob("*.visit")
    assert read(copy).says(copy.name) == f"{copy.name}: entry 3 is missing; 5 entries are whole and are used."
    assert read(path).damage


def test_every_page_says_it(path: Path) -> None:
    pytest.importorskip("uvicorn")
    from starlette.testclient import TestClient

    from diagnose.store.history.search import FolderSearch
    from diagnose.web.app import build
    from tests.web.tab import HOME, context

    search = FolderSearch(knowledge(), path.parent, str(path.parent / "h.db"))
    app = build(replace(context(path.parent), search=search, trouble=search.trouble), local=True)
    served = TestClient(app, base_url=HOME)
    for page in ("", "/answers", "/likely", "/record", "/record/customer.html", "/record/full.html", "/handover"):
        assert f"{path.name}: {WRONG}" in served.get(f"/visit/{path.stem}{page}").text, page
    assert WRONG in served.get("/").text and WRONG in served.get("/history?q=north").text


@pytest.mark.parametrize("what", ["a pipe", "a link", "rubbish", "too much"])
def test_a_file_that_cannot_be_used_stops_no_list_and_is_named(
    what: str, path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = path.with_name("20270101-000000.visit")
    match what:
        case "a pipe":
            os.mkfifo(odd)
        case "a link":
            odd.symlink_to("/dev/zero")
        case "rubbish":
            odd.write_bytes(b"\xff" * 5000)
        case _:
            odd.write_bytes(b"\n" * 3_000_000)
    for command in ("list", "history", "frequencies", "overview"):
        with within(5):
            shown = said(capsys, command, "--visits", str(path.parent))
        assert odd.stem in shown and path.stem in shown, command


def test_a_visit_whose_opening_is_lost_grants_nothing_and_says_so(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its line was the only one that could not be spared: with it the whole visit was gone."""
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[2:]))
    shown = said(capsys, "show", "--visits", str(path.parent))
    assert "The opening of this visit is lost" in shown and "entries 1 to 3 are missing" in shown
    assert "power" in shown.casefold()
