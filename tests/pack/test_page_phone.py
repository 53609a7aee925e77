"""A call on the offline page: the caller's own part, and his repair noted as his."""

from pathlib import Path

from playwright.sync_api import Browser

from diagnose.session.events import Event, Repaired
from diagnose.words import say
from tests.pack.page import opened
from tests.pack.records import presented
from tests.pack.walk import answer, begin
from tests.shipped import knowledge
from tests.terminal.test_phone import WEB, call_events


def test_what_is_for_the_caller_stands_first_and_holds_whatever_leads(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "stuck_open", ["laser"], role="help_desk")
    answer(tab, "nobody and nothing")
    tab.click("text=Conclude now")
    text = tab.inner_text("#main")
    places = [text.index(says) for says in (say("present.for_caller"), say("present.meanwhile"))]
    assert places == sorted(places) and places[-1] < text.index("Conclusion\n")
    for says in knowledge().complaints["stuck_open"].meanwhile:
        assert says in text


def test_who_did_it_may_be_the_caller_and_his_proof_is_owed(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    events: list[Event] = [*call_events(), Repaired(WEB, by="caller")]
    named = {
        c["cause"]: [d["by"] for d in c["doers"]] for c in presented(tab, call_events(), [])["next"]["candidates"]
    }
    assert named[WEB] == ["caller", "technician"]
    web = knowledge().causes[WEB].caller
    assert web and presented(tab, events, [])["owed"]["proof"] == web.proof
