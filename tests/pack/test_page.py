"""The page as a person meets it, in headless Chromium, from the disk."""

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, Request, expect

from diagnose.session.session import conclude
from diagnose.words import say
from tests.pack.page import opened, packed
from tests.pack.walk import answer, begin, save_file, singly
from tests.shipped import begun, knowledge, reasoner

HOSTILE = '"><img src=x onerror=document.title="broken"><script>document.title="broken"</script>{{7*7}} </title>'
NO_STORAGE = """Object.defineProperty(window, 'localStorage', { get() { throw new Error('denied'); } });"""


def question(tab: Page) -> str:
    singly(tab)
    return tab.inner_text("h2#top")


def test_the_page_is_one_small_file(whole_page: Path) -> None:
    assert whole_page.stat().st_size < 2_500_000  # 476 causes; 0.7 MB as a server would send it
    text = whole_page.read_text("utf-8")
    outside = re.findall(r"(?:src|href|action)\s*=\s*[\"']?(?!#)[^\"'>\s]+", text.split("<script type=")[0])
    assert outside == []


def test_nothing_is_asked_of_any_network(browser: Browser, whole_page: Path) -> None:
    asked: list[str] = []
    context = browser.new_context(offline=True)
    tab = context.new_page()

    def noted(request: Request) -> None:
        if not request.url.startswith(("file:", "blob:", "data:")):
            asked.append(request.url)

    tab.on("request", noted)
    tab.goto(whole_page.as_uri())
    begin(tab, "ghost_opening", ["laser"])
    for _ in range(6):
        answer(tab, None)
    tab.click("text=Conclude now")
    tab.wait_for_selector("text=What next")
    assert asked == []
    context.close()


def test_its_policy_lets_nothing_else_run(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    tab.evaluate(
        "() => { const s = document.createElement('script'); s.textContent = 'document.title = \"broken\"';"
        " document.body.append(s); }"
    )
    assert tab.title().startswith("Vehicle-sensor")
    with pytest.raises(Exception, match="Failed to fetch"):
        tab.evaluate("() => fetch('https://gate.invalid/')")


def test_the_first_question_is_the_engine_s(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening")
    first = knowledge().checks[conclude(reasoner(), begun("ghost_opening")).next.check]
    assert question(tab) == f"1. {first.ask}"


def test_a_reload_in_the_middle_keeps_every_answer(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"], site="invented site")
    for _ in range(4):
        answer(tab, None)
    before = question(tab)
    tab.reload()
    tab.wait_for_selector("text=Hand over this visit")
    assert question(tab) == before and before.startswith("5. ")
    tab.click("text=All visits")
    assert "invented site" in tab.inner_text(".visits") and "4 answers" in tab.inner_text(".visits")


def test_back_change_and_keep(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"])
    first = question(tab)
    answer(tab, "nobody and nothing")
    tab.click("text=Back")
    assert question(tab) == first
    answer(tab, "nobody and nothing")
    second = question(tab)
    tab.click("summary:has-text('Answers so far')")
    tab.click("button:has-text('Change') >> nth=-1")
    assert question(tab) == first and "Now: nobody and nothing." in tab.inner_text(".card")
    tab.click("text=Keep it")
    assert question(tab) == second


def test_stop_work_comes_before_everything_else(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"])
    answer(tab, "yes")
    assert tab.inner_text("#main > :first-child").startswith("STOP WORK")
    assert "NOT CONFIRMED SAFE YET" in tab.inner_text("#main > :first-child")
    made_safe = knowledge().checks[knowledge().settings.made_safe_check]
    assert question(tab) == f"2. {made_safe.ask}"
    tab.locator(".options button").filter(has_text=made_safe.options["made_safe"]).click()
    assert tab.inner_text("#main > :first-child").startswith("Stop-work still stands")
    tab.click("text=Conclude now")
    tab.click("summary:has-text('Return to service')")
    expect(tab.locator("div.card.due").first).to_be_visible()  # the list is filled once it has unfolded
    while (due := tab.locator("div.card.due")).count():
        tick_off(due.first)
    tab.locator("button.due").click()
    assert tab.inner_text("#main > :first-child").startswith("Stop-work was given on this visit")


def concluded(browser: Browser, page: Path, touched: str) -> Page:
    """A visit that is concluded after its first question."""
    tab = opened(browser, page)
    begin(tab, "ghost_opening", ["laser"])
    answer(tab, touched)
    tab.click("text=Conclude now")
    return tab


def tick_off(line: Locator) -> None:
    line.locator("input").fill("seen")
    line.locator("button:has-text('Pass')").click()


def test_a_protective_line_is_not_passed_bare_and_the_list_stays_open(browser: Browser, whole_page: Path) -> None:
    tab = concluded(browser, whole_page, "yes")
    tab.click("summary:has-text('Return to service')")
    bare = tab.locator("div.card.due").filter(has=tab.locator("b")).first
    bare.locator("button:has-text('Pass')").click()
    expect(tab.locator("#status")).to_contain_text(say("session.no_reading_for_pass"))
    expect(bare.locator("button:has-text('Pass')")).to_have_attribute("aria-pressed", "false")
    expect(bare).to_be_visible()


def ask_quantity(tab: Page, check: str) -> None:
    """Jump to a check by way of 'change': a stored visit in which it was answered."""
    plain = {"event": "reply", "check": check, "value": "dont_know"}
    tab.evaluate(
        "(event) => { const key = Object.keys(localStorage).find((k) => k.includes('visit.'));"
        " const text = localStorage.getItem(key); const n = text.trim().split('\\n').length + 1;"
        " const line = gateDiagnose.journalLine(event, n, '2026-11-25T10:00:00+00:00');"
        " localStorage.setItem(key, text + line + '\\n'); }",
        plain,
    )
    tab.reload()
    tab.wait_for_selector("text=Hand over this visit")
    tab.click("summary:has-text('Answers so far')")
    tab.click("button:has-text('Change') >> nth=-1")


def test_a_reading_is_read_questioned_and_refused(browser: Browser, whole_page: Path) -> None:
    context = browser.new_context()
    tab = context.new_page()
    tab.goto(whole_page.as_uri())
    begin(tab, "ghost_opening", ["laser"])
    ask_quantity(tab, "sup_volts_sensor")
    typed, send = tab.get_by_label("for example"), tab.locator("button[type=submit] >> text=Answer")
    typed.fill("1,234")
    send.click()
    assert "can be read two ways" in tab.inner_text("#problem")
    typed.fill("100000 V")
    send.click()
    assert "cannot be right here" in tab.inner_text("#problem")
    typed.fill("100 V")
    send.click()
    assert "unusual here" in tab.inner_text("#problem")
    typed.fill("980 mV")
    send.click()
    tab.wait_for_function("() => document.getElementById('status').textContent.includes('980 mV')")
    assert '"value":0.98' in save_file(tab, whole_page.parent).read_text()
    context.close()


def test_hostile_text_stays_text(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"], site=HOSTILE, words=HOSTILE)
    tab.click("text=Conclude now")
    tab.click("summary:has-text('A remedy has been carried out')")
    tab.get_by_label("What was done").fill(HOSTILE)
    tab.click("text=Note the repair")
    tab.get_by_label("What did you see").fill(HOSTILE)
    tab.click("text=Proof passed")
    left_out = tab.locator("details").filter(has_text=say("present.end_left_out")).last
    left_out.locator("summary").click()
    left_out.locator("input").first.fill(HOSTILE)
    left_out.get_by_role("button", name=say("page.end_so")).click()
    assert HOSTILE in tab.inner_text("#main") and "LEFT OUT OF SERVICE" in tab.inner_text("#main")
    tab.click("text=All visits")
    assert HOSTILE in tab.inner_text("#main")
    assert tab.title().startswith("Vehicle-sensor") and tab.query_selector("main img, main script") is None


def test_a_repair_its_proof_and_the_return_to_service(browser: Browser, whole_page: Path) -> None:
    tab = concluded(browser, whole_page, "nobody and nothing")
    tab.click("summary:has-text('A remedy has been carried out')")
    tab.click("text=Note the repair")
    tab.click("text=Proof failed")
    assert re.match(r"\d+\. ", question(tab))
    tab.click("text=Conclude now")
    tab.click("summary:has-text('A remedy has been carried out')")
    tab.click("text=Note the repair")
    tab.click("text=Proof passed")
    while (due := tab.locator("div.card.due")).count():
        tick_off(due.first)
        expect(tab.locator(".due").first).to_be_focused()
        expect(tab.locator(".due").first).to_be_in_viewport()
    tab.locator("button.due").click()
    assert question(tab) == "Back in service."
    tab.get_by_role("button", name="Back", exact=True).click()
    assert "Return to service" in tab.inner_text("#main")


def test_two_tabs_on_one_visit_lose_nothing(browser: Browser, whole_page: Path) -> None:
    context = browser.new_context()
    one = context.new_page()
    one.goto(whole_page.as_uri())
    begin(one, "ghost_opening", ["laser"])
    two = context.new_page()
    two.goto(one.url)
    two.wait_for_selector("text=Hand over this visit")
    answer(one, "nobody and nothing")
    two.wait_for_function("() => document.getElementById('status').textContent.includes('another tab')")
    assert question(two) == question(one)
    stale = "() => Object.keys(localStorage).forEach((k) => { localStorage[k] += 'x\\n'; })"
    two.evaluate(stale)  # as if another program wrote between two presses
    answer(two, None)
    assert "changed in another tab" in two.inner_text("#status")
    context.close()


def test_without_storage_it_says_so_and_still_works(browser: Browser, whole_page: Path) -> None:
    tab = browser.new_page()
    tab.add_init_script(NO_STORAGE)
    tab.goto(whole_page.as_uri())
    assert "This browser keeps nothing" in tab.inner_text("[role=alert]")
    begin(tab, "ghost_opening", ["laser"])
    answer(tab, None)
    assert question(tab).startswith("2. ")


def test_what_cannot_be_saved_is_refused_and_nothing_is_lost(browser: Browser, whole_page: Path) -> None:
    context = browser.new_context()
    tab = context.new_page()
    tab.goto(whole_page.as_uri())
    begin(tab, "ghost_opening", ["laser"])
    answer(tab, None)
    before = question(tab)
    tab.add_init_script("Storage.prototype.setItem = () => { throw new DOMException('full'); };")
    tab.reload()
    tab.wait_for_selector("text=Hand over this visit")
    assert question(tab) == before
    answer(tab, None)
    assert "could not be saved" in tab.inner_text("#status") and question(tab) == before
    context.close()


def test_the_keyboard_is_enough(browser: Browser, whole_page: Path) -> None:
    tab = opened(browser, whole_page)
    begin(tab, "ghost_opening", ["laser"])
    assert tab.evaluate("document.activeElement.id") == "top"
    tab.keyboard.press("Tab")
    tab.keyboard.press("Enter")
    assert question(tab).startswith("2. ") and tab.evaluate("document.activeElement.id") == "top"


SMALL = """() => [...document.querySelectorAll("button, summary, select, input, .choice")]
  .filter((x) => x.offsetParent && !["checkbox", "radio"].includes(x.type))
  .filter((x) => Math.min(x.getBoundingClientRect().height, x.getBoundingClientRect().width) < 44)
  .map((x) => x.outerHTML)"""
WIDE = "() => document.documentElement.scrollWidth > document.documentElement.clientWidth"


def test_every_stage_fits_a_phone_and_passes_axe(browser: Browser, whole_page: Path) -> None:
    """axe-core by axe-playwright-python: no finding at all; targets of 44 px; nothing wider than 360 px."""
    context = browser.new_context(viewport={"width": 360, "height": 740}, bypass_csp=True)
    tab = context.new_page()
    tab.goto(whole_page.as_uri())
    looked_at(tab)
    tab.click("nav >> text=New visit")
    looked_at(tab)
    begin(tab, "ghost_opening", ["laser"])
    answer(tab, "yes")
    for name in ("How to do", "Why this", "Likely", "Answers", "Cautions of", "Hand over"):
        tab.click(f"summary:has-text('{name}')")
    looked_at(tab)
    answer(tab, "safe")
    tab.click("text=Conclude now")
    for name in ("Remedy and", "A remedy", "Return to service", "Sheet for"):
        tab.click(f"summary:has-text('{name}')")
    looked_at(tab)
    context.close()


def looked_at(tab: Page) -> None:
    found = Axe().run(tab)
    assert found.violations_count == 0, found.generate_report()
    assert tab.evaluate(SMALL) == [] and not tab.evaluate(WIDE)


def test_a_cut_page_refuses_visits_to_other_sensors(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "cut.html"
    path.write_bytes(packed(["loop"], []))
    assert path.stat().st_size < 0.8 * len(packed())
    tab = opened(browser, path)
    begin(tab, "ghost_opening")
    visit = save_file(tab, tmp_path)
    assert '"devices":["loop"]' in visit.read_text()
    whole = tmp_path / "whole.html"
    whole.write_bytes(packed())
    other = opened(browser, whole)
    begin(other, "ghost_opening", ["laser"])
    foreign = save_file(other, tmp_path / "other")
    tab.click("text=All visits")
    tab.set_input_files("input[type=file]", foreign)
    tab.wait_for_function("() => document.getElementById('status').textContent.includes('holds the knowledge for')")
