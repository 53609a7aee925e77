"""A browser tab without JavaScript: follows links, reads forms as they were drawn, sends them."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

from starlette.testclient import TestClient

from diagnose.model.history import VisitRecord
from diagnose.session.events import Event
from diagnose.session.session import salvage
from diagnose.session.state import Session
from diagnose.store.journal import read
from diagnose.web.app import build
from diagnose.web.context import PageContext
from diagnose.web.keeper import Doorkeeper
from diagnose.web.visits import Visits
from tests.shipped import knowledge, quick

HOME = "http://localhost:8000"


def nothing(_words: str, _place: str, _kind: str, _most: int) -> tuple[VisitRecord, ...]:
    return ()


def context(folder: Path, keeper: Doorkeeper | None = None, **more: object) -> PageContext:
    return PageContext(Visits(quick(), folder), keeper or Doorkeeper(), nothing, **more)  # type: ignore[arg-type]


@dataclass
class Form:
    """A form of a page: its address, its fields as drawn, and its buttons (name, value)."""

    action: str
    fields: dict[str, str] = field(default_factory=dict)
    buttons: list[tuple[str, str]] = field(default_factory=list)


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {k: v or "" for k, v in attrs}
        if tag == "form":
            self.forms.append(Form(given.get("action", "")))
        elif tag == "input" and "name" in given and self.forms:
            ticked = given.get("type") not in ("checkbox", "radio") or "checked" in given
            if ticked:
                self.forms[-1].fields[given["name"]] = given.get("value", "")
        elif tag == "button" and self.forms and "disabled" not in given and "name" in given:
            self.forms[-1].buttons.append((given["name"], given.get("value", "")))


class Tab:
    """One tab. `text` is the page it shows, `status` how it was answered."""

    def __init__(self, client: TestClient, address: str = "") -> None:
        self.client, self.text, self.status, self.address = client, "", 0, ""
        if address:
            self.open(address)

    def open(self, address: str) -> "Tab":
        answer = self.client.get(address)
        self.text, self.status, self.address = answer.text, answer.status_code, answer.url.path
        return self

    def singly(self) -> "Tab":
        """One question instead of several looks, where the page offers that."""
        return self.open(f"{self.address}?singly=1") if "?singly=1" in self.text else self

    def forms(self) -> list[Form]:
        reader = _Forms()
        reader.feed(self.text)
        return reader.forms

    def form(self, do: str) -> Form:
        """The first form of the page that does this."""
        return next(f for f in self.forms() if f.fields.get("do") == do)

    def send(self, form: Form, **fields: str) -> "Tab":
        answer = self.client.post(form.action, data={**form.fields, **fields})
        self.text, self.status, self.address = answer.text, answer.status_code, answer.url.path
        return self

    def do(self, do: str, **fields: str) -> "Tab":
        return self.send(self.form(do), **fields)

    def begin(self, complaint: str = "ghost_opening", role: str = "technician", **more: str) -> "Tab":
        """A new visit by its form."""
        form = next(f for f in self.open("/start").forms() if f.action == "/start")
        return self.send(form, do="begin", complaint=complaint, role=role, **more)

    @property
    def token(self) -> str:
        return next(f.fields["token"] for f in self.forms() if "token" in f.fields)


def client(folder: Path, **more: object) -> TestClient:
    return TestClient(build(context(folder, **more), local=True), base_url=HOME)  # type: ignore[arg-type]


def tab(folder: Path) -> Tab:
    return Tab(client(folder))


def events_in(folder: Path, address: str) -> tuple[Event, ...]:
    """What is on disk of the visit with this address."""
    return read(folder / f"{address.split('/')[2]}.visit").events


def session_in(folder: Path, address: str) -> Session:
    session, left_out = salvage(knowledge(), events_in(folder, address))
    assert not left_out
    return session
