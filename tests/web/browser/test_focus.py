"""Where a page puts the reader: at what is wrong, at the next thing to do, and never past a warning."""

from playwright.sync_api import Page, expect

from diagnose.session.events import Close, Conclude, Proved, Repaired, Reply
from diagnose.words import say
from tests.shipped import knowledge
from tests.web.browser.person import answer, do, expect_heading, tap
from tests.web.browser.served import Site
from tests.web.browser.tours import after, prepared

MENDED = (Conclude(), Repaired("animals_birds"), Proved(True, "none seen for an hour"))
MADE_SAFE = (Reply("anyone_touched", "nearly"), Reply("gate_made_safe", "made_safe"))


def test_a_reading_not_understood_is_in_sight_below_a_caution(page: Page, site: Site) -> None:
    check = next(c for c in knowledge().checks.values() if c.kind == "quantity" and c.cautions)
    name = prepared(site, after(0), "stuck_open", "laser", Reply(check.id, "dont_know"))
    page.goto(f"/visit/{name}/change/{check.id}")
    answer(page, "a fair bit")
    expect(page.locator("main > .caution")).not_to_have_count(0)
    expect(page.locator(".wrong")).to_be_focused()
    expect(page.locator(".wrong")).to_be_in_viewport(ratio=1.0)


def test_a_conclusion_is_read_from_its_heading(page: Page, site: Site) -> None:
    page.goto(f"/visit/{prepared(site, after(3), 'ghost_opening', 'laser', Conclude())}")
    expect(page.locator(".suspects .caution")).not_to_have_count(0)
    expect(page.locator("h1")).to_be_focused()


def test_ticking_goes_on_at_the_next_line_and_ends_at_the_closing(page: Page, site: Site) -> None:
    page.goto(f"/visit/{prepared(site, after(3), 'ghost_opening', 'laser', *MADE_SAFE, *MENDED)}")
    lines = page.locator("form.line.open")
    left = lines.count()
    assert left > 1
    for still in range(left - 1, -1, -1):
        lines.first.locator("input[name=reading]").fill("seen")
        tap(lines.first.locator("button[value=pass]"))
        expect(lines).to_have_count(still)
        expect(page.locator("#next")).to_be_in_viewport()
        expect(page.locator("#next")).to_be_focused()
    expect(page.locator("#next button")).to_have_text(say("web.end_so"))
    do(page, "close", outcome="in_service")
    expect_heading(page, "Back in service")
    expect(page.locator(".stands")).to_contain_text("Stop-work was given on this visit")


def test_a_line_that_failed_is_not_passed_over(page: Page, site: Site) -> None:
    page.goto(f"/visit/{prepared(site, after(3), 'ghost_opening', 'laser', *MADE_SAFE, *MENDED)}")
    tap(page.locator("form.line.open button[value=fail]").first)
    assert "#" not in page.url


def test_nothing_is_passed_over_while_the_gate_is_not_safe(page: Page, site: Site) -> None:
    unsafe = Reply("anyone_touched", "touched")
    page.goto(f"/visit/{prepared(site, after(0), 'ghost_opening', 'laser', unsafe, Conclude())}")
    line = page.locator("form.line.open").first
    line.locator("input[name=reading]").fill("seen")
    tap(line.locator("button[value=pass]"))
    expect(page.locator("#next")).to_have_count(0)
    expect(page.locator(".stop")).to_be_in_viewport()
    expect(page.locator(".stop")).to_be_focused()


def test_the_sheet_carries_the_stop_work_and_its_tag(page: Page, site: Site) -> None:
    sent = Close("dispatched", "the caller cannot look behind covers")
    name = prepared(site, after(3), "nuisance_reversal", "photo_eye", *MADE_SAFE, Conclude(), sent, role="help_desk")
    order = knowledge().cautions["stop_contact"]
    for address in (f"/visit/{name}", f"/visit/{name}/sheet"):
        page.goto(address)
        expect(page.get_by_text(order.says)).to_be_visible()
        expect(page.get_by_text(f"Tag: {order.tag}")).to_be_visible()
