"""A whole visit through the pages in a second language, from the first page to the record, and every other page."""

import re
from collections.abc import Callable, Iterator
from functools import partial
from html.parser import HTMLParser
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.model.history import VisitEnd, VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.web.app import build
from diagnose.web.context import PageContext
from diagnose.web.exercises import ExerciseFolder
from diagnose.web.keeper import Doorkeeper
from diagnose.web.visits import Visits
from tests.web.tab import HOME, Tab
from tests.words.pseudo import CODE, plain_words

TOLD = ("aria-label", "alt", "title", "placeholder")  # attributes that are read out
SILENT = ("figure", "style")  # nothing in them is read as a sentence
NAMES = {"PDF", "JSON", "UTC", "gate", "diagnose"}  # of formats and of this program
CALLED = re.compile(r"\d{8}-\d{6}-\w+|\b[0-9a-f]{16}\b")  # an exercise by its own name, the knowledge by its digest
TYPED = "zzz qqq"  # what a person typed stays as it was typed


class Shown(HTMLParser):
    """What a page says, to the eye and to the ear; not what is drawn."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.said: list[str] = []
        self.language, self._drawn = "", 0
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.language = given.get("lang", self.language)
        self._drawn += tag in SILENT
        self.said += [given[name] for name in TOLD if name in given]

    def handle_endtag(self, tag: str) -> None:
        self._drawn -= tag in SILENT

    def handle_data(self, data: str) -> None:
        if not self._drawn:
            self.said.append(data)


def left(page: Shown) -> set[str]:
    """Words that are still English."""
    text = CALLED.sub("", " ".join(page.said))
    return set(plain_words(text)) - NAMES - set(plain_words(TYPED))


class Visitor(Tab):
    """Looks at every page it comes to."""

    def look(self) -> "Visitor":
        page = Shown(self.text)
        assert page.language == CODE
        assert left(page) == set(), (self.address, self.status)
        return self

    def open(self, address: str) -> "Visitor":
        super().open(address)
        return self.look()

    def send(self, form: object, **fields: str) -> "Visitor":
        super().send(form, **fields)  # type: ignore[arg-type]
        return self.look()


PAST = VisitRecord(
    id="2", began="2026-03-01T12:00:00+00:00", words=TYPED, complaint="ghost_opening", outcome=VisitEnd(causes=())
)


@pytest.fixture
def visitor(pseudo_kb: KnowledgeBase, tmp_path: Path) -> Callable[..., Visitor]:
    reasoner = Reasoner(pseudo_kb, partial(fixpoint, pseudo_kb))
    visits, exercises = Visits(reasoner, tmp_path / "visits"), ExerciseFolder(reasoner, tmp_path / "practice")

    def visitor(password: str = "") -> Visitor:
        context = PageContext(visits, Doorkeeper(password), lambda *_: (PAST,), exercises=exercises)
        return Visitor(TestClient(build(context, local=True), base_url=HOME))

    return visitor


def asked(shown: Tab) -> Iterator[str]:
    """The checks that are asked, one after the other, answered with the first option or a reading."""
    for _ in range(8):
        form = next((f for f in shown.forms() if f.fields.get("do") == "reply"), None)
        if form is None:
            return
        yield form.fields["check"]
        first = form.buttons[0][1] if form.buttons and form.buttons[0][1] else "1"
        shown.send(form, answer=first, keep=first)
        if shown.status == 422:  # out of its bounds
            shown.send(next(f for f in shown.forms() if ("answer", "skip") in f.buttons), answer="skip")


def test_a_visit_from_the_first_page_to_the_record(visitor: Callable[..., Visitor]) -> None:
    shown = visitor().open("/")
    shown.open("/start").send(next(f for f in shown.forms() if f.action == "/start"), do="begin")
    assert shown.status == 422
    shown.begin(site=TYPED, words=TYPED)
    address = shown.address
    assert len(list(asked(shown))) > 3
    for part in ("/answers", "/complaint", "/likely", "/sheet", "/record"):
        shown.open(address + part)
    shown.open(address)
    if any(f.fields.get("do") == "conclude" for f in shown.forms()):
        shown.do("conclude")
    cause = re.search(r'name="cause" value="(\w+)" required>', shown.text)
    assert cause
    shown.send(shown.form("repaired"), cause=cause[1], note=TYPED)
    shown.do("proved", passed="yes", reading=TYPED)
    assert shown.status == 200
    for item in [f.fields["item"] for f in shown.forms() if f.fields.get("do") == "ticked"][:2]:
        shown.send(next(f for f in shown.forms() if f.fields.get("item") == item), result="pass", reading=TYPED)
    shown.send(next(f for f in shown.forms() if f.fields.get("outcome") == "left_out"), reason=TYPED)
    assert 'class="stop"' in shown.text
    for part in ("/answers", "/record", "/record/customer.html", "/record/full.html"):
        shown.open(address + part)


def test_a_call_that_somebody_is_sent_for(visitor: Callable[..., Visitor]) -> None:
    shown = visitor().begin("stuck_open", role="help_desk", site=TYPED)
    next(asked(shown))
    other = Visitor(shown.client, shown.address)
    form = next(f for f in other.forms() if f.buttons and f.buttons[0][1])
    shown.do("conclude")
    other.send(form, answer=form.buttons[0][1])
    assert other.status == 409
    shown.send(next(f for f in shown.forms() if f.fields.get("outcome") == "dispatched"), reason=TYPED)
    assert shown.status == 200


def test_a_gate_that_is_not_safe_and_answers_that_are_refused(visitor: Callable[..., Visitor]) -> None:
    shown = visitor().begin()
    address, form = shown.address, next(f for f in shown.forms() if f.buttons)
    for check, typed in (("anyone_touched", TYPED), ("ctl_supply_marked", "500 V"), ("ctl_supply_marked", "8 V")):
        shown.send(form, check=check, answer=typed)
        assert shown.status == 422
    shown.send(form, check="anyone_touched", answer="touched")
    assert 'class="stop"' in shown.text
    shown.open(f"{address}/change/anyone_touched")
    shown.send(next(f for f in shown.forms() if f.buttons), check="gate_made_safe", answer="made_safe")
    shown.open(address).do("back")


def test_every_other_page(visitor: Callable[..., Visitor]) -> None:
    shown = visitor()
    for path in ("/takeover", "/history", "/history?q=x", "/nowhere", "/visit/none", "/?q=none"):
        shown.open(path)
    shown.open("/takeover").send(next(f for f in shown.forms() if f.action == "/takeover"))
    shown.open("/start").send(next(f for f in shown.forms() if f.action == "/start"), do="match", words=TYPED)
    shown.send(next(f for f in shown.forms() if f.action == "/start"), token="")
    assert shown.status == 403
    locked = visitor("correct horse").open("/")
    locked.send(locked.forms()[-1], password="wrong")
    assert locked.status == 401


def test_an_exercise_from_its_lesson_to_the_debrief(visitor: Callable[..., Visitor]) -> None:
    shown = visitor().open("/practice")
    form = next(f for f in shown.forms() if f.action == "/practice")
    shown.send(form, trainee=TYPED, seed="2")  # a gate without a device profile, whose words are a person's own
    address = shown.address
    shown.do("suspect", suspects=TYPED).do("hint")
    offered = re.search(r'href="(/practice/[^"]+/check/\w+)"', shown.text)
    assert offered
    shown.open(offered[1]).do("look")
    shown.open(f"{address}/repair").open(address).do("finish")
    assert shown.status == 200 and "<table>" in shown.text
    shown.open("/practice")
