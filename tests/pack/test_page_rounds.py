"""What is asked in one go on the offline page, in a person's hands: looks at one place, what a measurement needs."""

from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from diagnose.core.looks import normal
from diagnose.present.looks import in_one_go
from diagnose.session.events import Begin, Event, Reply
from diagnose.session.session import conclude, replay
from diagnose.store.journal import read
from diagnose.words import say
from tests.pack.page import opened
from tests.pack.rounds import FACTS, LOOKS, until
from tests.pack.test_files import written
from tests.pack.test_page import looked_at
from tests.pack.walk import save_file
from tests.shipped import knowledge, quick

AC, LABEL, VOLTS = "sup_ac_source", "sup_label_volts", "sup_volts_source"


def at(browser: Browser, page: Path, folder: Path, events: list[Event]) -> Page:
    """A tab that goes on with such a visit."""
    tab = opened(browser, page)
    taken_in(tab, folder, events)
    return tab


def taken_in(tab: Page, folder: Path, events: list[Event]) -> None:
    tab.set_input_files("input[type=file]", written(folder, events))
    tab.wait_for_selector("text=Hand over this visit")


def field(tab: Page, check: str) -> Locator:
    return tab.get_by_label(knowledge().checks[check].ask, exact=True)


def heading(tab: Page) -> str:
    return tab.inner_text("h2#top")


def press(tab: Page, key: str) -> None:
    tab.get_by_role("button", name=say(key), exact=True).click()


def saved(tab: Page, folder: Path, before: int) -> list[tuple[str, object]]:
    """The answers that came after so many events."""
    events = read(save_file(tab, folder / "saved")).events[before:]
    return [(e.check, e.value) for e in events if isinstance(e, Reply)]


@pytest.fixture
def looks() -> list[Event]:
    return until(LOOKS, "ghost_opening", ("laser",))


@pytest.fixture
def facts() -> list[Event]:
    return until(FACTS, "dead_indicators", ("loop",))


def test_looks_are_answered_in_one_go(browser: Browser, whole_page: Path, tmp_path: Path, looks: list[Event]) -> None:
    tab = at(browser, whole_page, tmp_path, looks)
    assert heading(tab) == say("web.look_round")
    checks = in_one_go(knowledge(), conclude(quick(), replay(knowledge(), looks)))
    well = {c.id: normal(c) for c in checks}
    assert len(well) > 2 and {c: field(tab, c).input_value() for c in well} == well
    other, unknown = checks[1], checks[2].id
    bad = next(o for o in other.options if o != normal(other))
    field(tab, other.id).select_option(bad)
    field(tab, unknown).select_option("dont_know")
    press(tab, "web.looked")
    assert saved(tab, tmp_path, len(looks)) == list((well | {other.id: bad, unknown: "dont_know"}).items())


def test_what_a_measurement_needs_is_typed_in_one_go(
    browser: Browser, whole_page: Path, tmp_path: Path, facts: list[Event]
) -> None:
    tab = at(browser, whole_page, tmp_path, facts)
    assert heading(tab) == say("web.facts")
    field(tab, AC).fill("200 mV")
    field(tab, VOLTS).fill("23.9 V?")
    press(tab, "web.facts_take")
    assert saved(tab, tmp_path, len(facts)) == [(AC, 0.2), (LABEL, "dont_know"), (VOLTS, 23.9)]
    replies = read(save_file(tab, tmp_path / "again")).events[len(facts) :]
    assert [e.sure for e in replies if isinstance(e, Reply)] == [True, True, False]


def test_with_a_reading_that_cannot_be_read_nothing_is_taken(
    browser: Browser, whole_page: Path, tmp_path: Path, facts: list[Event]
) -> None:
    tab = at(browser, whole_page, tmp_path, facts)
    field(tab, AC).fill("1 V")
    field(tab, LABEL).fill("zebra")
    press(tab, "web.facts_take")
    said = tab.inner_text("#problem")
    assert knowledge().checks[LABEL].ask in said and "Nothing was taken." in said
    expect(field(tab, LABEL)).to_be_focused()
    assert field(tab, AC).input_value() == "1 V" and saved(tab, tmp_path, len(facts)) == []


def test_an_unusual_reading_is_left_open_and_asked_by_itself(
    browser: Browser, whole_page: Path, tmp_path: Path, facts: list[Event]
) -> None:
    tab = at(browser, whole_page, tmp_path, facts)
    for check, typed in ((AC, "230 V"), (LABEL, "24 V"), (VOLTS, "300 V")):
        field(tab, check).fill(typed)
    press(tab, "web.facts_take")
    told = tab.inner_text("#status")
    for check, shown in ((AC, "230 V"), (VOLTS, "300 V")):
        assert f"{knowledge().checks[check].ask} {shown} is unusual here" in told
    assert saved(tab, tmp_path, len(facts)) == [(LABEL, 24.0)]
    assert heading(tab).endswith(knowledge().checks[AC].ask)
    tab.get_by_label("for example").fill("230 V")
    press(tab, "page.answer")
    press(tab, "page.yes_keep")
    assert saved(tab, tmp_path, len(facts)) == [(LABEL, 24.0), (AC, 230.0)]


def test_one_at_a_time_stays_so_for_the_visit_over_a_reload(
    browser: Browser, whole_page: Path, tmp_path: Path, looks: list[Event]
) -> None:
    tab = at(browser, whole_page, tmp_path, looks)
    first, second, *_ = in_one_go(knowledge(), conclude(quick(), replay(knowledge(), looks)))
    press(tab, "web.one_at_a_time")
    assert heading(tab).endswith(first.ask)
    tab.reload()
    tab.wait_for_selector("text=Hand over this visit")
    assert heading(tab).endswith(first.ask)
    press(tab, "page.reply_dont_know")
    assert heading(tab) != say("web.look_round")
    begun = looks[0]
    assert isinstance(begun, Begin)
    press(tab, "page.all_visits")
    taken_in(tab, tmp_path / "other", [replace(begun, id="another-visit"), *looks[1:]])
    assert heading(tab) == say("web.look_round") and field(tab, second.id).count()


@pytest.mark.parametrize("asked", ["looks", "facts"])
def test_each_form_fits_a_phone_and_passes_axe(
    browser: Browser, whole_page: Path, tmp_path: Path, asked: str, request: pytest.FixtureRequest
) -> None:
    context = browser.new_context(viewport={"width": 360, "height": 740}, bypass_csp=True)
    tab = context.new_page()
    tab.goto(whole_page.as_uri())
    taken_in(tab, tmp_path, request.getfixturevalue(asked))
    for how in tab.locator("form summary").all():
        how.click()
    looked_at(tab)
    context.close()


def test_a_question_mark_in_a_field_means_that_nobody_can_tell(
    browser: Browser, whole_page: Path, tmp_path: Path, facts: list[Event]
) -> None:
    tab = at(browser, whole_page, tmp_path, facts)
    field(tab, VOLTS).fill("?")
    press(tab, "web.facts_take")
    assert dict(saved(tab, tmp_path, len(facts)))[VOLTS] == "dont_know"
