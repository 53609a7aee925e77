"""Log files as they come: read to the same log, or refused with a sentence that says what to do."""

import builtins
import json
import random
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from diagnose.store.triplogs import sample
from diagnose.terminal.triplog_asked import LogFiles
from diagnose.terminal.triplog_files import Understood, load
from diagnose.triplog.records import Log, TripLogError
from diagnose.triplog.stamp_block import read_block
from diagnose.triplog.stamps import FORMATS, Stamps

FIRST = datetime(2026, 3, 2, 8, 30, 15)
TIMES = [FIRST + timedelta(hours=7, minutes=13) * n for n in range(60)]
ROWS = [(t, ("trip", "gate opens", "vehicle pass")[n % 3]) for n, t in enumerate(TIMES)]


def text(delimiter: str = ",", stamp: Callable[[datetime], str] = str) -> str:
    lines = [delimiter.join(("time", "event")), *(f"{stamp(t)}{delimiter}{word}" for t, word in ROWS)]
    return "\n".join(lines) + "\n"


def loaded(path: Path, **more: Any) -> tuple[Log, Understood]:
    return load(LogFiles(path, zone="UTC", **more), None)


def same(log: Log) -> bool:
    """Whether all rows are there, at their times."""
    trips = [t.timestamp() - datetime(1970, 1, 1).timestamp() for t, word in ROWS if word == "trip"]
    return np.allclose(log.trips, trips, atol=0.002) and (len(log.moves), len(log.passes)) == (20, 20)


def shuffled() -> str:
    head, *rows = text().splitlines()
    random.Random(1).shuffle(rows)
    return "\n".join([head, *rows]) + "\n"


def serial(when: datetime) -> str:
    return f"{(when - datetime(1899, 12, 30)) / timedelta(days=1):.9f}"


AS_LINES = "".join(json.dumps({"time": str(t), "event": w, "more": {"a": 1}}) + "\n" for t, w in ROWS)
FILES: dict[str, bytes] = {
    "utf-16 without a mark": text().encode("utf-16-le"),
    "utf-16 the other way without a mark": text().encode("utf-16-be"),
    "utf-16 with a mark": text().encode("utf-16"),
    "lines above the heading": b"Controller 4711\nExported;2026-04-01\n\n" + text(";").encode(),
    "sep=": b"sep=;\n" + text(";").encode(),
    "windows letters": (text() + "2026-03-30 10:00:00,gate opens \xfcber\n").encode("cp1252"),
    "shuffled": shuffled().encode(),
    "spreadsheet days": text(";", lambda t: serial(t).replace(".", ",")).encode(),
    "json lines": AS_LINES.encode(),
    "a list of json": json.dumps([{"time": str(t), "event": w} for t, w in ROWS], indent=1).encode(),
    "quoted": "\n".join(f'"{t}","{w}"' for t, w in [("time", "event"), *ROWS]).encode(),
    "nul bytes where the supply went": text().replace("\n", "\n\0\0\0", 20).encode(),
}


@pytest.mark.parametrize("name", FILES)
def test_the_same_log_however_it_is_written(name: str, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(FILES[name])
    log, told = loaded(path)
    if name == "windows letters":
        assert any("Windows" in line for line in told.lines) and len(log.moves) == 21
        return
    assert same(log)
    assert not any(bad.counts for _, bad in told.bad)


def test_lines_above_the_heading_are_told(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(FILES["lines above the heading"])
    assert any("3 lines above the heading" in line for line in loaded(path)[1].lines)


@pytest.mark.parametrize("cut", [9, 14, 22, 25])
def test_a_last_row_that_broke_off_is_no_question_and_no_trip(cut: int, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(text() + "2026-03-25 10:00:00,trip"[:cut])
    log, _ = loaded(path)
    broke = cut < 24
    assert [a.kind for a in log.aside if a.kind == "cut"] == ["cut"] * broke
    assert len(log.trips) == 20 + (not broke)


def test_times_without_seconds_are_told(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(text(stamp=lambda t: t.strftime("%Y-%m-%d %H:%M")))
    log, told = loaded(path)
    assert len(log.trips) == 20 and any("no seconds" in line for line in told.lines)


def test_a_spreadsheet(tmp_path: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    path, book = tmp_path / "log.xlsx", openpyxl.Workbook()
    book.active.title = "empty"
    sheet = book.create_sheet("log")
    for row in (("North gate",), (), ("time", "event"), *ROWS):
        sheet.append(list(row))
    book.save(path)
    assert same(loaded(path)[0])


def test_a_spreadsheet_without_its_reader_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import zipfile

    path = tmp_path / "log.xlsx"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("[Content_Types].xml", "")
        packed.writestr("xl/workbook.xml", "")
    real = builtins.__import__

    def missing(name: str, *rest: Any, **more: Any) -> Any:
        if name.startswith("openpyxl"):
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(TripLogError, match=r"gate-diagnose\[spreadsheets\]"):
        sample(path)


@pytest.mark.parametrize(
    ("head", "says"),
    [(b"%PDF-1.7 x", "PDF"), (b"\xd0\xcf\x11\xe0 x", "save it as .xlsx"), (b"\x1f\x8b\x08 x", "unpack"),
     (b"PK\x03\x04 broken", "cannot be read"), (b"SQLite format 3\0", "database"), (b"\x89PNG", "picture"),
     (b'{"a": 1}\n{"b"', "times that can be read"), (b"{ x: 1 }\n", "time")],
)  # fmt: skip
def test_what_is_no_table_is_named(head: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "log"
    path.write_bytes(head * 3)
    with pytest.raises(TripLogError, match=says):
        loaded(path)


def test_many_times_at_once_read_as_each_by_itself() -> None:
    stamps = [t.strftime(f) for t in TIMES for f in (
        "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S.25Z", "%d.%m.%Y %H:%M", "%d.%m.%y %H:%M:%S",
        "%Y-%m-%d %H:%M:%S+01:00",
        "%m/%d/%Y %I:%M %p", "%Y%m%d %H:%M:%S -0330", "%d-%b-%Y %H:%M",
    )]  # fmt: skip
    odd = [
        "",
        "x",
        "2026-02-30 10:00",
        "2026-03-01 24:00",
        "2026-03-01 10:61",
        "9" * 80,
        "٢٠٢٦-03-01 10:00",
        "1772373909",
    ]
    for format_ in FORMATS:
        seconds, ahead = read_block(Stamps(format_), stamps + odd)
        for text_, a, b in zip(stamps + odd, seconds, ahead, strict=True):
            found = Stamps(format_).read(text_)
            assert np.isnan(a) == (found is None)
            if found:
                assert a == pytest.approx(found[0], abs=1e-6)
                assert np.isnan(b) if found[1] is None else b == found[1]
