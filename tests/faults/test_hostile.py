"""Hostile text in every field that people or files fill: harmless in the terminal, page, PDF, JSON and errors.

The program writes no CSV; of spreadsheets' formulas only the files it reads could hold any, and they stay text.
"""

import contextlib
import html
import io
import json
import re
import unicodedata
from collections.abc import Iterator
from datetime import datetime
from html.parser import HTMLParser
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.errors import DiagnoseError, VisitError, printable
from diagnose.kb.text import parse
from diagnose.model.visit import Setup
from diagnose.practice.progress_file import file_of
from diagnose.present.record import Record
from diagnose.present.record_parts import records
from diagnose.present.times import times_of
from diagnose.report import html as page
from diagnose.report import pdf, plain
from diagnose.session.events import Begin, Close, Event, Proved, Repaired, Reply, TakeOver, Ticked
from diagnose.session.session import conclude, salvage
from diagnose.store.history.history import History
from diagnose.store.journal import Journal, read
from diagnose.store.profiles import load_profile
from diagnose.terminal.profile_form import as_yaml
from diagnose.terminal.screen import Screen
from diagnose.terminal.triplog import bar
from tests.faults.hostile import CONTROLS, ESCAPES, FORMULAS, LINES, MARKUP, SCRIPT, SMEAR, TEXTS
from tests.practice.gates import shipped
from tests.shipped import knowledge

OVERRIDES = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c")


def events(text: str) -> tuple[Event, ...]:
    """A visit with the text in every field that takes any."""
    setup = Setup(devices=("laser",), profile={"lamp.power": text, "lamp.fault": text})
    return (
        Begin(setup, "ghost_opening", text, text, knowledge().digest, text),
        Reply("anyone_touched", "nobody", by=text, note=text),
        Reply("gate_made_safe", "safe", by="x" + text, note=text),
        Repaired("window_wet_drops", text),
        Proved(True, text),
        Ticked("protective_zone", "na", text or "x"),
        TakeOver(setup, text),
        Close("left_out", "x" + text),
    )


def written(folder: Path, text: str) -> Path:
    with Journal.create(folder, datetime(2026, 3, 1, 12)) as journal:
        for event in events(text):
            journal.append(event)
    assert read(journal.path).events == events(text)
    return journal.path


def drawn(path: Path) -> tuple[Record, Record]:
    found = read(path)
    session, left_out = salvage(knowledge(), found.events)
    assert not left_out
    return records(shipped(), session, conclude(shipped(), session), times_of(found.events, found.times))


def require_harmless(text: str) -> None:
    """No control character but the line end, nothing that turns the direction, nothing half."""
    bad = {c for c in text if c != "\n" and (unicodedata.category(c) in ("Cc", "Cs") or c in OVERRIDES)}
    assert not bad, sorted(map(hex, map(ord, bad)))


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.add(tag)
        self.attributes |= {name for name, _ in attrs}


@pytest.mark.parametrize("number", range(len(TEXTS)))
def test_the_record_as_page_and_json(number: int, tmp_path: Path) -> None:
    usual = Tags()
    for record in drawn(written(tmp_path / "usual", "usual")):
        usual.feed(page.render(record).decode())
    for record in drawn(written(tmp_path / "hostile", TEXTS[number])):
        text = page.render(record).decode()
        require_harmless(html.unescape(text))
        tags = Tags()
        tags.feed(text)
        assert tags.found <= usual.found
        assert tags.attributes <= usual.attributes
        whole = plain.render(record).decode("ascii")
        require_harmless(json.dumps(json.loads(whole), ensure_ascii=False))


def test_the_record_as_pdf(tmp_path: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    together = " ".join(TEXTS)[:20_000]
    for number, text in enumerate((MARKUP + ESCAPES + SCRIPT, LINES + SMEAR + CONTROLS, together)):
        for record in drawn(written(tmp_path / str(number), text)):
            document = pypdf.PdfReader(io.BytesIO(pdf.render(record)))
            for sheet in document.pages:
                require_harmless(sheet.extract_text().replace("\t", " "))
                assert "/JS" not in str(sheet.get_object())
                assert "/Annots" not in sheet


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *command: str, code: int = 0) -> str:
    assert main(command) == code, command
    out, err = capsys.readouterr()
    require_harmless(out + err)
    return str(out + err)


@pytest.mark.parametrize(
    "text", [MARKUP + ESCAPES, CONTROLS + LINES + SMEAR, SCRIPT + "".join(FORMULAS)], ids=range(3)
)
def test_the_terminal_and_the_history(text: str, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(home / "visits", text)
    place = ("--visits", str(path.parent))
    assert "Has any of this happened" in said(capsys, "show", *place)
    said(capsys, "list", *place)
    json.loads(said(capsys, "show", "--json", *place).encode("ascii"))
    kept = ("--database", str(home / "h.db"))
    assert re.search(r"20\d\d-\d\d-\d\d: ", said(capsys, "history", *place, *kept))
    said(capsys, "history", "--export", str(home / "out.jsonl"), *place, *kept)
    lines = (home / "out.jsonl").read_bytes().split(b"\n")
    assert [type(json.loads(line)) for line in lines if line] == [dict] * 3
    with History(str(home / "h2.db")) as other:
        assert other.import_(home / "out.jsonl") == 1
    said(capsys, "record", "-o", str(home / "records"), *place)


def test_file_names_are_text_too(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A name with escapes in it went to the terminal as it was, and one with brackets ended the progress bar."""
    path = written(home / "visits", "x")
    path.rename(path.with_name("20260301\x1b]0;pwned\x07[red].visit"))
    assert "[red]" in said(capsys, "list", "--visits", str(path.parent))
    said(capsys, "show", "--visits", str(path.parent))
    log = home / "[red\x1b[31m].csv"
    log.write_text("time,event\n" + "".join(f"2026-03-{day:02} 14:05:00,trip\n" for day in range(1, 31)))
    said(capsys, "triplog", str(log), "--zone", "UTC")
    with on_a_terminal(), bar("[/red]" + log.name) as done:
        done(0.5)


@contextlib.contextmanager
def on_a_terminal() -> Iterator[None]:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    with contextlib.redirect_stderr(Terminal()) as shown:
        yield
    assert "\x1b]0;" not in shown.getvalue()


@pytest.mark.parametrize("text", [*FORMULAS, MARKUP, ESCAPES, SCRIPT, CONTROLS, SMEAR])
def test_headings_sensors_and_words_of_a_trip_log(text: str, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cell = '"' + text.replace("\n", " ").replace("\r", " ").replace('"', '""') + '"'
    rows = [f"2026-03-{day:02d} {hour:02d}:05:00,{cell},{cell}" for day in range(1, 9) for hour in range(0, 24, 3)]
    log, target = home / "log.csv", home / "log.html"
    log.write_text("\n".join([f"time,{cell},x{cell}", *rows]), "utf-8", "replace")
    word = " ".join(text.replace("\0", " ").split()).casefold()
    options = ("--zone", "UTC", "--event-column", "2", "--sensor-column", "3", "--html", str(target))
    code = main(["triplog", str(log), *options, f"--word={word}=trip"])
    out, err = capsys.readouterr()
    require_harmless(out + err)
    assert code in (0, 2)
    if code == 0:
        shown = target.read_text("utf-8")
        tags = Tags()
        tags.feed(shown)
        require_harmless(html.unescape(shown))
        assert not tags.found & {"script", "img", "iframe"}
        assert not {a for a in tags.attributes if a.startswith("on")}


def test_errors_quote_files_without_their_escapes(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Names and values of a profile or a knowledge file went to the terminal as they were."""
    bad = home / "bad.yaml"
    bad.write_text('profile: {id: x, says: y, kind: site}\nfacts: {"\\e]0;pwned\\a\\u202E": 1}\n')
    with pytest.raises(VisitError, match=r"bad\.yaml:2:9: unknown fact") as raised:
        load_profile(str(bad))
    require_harmless(str(raised.value))
    assert "pwned" in said(capsys, "--technician", "--site", str(bad), code=2)
    (home / "k").mkdir()
    (home / "k" / "x.yaml").write_text('"\\e[31mcauses": {}\ncauses: {"\\e[2J": {}}\n')
    assert "[31m" in said(capsys, "check-knowledge", str(home / "k"), code=1)
    require_harmless(str(DiagnoseError("a\x1b[31mb\nc\u202e")))
    assert str(DiagnoseError("a\nb")) == "a\nb"
    assert "\x1b" not in str(parse('a: 1\na: "\x1b"\n', "x").problems[0])


@pytest.mark.parametrize("text", TEXTS, ids=range(len(TEXTS)))
def test_a_profile_made_by_asking_reads_back(text: str, tmp_path: Path) -> None:
    target = tmp_path / "p.yaml"
    target.write_text(as_yaml("device", text or "x", {}, {"power": text}), "utf-8")
    profile = load_profile(str(target))
    assert (profile.says, profile.lamps["power"]) == (printable(text), printable(text))


@pytest.mark.parametrize("name", ["24", "null", "true", "1e3", "-", "~", "\U0001f9d1", "2026-01-01"])
def test_a_site_may_be_called_anything(name: str, tmp_path: Path) -> None:
    """A number, 'null' or a picture for a name made a profile that could not be read."""
    target = tmp_path / "site.yaml"
    target.write_text(as_yaml("site", name, {}, {}), "utf-8")
    assert load_profile(str(target)).says == name


@pytest.mark.parametrize("text", TEXTS, ids=range(len(TEXTS)))
def test_a_trainee_s_name_is_a_file_of_the_folder_or_refused(text: str, tmp_path: Path) -> None:
    try:
        path = file_of(tmp_path, text)
    except VisitError:
        return
    assert path.parent == tmp_path
    assert set(path.name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-.")


@pytest.mark.parametrize("text", TEXTS, ids=range(len(TEXTS)))
def test_every_way_to_draw_a_line(text: str) -> None:
    out = io.StringIO()
    screen = Screen(out, 40, plain=True)
    screen.line(text)
    screen.hanging(text, text)
    screen.hanging("- ", text, "bold")
    screen.heading(text[:200])
    screen.pair(text[:30], text)
    screen.numbered([text])
    screen.steps([text])
    screen.alarm([text])
    require_harmless(out.getvalue())
