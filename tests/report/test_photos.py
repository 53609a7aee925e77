"""Pictures in the record: inside the page and the PDF, with what they belong to; those that are not there said so."""

import json
from base64 import b64decode
from html import unescape
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from diagnose.cli import main
from diagnose.present.record import Record
from diagnose.present.sheet import sheet_of
from diagnose.report.drawers import drawers
from diagnose.session.events import Event, Pictured, Reply
from diagnose.session.session import conclude, replay
from diagnose.store.journal import Journal
from diagnose.store.photos import folder_of, keep, made, name_of, small
from tests.faults.test_crash_points import NOON
from tests.report.visits import HOSTILE, found, mending, opening, records_of
from tests.shipped import knowledge, reasoner
from tests.store.pictured import picture

LAMP, CABLE = made(picture((1600, 1200))), made(picture((300, 1200), colour="red"))
EVENTS: list[Event] = [
    *opening(),
    *found(),
    Pictured(name_of(LAMP), "answer", "power_lamp", "it flickers"),
    *mending()[:1],
    Pictured(name_of(CABLE), "proof", "long_thin_cable_drop"),
]
MISSING = "not beside this copy of the visit"


def records(more: tuple[Event, ...] = ()) -> tuple[Record, Record]:
    return records_of([*EVENTS, *more])


def test_the_record_names_each_picture_and_what_it_belongs_to() -> None:
    for record in records():
        lamp, cable = record.photos
        assert (lamp.name, lamp.says, lamp.by) == (name_of(LAMP), "it flickers", "no name given")
        assert lamp.belongs.endswith(" - flickers") or "flicker" in lamp.belongs
        assert knowledge().causes["long_thin_cable_drop"].says in cable.belongs
        assert json.loads(drawers({})["json"](record))["photos"][0]["name"] == lamp.name


def test_a_picture_of_an_answer_that_was_corrected_is_not_in_the_record() -> None:
    corrected = [*opening(), Reply("power_lamp", "flickers"), EVENTS[-3], Reply("power_lamp", "steady")]
    assert isinstance(EVENTS[-3], Pictured) and records_of(corrected)[1].photos == ()


def test_pictures_are_inside_the_page_and_nothing_is_asked_for_from_outside(tmp_path: Path) -> None:
    visit = tmp_path / "a.visit"
    keep(visit, LAMP)
    images = small(visit, (name_of(LAMP), name_of(CABLE)))
    page = drawers(images)["html"](records()[0]).decode()
    assert page.count("<img ") == 1 and page.count("data:image/jpeg;base64,") == 1 and page.count(MISSING) == 1
    inside = b64decode(page.split("base64,")[1].split('"')[0])
    assert Image.open(BytesIO(inside)).size == (800, 600)
    assert "img-src data:" in page and "it flickers" in page and name_of(CABLE) in page


def test_pictures_are_in_the_pdf() -> None:
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("reportlab")
    images = {name_of(LAMP): LAMP}
    pages = pypdf.PdfReader(BytesIO(drawers(images)["pdf"](records()[1]))).pages
    assert sum(len(page.images) for page in pages) == 1
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "it flickers" in text and MISSING in text


def test_what_is_said_of_a_picture_is_escaped() -> None:
    hostile = Pictured(name_of(CABLE), "visit", "", HOSTILE)
    page = drawers({name_of(CABLE): CABLE})["html"](records((hostile,))[1]).decode()
    assert "<script>alert" not in page and "alert(1)" in unescape(page)


def test_the_sheet_lists_the_pictures() -> None:
    session = replay(knowledge(), EVENTS)
    sheet = sheet_of(reasoner(), session, conclude(reasoner(), session))
    assert [line.split(":")[0] for line in sheet.photos] == [name_of(LAMP), name_of(CABLE)]
    assert sheet.photos[0].endswith("; it flickers")


def test_the_command_says_which_pictures_are_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with Journal.create(tmp_path / "visits", NOON) as journal:
        for event in EVENTS:
            journal.append(event)
    keep(journal.path, LAMP)
    line = ["record", "--visits", str(tmp_path / "visits"), "-o", str(tmp_path), "--html"]
    assert main(line) == 0
    said = "".join(capsys.readouterr().out.split())
    assert "Onepictureofthisvisitisnothere" in said and folder_of(journal.path).name in said
    assert "base64" in next(tmp_path.glob("*-customer.html")).read_text()
    keep(journal.path, CABLE)
    assert main([*line, "--force"]) == 0
    assert "not here" not in capsys.readouterr().out
