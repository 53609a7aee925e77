"""Attacks that were tried against the running pages, and what once came of them."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from starlette.types import Message

from diagnose.cli.serve import run as serve
from diagnose.errors import VisitError
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Event, Reply
from diagnose.store.history.search import FolderSearch
from diagnose.store.journal import Journal, read
from diagnose.web import guard, visits
from diagnose.web.app import build
from tests.shipped import knowledge
from tests.web.tab import HOME, Form, Tab, client, context, events_in, tab
from tests.web.test_serve import options

FORM = "application/x-www-form-urlencoded"


def handed_over(folder: Path, *events: Event, site: str = "") -> bytes:
    folder.mkdir(exist_ok=True)
    with Journal.create(folder, datetime(2026, 3, 1)) as journal:
        for event in (Begin(Setup(), "ghost_opening", "opens alone", site, id="x"), *events):
            journal.append(event)
    return journal.path.read_bytes()


def taken_over(shown: Tab, data: bytes) -> Tab:
    form = next(f for f in shown.open("/takeover").forms() if f.action == "/takeover")
    answer = shown.client.post(
        "/takeover", data={**form.fields, "role": "technician", "by": ""}, files={"file": ("x.visit", data)}
    )
    shown.text, shown.status, shown.address = answer.text, answer.status_code, answer.url.path
    return shown


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "http://localhost:9", "null", "http://localhost:8000.evil"]
)
def test_a_form_of_another_address_is_refused_before_it_is_read(tmp_path: Path, origin: str) -> None:
    shown = tab(tmp_path).begin()
    form = next(f for f in shown.forms() if f.buttons)
    data = {**form.fields, "answer": form.buttons[0][1]}
    refused = shown.client.post(form.action, data=data, headers={"Origin": origin})
    assert refused.status_code == 403 and len(events_in(tmp_path, shown.address)) == 1
    assert shown.client.post(form.action, data=data, headers={"Origin": HOME}).status_code == 200
    assert len(events_in(tmp_path, shown.address)) == 2


@pytest.mark.parametrize("charset", ["punycode", "utf-7", "undefined", "unicode_escape"])
def test_a_form_in_a_strange_encoding_is_refused(tmp_path: Path, charset: str) -> None:
    body = b'--b\r\nContent-Disposition: form-data; name="token"\r\n\r\n+2AA-\\ud800\r\n--b--\r\n'
    kind = {"Content-Type": f"Multipart/Form-Data; boundary=b; Charset={charset}; x=utf-8"}
    assert client(tmp_path).post("/takeover", content=body, headers=kind).status_code == 415


@pytest.mark.parametrize("do", ["back", "reply", "conclude"])
def test_a_number_without_an_end_is_no_number(tmp_path: Path, do: str) -> None:
    shown = tab(tmp_path).begin()
    form = next(f for f in shown.forms() if f.buttons)
    shown.send(form, do=do, n="9" * 5000, answer=form.buttons[0][1])
    assert shown.status == 409 and len(events_in(tmp_path, shown.address)) == 1


def test_twenty_threads_with_one_form_are_one_answer(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    form = next(f for f in shown.forms() if f.buttons)
    with ThreadPoolExecutor(20) as threads:
        sent = threads.map(lambda _: _posted(shown, form, form.buttons[0][1]), range(20))
        assert set(sent) == {303}
    assert len(events_in(tmp_path, shown.address)) == 2


def test_of_different_answers_at_once_one_is_kept_and_the_others_are_told(tmp_path: Path) -> None:
    """Two servers on one folder: neither sends anybody away with 'open in another window'."""
    servers = [tab(tmp_path), tab(tmp_path)]
    address = servers[0].begin().address
    forms = [next(f for f in s.open(address).forms() if f.buttons) for s in servers]
    words = [value for _, value in forms[0].buttons]

    def send(number: int) -> tuple[int, str]:
        word, server = words[number % len(words)], number % 2
        return _posted(servers[server], forms[server], word), word

    with ThreadPoolExecutor(12) as threads:
        sent = list(threads.map(send, range(12)))
    (_, kept) = events_in(tmp_path, address)
    assert isinstance(kept, Reply)
    assert {(status, word == kept.value) for status, word in sent} == {(303, True), (409, False)}


def _posted(shown: Tab, form: Form, word: str) -> int:
    answer = shown.client.post(form.action, data={**form.fields, "answer": word}, follow_redirects=False)
    return int(answer.status_code)


def test_a_visit_that_stays_open_in_a_terminal_is_still_refused_soon(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(visits, "BUSY_PAUSE_S", 0.01)
    shown = tab(tmp_path).begin()
    form = next(f for f in shown.forms() if f.buttons)
    journal, _ = Journal.reopen(next(tmp_path.glob("*.visit")))
    with journal:
        shown.send(form, answer=form.buttons[0][1])
    assert shown.status == 422 and "open in another window" in shown.text


def test_a_take_over_that_fails_leaves_no_half_visit(tmp_path: Path) -> None:
    shown = taken_over(tab(tmp_path / "to"), b"no visit\n" * 20)
    assert shown.status == 422 and "Nothing can be read of this file" in shown.text
    assert not list(tmp_path.glob("to/*"))


def test_a_line_too_long_is_left_out_of_what_is_taken_over_and_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as generous:
        generous.setattr("diagnose.store.journal.MAX_LINE", 10**7)
        long = Reply("anyone_touched", "nobody", note="x" * 1_000_000)
        data = handed_over(tmp_path / "from", Reply("anyone_touched", "nobody"), long)
    shown = taken_over(tab(tmp_path / "to"), data)
    assert shown.status == 200 and "entry 3 is missing" in shown.text
    assert [len(read(path).events) for path in (tmp_path / "to").glob("*.visit")] == [3]


def test_a_site_of_half_characters_is_shown(tmp_path: Path) -> None:
    shown = taken_over(tab(tmp_path / "to"), handed_over(tmp_path / "from", site="Yard \ud800 7"))
    assert shown.status == 200 and "Yard 7" in shown.text
    assert "/history?place=Yard%207" in shown.text


@pytest.mark.parametrize("name", ["ü€", 'a";x="b', "a\r\nX-Evil: 1", "<b>"])
def test_the_name_of_a_download_is_one_word_of_its_header(tmp_path: Path, name: str) -> None:
    (tmp_path / f"{name}.visit").write_bytes(handed_over(tmp_path / "from"))
    from urllib.parse import quote

    for rest in ("handover", "record/full.json"):
        answer = client(tmp_path).get(f"/visit/{quote(name, safe='')}/{rest}")
        how, _, file = answer.headers["content-disposition"].partition('; filename="')
        assert answer.status_code == 200 and how == "attachment" and "x-evil" not in answer.headers
        assert file.endswith('"') and set(file[:-1]) <= set("abxXEvil1._-fuljsont")


def test_what_cannot_be_read_hides_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "away.visit").symlink_to(tmp_path / "nowhere")
    data = handed_over(tmp_path)
    search = FolderSearch(knowledge(), tmp_path, str(tmp_path / "history.db"))
    assert data and search("", "", "", 50) == ()  # made without this knowledge; and no OSError
    assert tab(tmp_path).open("/").status == 200


def test_a_certificate_that_cannot_be_used_is_said_at_once(tmp_path: Path) -> None:
    (tmp_path / "no.pem").write_text("no certificate")
    for given in ({"certificate": str(tmp_path / "none")}, {"certificate": str(tmp_path / "no.pem")}):
        with pytest.raises(VisitError, match="cannot use the certificate"):
            serve(options(tmp_path, **given))
    with pytest.raises(VisitError, match="--certificate"):
        serve(options(tmp_path, key=str(tmp_path / "no.pem")))


def test_a_body_that_never_comes_is_not_waited_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "FORM_WITHIN_S", 0.05)
    headers = [(b"host", b"localhost"), (b"content-type", FORM.encode()), (b"content-length", b"9")]
    scope: dict[str, Any] = {"type": "http", "method": "POST", "path": "/start", "headers": headers}
    said: list[Message] = []

    async def never() -> Message:
        await asyncio.sleep(20)
        return {"type": "http.request"}

    async def send(message: Message) -> None:
        said.append(message)

    scope |= {"query_string": b"", "client": None, "root_path": "", "scheme": "http", "server": ("localhost", 80)}
    with ThreadPoolExecutor(1) as apart:  # the browser's tests keep a loop running in this thread
        apart.submit(asyncio.run, build(context(tmp_path), local=True)(scope, never, send)).result()
    assert said[0]["status"] == 408
