"""Whole visits in a real browser; what the pages did is read back from the visit files."""

from playwright.sync_api import Page, expect

from diagnose.words import say
from tests.shipped import knowledge
from tests.web.browser.conftest import PHONE, Opener
from tests.web.browser.person import answer, answer_all, asked, begin, do, expect_heading, heading, press, tick_all
from tests.web.browser.served import Site
from tests.web.browser.tours import prepared, reading

WET_BOX = {
    "anyone_touched": "nobody", "gate_made_safe": "safe", "when_it_happens": "wet", "env_roofed": "open",
    "env_window_look": "clean", "env_after_it_stops": "stays_after", "lamp_clear": "clear",
    "env_wet_window_test": "stays_clear", "env_puddle_look": "no", "env_drip_look": "no",
    "input_clear": "comes_and_goes", "ctl_cabinet_look": "dry", "power_lamp": "steady",
    "wir_connector_look": "good", "wir_splice_look": "none", "wir_junction_look": "water",
}  # fmt: skip
WEB = {
    "anyone_touched": "nobody", "gate_made_safe": "safe", "mec_gate_kind": "sliding", "when_it_happens": "no_pattern",
    "recent_change": "nothing", "manual_command": "part_way", "fault_list": "nothing", "power_lamp": "steady",
    "lamp_clear": "comes_and_goes", "env_window_look": "web",
}  # fmt: skip


def repair_the_first(page: Page, note: str) -> None:
    page.locator("input[name=cause]").first.check()
    # On a call: the caller, where the remedy is one for him, or else a technician on site.
    doer = page.locator(":is([type=radio], [type=checkbox])[name=by]")
    if doer.count():
        doer.first.check()
    page.fill("#note", note)
    do(page, "repaired")


def test_a_technician_s_visit_from_the_list_to_closed(page: Page, site: Site) -> None:
    page.goto("/")
    page.get_by_role("link", name="New visit").last.click()
    name = begin(page, "ghost_opening", sensors=["laser"], site="invented depot")
    done = answer_all(page, WET_BOX)
    expect_heading(page, "Conclusion")
    leader = site.leader(name)
    expect(page.locator(".suspects > li").first).to_contain_text(leader)
    repair_the_first(page, "box dried, new seal")
    expect_heading(page, "Proof of the repair")
    page.fill("#reading", "120 Mohm core to core")
    press(page, "The proof passed")
    expect_heading(page, f"Proved: {leader}")
    assert tick_all(page) > 0
    do(page, "close", outcome="in_service")
    expect_heading(page, "Back in service")
    session = site.session(name)
    assert session.outcome == "in_service" and [a.check for a in session.given] == done
    assert {a.check: a.value for a in session.given if a.check in WET_BOX}.items() <= WET_BOX.items()
    page.goto("/")
    expect(page.locator(".visits")).to_contain_text("invented depot")


def test_a_call_is_solved_on_the_phone_in_plain_words(page: Page, site: Site) -> None:
    name = begin(page, "nuisance_reversal", "help_desk", ["photo_eye"], "invented allotments")
    seen: list[str] = []
    while "env_window_look" not in seen:
        check = asked(page)
        assert knowledge().checks[check].ask_caller in heading(page), check
        seen.append(check)
        answer(page, WEB.get(check, "dont_know"))
    do(page, "conclude")
    expect_heading(page, "Conclusion")
    repair_the_first(page, "the caller took the web away with a long soft brush")
    page.fill("#reading", "light steady for five minutes")
    press(page, "The proof passed")
    expect_heading(page, "Proved")
    page.get_by_text(say("present.end_proof_owed")).click()
    for field, said in (("by", "the site's technician"), ("due", "2026-12-03"), ("meanwhile", "the gate stays open")):
        page.fill(f"#end-proof_owed-{field}", said)
    do(page, "close", outcome="proof_owed")
    expect_heading(page, "Works again")
    assert site.session(name).end.due == "2026-12-03"


def test_a_sent_visit_is_taken_over_in_the_same_browser_and_opened_again(page: Page, site: Site) -> None:
    name = begin(page, "stuck_open", "help_desk", ["laser"], "invented car park")
    answer(page, "nobody" if asked(page) == "anyone_touched" else "safe")
    do(page, "conclude")
    end_as_sent(page)
    page.get_by_text(say("web.takes_over")).click()
    page.fill("#over-by", "Ben Invented")
    do(page, "take_over")
    assert (site.session(name).by, site.session(name).setup.role) == ("Ben Invented", "technician")
    page.goto(f"/visit/{name}")
    do(page, "conclude")
    page.get_by_text(say("present.end_left_out")).click()
    page.fill("#end-left_out-reason", "no part")
    do(page, "close", outcome="left_out")
    do(page, "reopen")
    assert [end.outcome for end in site.session(name).earlier] == ["dispatched", "left_out"]


def end_as_sent(page: Page) -> None:
    page.get_by_text(say("present.end_dispatched")).click()
    page.fill("#end-dispatched-reason", "the caller cannot look behind covers")
    do(page, "close", outcome="dispatched")


def test_a_call_ends_with_a_sheet_for_whoever_is_sent(page: Page, site: Site) -> None:
    name = begin(page, "stuck_open", "help_desk", ["laser"], "invented car park")
    answer(page, "nobody" if asked(page) == "anyone_touched" else "safe")
    do(page, "conclude")
    end_as_sent(page)
    expect(page.get_by_role("heading", name="First checks on arrival")).to_be_visible()
    assert site.session(name).outcome == "dispatched"


def test_stop_work_comes_first_and_stays_until_confirmed(page: Page, site: Site) -> None:
    name = begin(page, "nuisance_reversal", sensors=["edge"])
    assert page.locator(".stop").count() == 0
    answer_all(page, {"gate_made_safe": "safe"}, stop_at="anyone_touched")
    answer(page, "touched")
    order = page.locator(".stop")
    expect(order).to_be_visible()
    expect(order).to_contain_text("STOP WORK")
    expect(order).to_contain_text("NOT CONFIRMED SAFE YET")
    box, question = order.bounding_box(), page.locator("h1").bounding_box()
    assert box and question and box["y"] < question["y"] and box["y"] < PHONE["height"]
    while (check := asked(page)) != "gate_made_safe":
        assert not knowledge().checks[check].runs_gate
        answer(page, "dont_know")
    answer(page, "made_safe")
    expect(page.locator(".stop")).to_have_count(0)
    expect(page.locator(".stands")).to_contain_text("still stands")
    for _ in range(6):
        check = asked(page)
        assert not knowledge().checks[check].runs_gate, check
        answer(page, "dont_know")
    do(page, "conclude")
    page.get_by_text(say("present.end_left_out")).click()
    page.fill("#end-left_out-reason", "edge dead, gate chained open, motor isolated")
    do(page, "close", outcome="left_out")
    expect(page.locator(".stop")).to_contain_text("OUT OF SERVICE")
    assert site.session(name).outcome == "left_out"


def test_back_and_change(page: Page, site: Site) -> None:
    name = begin(page, "ghost_opening", sensors=["laser"])
    done = answer_all(page, WET_BOX, stop_at="env_after_it_stops")
    assert asked(page) == "env_after_it_stops"
    do(page, "back")
    assert asked(page) == done[-1] and [a.check for a in site.session(name).given] == done[:-1]
    page.get_by_role("link", name="Answers").click()
    page.locator("a[href$='/change/when_it_happens']").click()
    expect(page.locator(".meta b").first).to_be_visible()
    answer(page, "always")
    expect_heading(page, "Answers so far")
    session = site.session(name)
    changed = session.answer("when_it_happens")
    assert changed and changed.value == "always" and {a.check for a in session.given} == set(done[:-1])


def test_a_reload_in_the_middle_loses_and_repeats_nothing(page: Page, site: Site) -> None:
    name = begin(page, "dead_indicators", sensors=["laser"])
    for _ in range(4):
        answer(page, "dont_know")
    before, check = site.session(name), asked(page)
    page.reload()
    assert asked(page) == check and site.session(name) == before
    page.go_back()
    page.reload()
    assert asked(page) == check and site.session(name) == before


def test_a_doubtful_reading_is_asked_again_with_what_was_typed(page: Page, site: Site) -> None:
    name = prepared(site, reading, "zone_wrong", "radar")
    page.goto(f"/visit/{name}")
    check = knowledge().checks[asked(page)]
    assert check.plausible and check.hard and check.plausible[1] < check.hard[1]
    answer(page, "a fair bit")
    expect(page.get_by_role("alert").filter(has_text="Not understood")).to_be_visible()
    assert page.input_value("#reading") == "a fair bit" and asked(page) == check.id
    page.fill("#reading", f"{check.hard[1]:g} {check.unit}")
    with page.expect_navigation():
        page.press("#reading", "Enter")
    press(page, "Keep ")
    given = site.session(name).answer(check.id)
    assert given and given.value == check.hard[1]


def test_it_works_without_javascript(opener: Opener, site: Site) -> None:
    page = opener(java_script_enabled=False)
    name = begin(page, "ghost_opening", sensors=["laser"], site="invented mill")
    answer_all(page, WET_BOX, stop_at="env_roofed")
    do(page, "conclude")
    repair_the_first(page, "done as listed")
    press(page, "The proof passed")
    assert tick_all(page) > 0
    do(page, "close", outcome="in_service")
    assert site.session(name).outcome == "in_service"
