"""One page of every kind, opened on a visit that has come as far as that page needs."""

from collections.abc import Callable, Mapping
from datetime import datetime

from playwright.sync_api import Page

from diagnose.model.knowledge import Check
from diagnose.model.visit import Role, Setup
from diagnose.session.events import Begin, Close, Conclude, Event, Proved, Repaired, Reply
from diagnose.session.session import conclude, step
from diagnose.store.journal import Journal
from tests.shipped import knowledge, reasoner
from tests.web.browser.person import answer
from tests.web.browser.served import Site

SAFE = {"anyone_touched": "nobody", "gate_made_safe": "safe"}
Go = Callable[[Page, Site], object]
Enough = Callable[[Check, int], bool]


def reading(check: Check, _given: int) -> bool:
    return check.kind == "quantity"


def at(name: str) -> Enough:
    return lambda check, _given: check.id == name


def after(count: int) -> Enough:
    return lambda _check, given: given >= count


def prepared(
    site: Site, enough: Enough, complaint: str, device: str, *more: Event, role: Role = "technician", place: str = ""
) -> str:
    """A visit on disk, answered without knowing anything until it is enough; its name."""
    events: list[Event] = [Begin(Setup(role, devices=(device,)), complaint, "", place, knowledge().digest)]
    session = step(knowledge(), None, events[0])
    while (check := conclude(reasoner(), session).next.check) and not enough(
        knowledge().checks[check], len(events) - 1
    ):
        events.append(Reply(check, SAFE.get(check, "dont_know")))
        session = step(knowledge(), session, events[-1])
    with Journal.create(site.visits, datetime.now()) as journal:
        for event in (*events, *more):
            journal.append(event)
        return journal.path.stem


def of_technician(*more: Event, address: str = "") -> Go:
    def go(page: Page, site: Site) -> None:
        name = prepared(site, after(3), "ghost_opening", "laser", *more, place="invented depot")
        page.goto(f"/visit/{name}{address}")

    return go


def of_call(*more: Event) -> Go:
    def go(page: Page, site: Site) -> None:
        place = "invented allotments"
        name = prepared(site, after(3), "nuisance_reversal", "photo_eye", *more, role="help_desk", place=place)
        page.goto(f"/visit/{name}")

    return go


def _list(page: Page, site: Site) -> None:
    prepared(site, after(1), "stuck_open", "laser", place="invented yard")
    page.goto("/")


def _reading(page: Page, site: Site) -> None:
    page.goto(f"/visit/{prepared(site, reading, 'zone_wrong', 'radar')}")
    answer(page, "a fair bit")
    while (shut := page.locator("main details:not([open]) > summary")).count():
        shut.first.click()


def _stop_work(page: Page, site: Site) -> None:
    page.goto(f"/visit/{prepared(site, at('anyone_touched'), 'nuisance_reversal', 'edge')}")
    answer(page, "touched")


def plain(address: str) -> Go:
    return lambda page, _site: page.goto(address)


PAGES: Mapping[str, Go] = {
    "list": _list,
    "start": plain("/start"),
    "question": of_technician(),
    "reading": _reading,
    "call": of_call(),
    "stop_work": _stop_work,
    "answers": of_technician(address="/answers"),
    "likely": of_technician(address="/likely"),
    "record": of_technician(address="/record"),
    "sheet": of_technician(address="/sheet"),
    "complaint": of_technician(address="/complaint"),
    "change": of_technician(address="/change/anyone_touched"),
    "conclusion": of_technician(Conclude()),
    "proof": of_technician(Conclude(), Repaired("animals_birds")),
    "proved": of_technician(Conclude(), Repaired("animals_birds"), Proved(True, "none seen for an hour")),
    "closed": of_technician(Conclude(), Close("left_out", "no spare on the van")),
    "sent": of_call(Conclude(), Close("dispatched", "the caller cannot look behind covers")),
    "take_over": plain("/takeover"),
    "history": plain("/history?q=invented"),
    "not_found": plain("/visit/nothing_here"),
}
