"""Lists, records, hand-over and take-over, history."""

import json
import time
from datetime import datetime, timedelta
from html import unescape
from pathlib import Path

import pytest

from diagnose.model.history import VisitEnd, VisitRecord
from diagnose.model.visit import Earlier, Setup
from diagnose.session.events import Begin, Event, Reply, TakeOver
from diagnose.store.journal import Journal, read
from tests.report.visits import found, opening
from tests.shipped import knowledge
from tests.web.tab import Tab, client, events_in, session_in, tab


def kept(folder: Path, events: list[Event], when: datetime | None = None) -> str:
    with Journal.create(folder, when or datetime(2026, 3, 1, 12)) as journal:
        for event in events:
            journal.append(event)
        return journal.path.stem


def many(folder: Path, count: int) -> None:
    complaints = list(knowledge().complaints)
    for n in range(count):
        begin = Begin(Setup(), complaints[n % len(complaints)], "", f"Yard {n}", knowledge().digest)
        answers: list[Event] = [Reply(c, "dont_know") for c in list(knowledge().checks)[:10]]
        kept(folder, [begin, *answers], datetime(2026, 3, 1) + timedelta(minutes=n))


def test_200_visits_are_listed_page_by_page_newest_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.fsync", lambda _: None)  # only to make the files quickly
    many(tmp_path, 200)
    shown = tab(tmp_path)
    began = time.perf_counter()
    shown.open("/")
    assert time.perf_counter() - began < 1.0
    assert "Yard 199" in shown.text and "Yard 175" in shown.text and "Yard 174<" not in shown.text
    pages = "".join(shown.open(f"/?page={number}").text for number in range(1, 9))
    assert [n for n in range(200) if f"Yard {n}<" not in pages] == []
    assert "No visits yet" in shown.open("/?page=9").text
    assert "Yard 123<" in shown.open("/?q=YARD+123").text and "Yard 124<" not in shown.text
    assert shown.open("/?page=x&q=" + "w" * 5000).status == 200


def test_record_in_every_version_and_format(tmp_path: Path) -> None:
    name, served = kept(tmp_path, [*opening(), *found()]), client(tmp_path)
    assert Tab(served, f"/visit/{name}/record").status == 200
    for version in ("customer", "full"):
        page = served.get(f"/visit/{name}/record/{version}.html")
        assert page.status_code == 200 and "script-src" not in page.headers["content-security-policy"]
        assert "default-src 'none'" in page.headers["content-security-policy"]
        plain = json.loads(served.get(f"/visit/{name}/record/{version}.json").content)
        assert plain["version"] == version and plain["complaint"] in unescape(page.text)
        assert served.get(f"/visit/{name}/record/{version}.pdf").content.startswith(b"%PDF")
    for wrong in ("other.html", "full.exe", "full.", ".html"):
        assert served.get(f"/visit/{name}/record/{wrong}").status_code in (404, 422)


def test_what_is_handed_over_is_the_file_and_can_be_taken_over(tmp_path: Path) -> None:
    here, there = tmp_path / "desk", tmp_path / "van"
    begin = Begin(Setup("help_desk"), "ghost_opening", "it opens alone", "Invented yard", knowledge().digest, "id-1")
    name = kept(here, [begin, Reply("anyone_touched", "nobody"), Reply("when_it_happens", "wet", sure=False)])
    handed = client(here).get(f"/visit/{name}/handover")
    assert handed.content == (here / f"{name}.visit").read_bytes()
    assert f'filename="{name}.visit"' in handed.headers["content-disposition"]
    there.mkdir()
    shown = taken_over(tab(there), handed.content)
    assert shown.address.endswith("/answers") and shown.text.count("Confirm<") == 2
    events = events_in(there, shown.address)
    assert events[:3] == read(here / f"{name}.visit").events
    assert isinstance(events[3], TakeOver) and events[3].by == "A. Tester" and events[3].setup.electrician
    shown.send(next(f for f in shown.forms() if "confirm" in f.fields))
    assert events_in(there, shown.address)[4] == Reply("anyone_touched", "nobody")
    assert shown.address.endswith("/answers") and shown.text.count("Confirm<") == 1
    shown.open(shown.address.replace("/answers", "/change/when_it_happens"))
    shown.send(next(f for f in shown.forms() if f.buttons), answer="always")
    answer = session_in(there, shown.address).answer("when_it_happens")
    assert answer and answer.value == "always" and answer.replaced == Earlier("wet", "caller")
    assert "Confirm<" not in shown.text and "replaces: in rain" in shown.text


def taken_over(shown: Tab, data: bytes, name: str = "../../x.visit", role: str = "electrician") -> Tab:
    token = shown.open("/takeover").token
    fields = {"token": token, "role": role, "by": "A. Tester"}
    answer = shown.client.post("/takeover", data=fields, files={"file": (name, data)})
    shown.text, shown.status, shown.address = answer.text, answer.status_code, answer.url.path
    return shown


@pytest.mark.parametrize("data", [b"", b"\x00\xff", b"{}\n", b"[" * 100_000, b'{"v":1,"n":1}\n'])
def test_a_file_that_is_no_visit_is_refused_and_nothing_is_kept(tmp_path: Path, data: bytes) -> None:
    shown = taken_over(tab(tmp_path), data)
    assert shown.status == 422 and 'role="alert"' in shown.text
    assert list(tmp_path.glob("**/*.visit*")) == []


def test_a_half_visit_and_a_missing_role_are_refused(tmp_path: Path) -> None:
    name = kept(tmp_path / "a", [*opening(), *found()])
    data = (tmp_path / "a" / f"{name}.visit").read_bytes()
    (tmp_path / "b").mkdir()
    cut = taken_over(tab(tmp_path / "c"), data[:-30])
    assert cut.status == 200 and " is missing; " in cut.text
    assert taken_over(tab(tmp_path / "b"), data, role="owner").status == 422
    assert taken_over(tab(tmp_path / "b"), data).status == 200
    assert len(list((tmp_path / "b").glob("*.visit"))) == 1


def test_history_asks_what_the_form_says(tmp_path: Path) -> None:
    asked: list[tuple[str, str, str, int]] = []
    end = VisitEnd(causes=("gone_since", "laser_window_dirty"), proof_passed=True, in_service=True, note="cleaned")
    past = VisitRecord(id="x", began="2026-03-01T12:00:00+00:00", site="<i>Yard</i>", complaint="gone", outcome=end)

    def search(words: str, place: str, kind: str, most: int) -> tuple[VisitRecord, ...]:
        asked.append((words, place, kind, most))
        return (past,) * most

    from dataclasses import replace

    from starlette.testclient import TestClient

    from diagnose.web.app import build
    from tests.web.tab import HOME, context

    shown = Tab(TestClient(build(replace(context(tmp_path), search=search), local=True), base_url=HOME))
    assert shown.open("/history").status == 200 and not asked
    shown.open("/history?q=wet+window&place=yard&kind=laser")
    assert asked == [("wet window", "yard", "laser", 51)]
    assert "&lt;i&gt;Yard" in shown.text and "gone since" in shown.text and "proof passed" in shown.text
    assert "50 visits, the newest; more fit" in shown.text


def test_free_words_find_complaints_and_everything_typed_stays(tmp_path: Path) -> None:
    shown = tab(tmp_path).open("/start")
    form = next(f for f in shown.forms() if f.action == "/start")
    shown.send(form, do="match", words="it opens when nobody is there", site="Yard <3", role="help_desk")
    text = unescape(shown.text)
    assert shown.text.index("ghost_opening") < shown.text.index("stuck_open")
    assert 'value="it opens when nobody is there"' in text and 'value="Yard <3"' in text
    assert 'value="help_desk" checked' in text and not list(tmp_path.iterdir())
    for missing in ({"role": "technician"}, {"complaint": "ghost_opening"}, {"role": "x", "complaint": "y"}):
        shown.send(form, do="begin", **missing)
        assert shown.status == 422 and not list(tmp_path.iterdir())


def test_sensors_tools_licence_and_profiles_reach_the_visit(tmp_path: Path) -> None:
    profiles = {"device": {"demo_device": "demo_device"}, "site": {"demo_site": "demo_site"}}
    shown = Tab(client(tmp_path, profiles=profiles), "/start")
    assert "demo_device" in shown.text
    data = {"token": shown.token, "do": "begin", "role": "electrician", "complaint": "ghost_opening"}
    more = {"sensor": ["loop", "laser", "nonsense"], "missing": ["ladder"], "device": "demo_device", "place": "../x"}
    answer = shown.client.post("/start", data={**data, **more})
    setup = session_in(tmp_path, answer.url.path).setup
    assert setup.devices == ("laser", "loop") and setup.electrician and setup.role == "technician"
    assert setup.tools == frozenset(knowledge().tools) - {"ladder"}
    assert {k.partition(".")[0] for k in setup.profile} <= {"device", "lamp"} and setup.profile
