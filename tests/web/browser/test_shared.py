"""More than one tab, more than one person, more than one visit."""

from datetime import datetime, timedelta
from pathlib import Path

from playwright.sync_api import Page, expect

from diagnose.model.visit import Setup
from diagnose.session.events import Begin
from diagnose.store.journal import Journal
from tests.shipped import knowledge
from tests.web.browser.conftest import Opener
from tests.web.browser.person import answer, asked, begin, do, expect_heading, heading, tap
from tests.web.browser.served import Site

MANY = 200


def test_two_tabs_on_one_visit_lose_nothing_and_show_the_conflict(opener: Opener, site: Site) -> None:
    one, two = opener(), opener()
    name = begin(one, "ghost_opening", sensors=["laser"])
    answer(one, "nobody" if asked(one) == "anyone_touched" else "safe")
    two.goto(f"/visit/{name}")
    first = asked(one)
    assert asked(two) == first
    answer(one, "cant_check")
    answer(two, "dont_know")
    conflict = two.get_by_role("alert").filter(has_text="went on elsewhere")
    expect(conflict).to_be_visible()
    expect(conflict).to_contain_text("Nothing of yours was saved")
    given = site.session(name).answer(first)
    assert given and given.value == "cant_check"
    assert asked(two) == asked(one)
    answer(two, "dont_know")
    one.reload()
    assert asked(one) == asked(two) and len(site.session(name).given) == 3


def test_the_same_form_sent_twice_counts_once(opener: Opener, site: Site) -> None:
    one, two = opener(), opener()
    name = begin(one, "ghost_opening", sensors=["laser"])
    two.goto(f"/visit/{name}")
    for page in (one, two):
        answer(page, "dont_know")
    assert len(site.session(name).given) == 1 and asked(one) == asked(two)
    assert two.get_by_role("alert").count() == 0


def test_several_calls_are_open_at_once_and_do_not_mix(opener: Opener, site: Site) -> None:
    calls = [opener(), opener(), opener()]
    complaints = ("stuck_open", "ghost_opening", "nuisance_reversal")
    names = [begin(page, c, "help_desk", ["laser"]) for page, c in zip(calls, complaints, strict=True)]
    for round_ in range(3):
        for page in calls[round_:] + calls[:round_]:
            answer(page, "dont_know")
    for name, complaint in zip(names, complaints, strict=True):
        session = site.session(name)
        assert session.complaint == complaint and len(session.given) == 3


def test_a_call_is_handed_over_and_gone_on_with(opener: Opener, site: Site, tmp_path: Path) -> None:
    context = opener()
    name = begin(context, "stuck_open", "help_desk", ["laser"], "invented car park")
    for _ in range(4):
        answer(context, {"anyone_touched": "nobody", "gate_made_safe": "safe"}.get(asked(context), "dont_know"))
    context.goto(f"/visit/{name}/answers")
    with context.expect_download() as download:
        context.get_by_role("link", name="Hand over").click()
    handed = tmp_path / "handed.visit"
    download.value.save_as(handed)
    gate = opener()
    gate.goto("/takeover")
    gate.set_input_files("#file", handed)
    gate.check("input[name=role][value=technician]")
    gate.fill("#by", "an invented colleague")
    tap(gate.get_by_role("button", name="Take over"))
    expect_heading(gate, "Answers so far")
    confirm = gate.get_by_role("button", name="Confirm")
    assert confirm.count() == 4
    tap(confirm.first)
    expect(gate.get_by_role("button", name="Confirm")).to_have_count(3)
    tap(gate.get_by_role("link", name="Go on").last)
    taken = gate.url.rsplit("/", 1)[-1]
    assert taken != name and knowledge().checks[asked(gate)].ask in heading(gate)
    session = site.session(taken)
    assert session.setup.role == "technician" and len(session.given) == 4
    assert len(site.session(name).given) == 4  # the call itself is as it was


def test_two_hundred_visits_are_listed_and_found(page: Page, site: Site) -> None:
    start = datetime(2025, 1, 1, 8)
    for number in range(MANY):
        begun = Begin(
            Setup(devices=("laser",)), "ghost_opening", "", f"invented yard {number:03}", knowledge().digest
        )
        with Journal.create(site.visits, start + timedelta(minutes=number)) as journal:
            journal.append(begun)
    page.goto("/")
    seen = set[str]()
    while True:
        seen.update(page.locator(".visits b").all_inner_texts())
        older = page.get_by_role("link", name="Older")
        if not older.count():
            break
        tap(older)
    assert {f"invented yard {n:03}" for n in range(MANY)} <= seen
    page.goto("/")
    page.fill("#q", "yard 137")
    with page.expect_navigation():
        page.press("#q", "Enter")
    assert page.locator(".visits b").all_inner_texts() == ["invented yard 137"]
    tap(page.locator(".visits a"))
    do(page, "conclude")
    expect_heading(page, "Conclusion")
