"""Visit files: what the page writes the command line reads, and the other way round."""

import json
import random
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from diagnose.cli import main
from diagnose.errors import VisitError
from diagnose.model.visit import Setup
from diagnose.present.photos import photos_of
from diagnose.session import events as e
from diagnose.session.events import to_plain
from diagnose.session.plain import as_plain
from diagnose.session.session import conclude, replay, salvage
from diagnose.store import limits
from diagnose.store.journal import Journal, read
from tests.faults.test_crash_points import EVERY_KIND
from tests.faults.test_visit_fuzz import SPOIL
from tests.pack.page import opened
from tests.pack.records import presented
from tests.pack.states import difference, state
from tests.pack.visits import random_events
from tests.pack.walk import answer, begin, save_file, singly, strike_out
from tests.shipped import knowledge, reasoner

NOW = datetime(2026, 11, 25, 10, 0, 0, tzinfo=UTC)
HOSTILE = 'O\'Brien "<script>alert(1)</script>" & co – Süd 🚧'


def written(folder: Path, events: list[e.Event]) -> Path:
    """A visit file of the command line's own making."""
    with Journal.create(folder, NOW) as journal:
        for event in events:
            journal.append(event, NOW)
    return journal.path


def allowed(seed: int) -> list[e.Event]:
    """A random visit without the events that are refused."""
    kept: list[e.Event] = []
    for event in random_events(reasoner(), seed, most=14):
        try:
            replay(knowledge(), [*kept, event])
        except Exception:
            continue
        kept.append(event)
    return kept


def test_every_line_is_written_byte_for_byte_the_same(tab: Page, tmp_path: Path) -> None:
    events = [event for seed in range(60, 75) for event in allowed(seed)]
    path = written(tmp_path, events)
    now = "'2026-11-25T10:00:00+00:00'"
    script = f"(l) => l.map(([event, n]) => gateDiagnose.journalLine(event, n, {now}, [l[0][0], {now}]))"
    plain = [[json.loads(json.dumps(to_plain(event))), n] for n, event in enumerate(events, start=1)]
    assert "\n".join(tab.evaluate(script, plain)) + "\n" == path.read_text("ascii")


def test_a_visit_made_in_the_page_is_opened_by_the_command_line(
    browser: Browser, whole_page: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tab = opened(browser, whole_page)
    begin(tab, complaint="ghost_opening", devices=["laser"], site=HOSTILE, words="lifts in rain – “always”")
    strike_out(tab)
    for wanted in ("nobody and nothing", "safe", None, None, None):
        answer(tab, wanted)
    path = save_file(tab, tmp_path)
    found = read(path)
    assert not found.damage and len(found.events) == 6
    session = replay(knowledge(), found.events)
    assert session.site == HOSTILE and session.digest == knowledge().digest and session.id
    assert main(["show", str(path), "--json"]) == 0
    shown = json.loads(capsys.readouterr().out)
    in_page = tab.evaluate(
        "(text) => gateDiagnose.state(gateDiagnose.salvage(gateDiagnose.kb, "
        "gateDiagnose.readJournal(text).events).session, false)",
        path.read_text("ascii"),
    )
    difference([shown], [in_page])


def test_the_command_line_takes_over_what_the_page_wrote(
    browser: Browser, whole_page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tab = opened(browser, whole_page)
    begin(tab, complaint="stuck_open", devices=["laser"], role="help_desk")
    for _ in range(3):
        answer(tab, None)
    path = save_file(tab, tmp_path)
    monkeypatch.setattr("builtins.input", lambda *_: "leave")
    folder = tmp_path / "visits"
    assert main(["takeover", str(path), "--visits", str(folder), "--plain", "--by", "A. Person"]) == 0
    (kept,) = folder.glob("*.visit")
    events = read(kept).events
    assert isinstance(events[4], e.TakeOver) and events[:4] == read(path).events


@pytest.mark.parametrize("seed", [61, 64, 70, 72])
def test_a_visit_of_the_command_line_goes_on_in_the_page(
    browser: Browser, whole_page: Path, tmp_path: Path, seed: int
) -> None:
    events = allowed(seed)
    path = written(tmp_path, events)
    tab = opened(browser, whole_page)
    tab.set_input_files("input[type=file]", path)
    tab.wait_for_selector("text=Hand over this visit")
    session = replay(knowledge(), events)
    question = conclude(reasoner(), session).next.check
    if question and not (session.concluded or session.pending or session.outcome):
        singly(tab)
        assert tab.inner_text("h2#top").endswith(_asked(session.setup.role, question))
    again = save_file(tab, tmp_path / "again")
    assert again.read_bytes() == path.read_bytes()


def _asked(role: str, check_id: str) -> str:
    check = knowledge().checks[check_id]
    return check.ask_caller if role == "help_desk" and check.ask_caller != "never" else check.ask


def test_a_damaged_file_is_used_but_for_the_damage_and_says_so(
    browser: Browser, whole_page: Path, tmp_path: Path
) -> None:
    events = [*allowed(61)[:1], e.Reply("anyone_touched", "nobody"), e.Reply("gate_made_safe", "safe")]
    path = written(tmp_path, events)
    path.write_text(path.read_text().replace('"nobody"', '"nearly"'))
    tab = opened(browser, whole_page)
    tab.set_input_files("input[type=file]", path)
    tab.wait_for_selector("text=Hand over this visit")
    assert "line 2 is damaged (the checksum does not fit); entry 2 is missing; 2 entries are whole" in tab.inner_text(
        "#status"
    )
    assert "2. " in tab.inner_text("h2#top")
    for text, says in (("hello\n", "not a line of a visit"), ("", "nothing was saved in this file")):
        path.write_text(text)
        tab.click("text=All visits")
        tab.set_input_files("input[type=file]", path)
        tab.wait_for_function("(says) => document.getElementById('status').textContent.includes(says)", arg=says)


def test_the_same_is_read_from_a_damaged_file_and_the_same_is_said_of_it(tab: Page, tmp_path: Path) -> None:
    path = written(tmp_path, [*EVERY_KIND, *allowed(61)[1:]])
    whole, read_in_page = path.read_bytes(), "(text) => gateDiagnose.readJournal(text)"
    told = 0
    for seed in range(60):
        chance = random.Random(f"page {seed}")
        spoiled = chance.choice(SPOIL)(chance, whole).decode("latin-1")
        path.write_text(spoiled, "utf-8", newline="")
        found, there = read(path), tab.evaluate(read_in_page, spoiled)
        assert there["damage"] == found.damage, seed
        assert (there["last"], there["broken"]) == (found.last, found.broken)
        assert [e.from_plain(event) for event in there["events"]] == list(found.events), seed
        told += bool(found.damage)
    assert told > 50


@pytest.mark.parametrize("kind", [e.Repaired, e.Reply])
def test_a_file_that_holds_more_than_a_visit_may_is_refused_in_the_same_words(
    tab: Page, tmp_path: Path, kind: type[e.Repaired | e.Reply]
) -> None:
    more = e.Repaired("low_sun_into_sensor") if kind is e.Repaired else e.Reply("power_lamp", "steady")
    most = limits.MOST_OF[kind]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(limits, "MOST_OF", {})
        path = written(tmp_path, [*allowed(61)[:1], *[more] * (most + 1)])
    with pytest.raises(VisitError) as raised:
        read(path)
    catching = (
        "(text) => { try { gateDiagnose.readJournal(text); } catch (error) { return error.message; } return null; }"
    )
    assert tab.evaluate(catching, path.read_text()) == str(raised.value)
    fitting = "".join(path.read_text().splitlines(keepends=True)[: most + 1])
    assert tab.evaluate(catching, fitting) is None


def test_a_visit_with_an_unknown_profile_fact_is_refused(tab: Page) -> None:
    """As `from_plain` refuses it: what the page takes in, the command line must be able to open again."""
    setup = {"role": "technician", "profile": {"site.supply_v": 24, "lamp.power": "lit"}}
    bad = [{}, {"site.colour": "red"}, {"site.supply_v": "24"}, {"device.heater": "warm"}, {"__proto__x": 1}]
    events = [
        {"event": "begin", "setup": {**setup, "profile": p}, "complaint": "x"} for p in (setup["profile"], *bad)
    ]
    lines = "(l) => l.map((e) => gateDiagnose.readJournal(gateDiagnose.journalLine(e, 1, 't')).damage)"
    found = tab.evaluate(lines, events)
    assert [bool(damage) for damage in found] == [False, False, True, True, True, True]
    for event, damage in zip(events, found, strict=True):
        if damage:
            with pytest.raises(VisitError):
                e.from_plain(event)


def test_a_file_of_a_later_format_is_refused_whole(browser: Browser, whole_page: Path, tmp_path: Path) -> None:
    from diagnose.store import journal

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(journal, "VERSION", 2)
        path = written(tmp_path, allowed(61)[:1])
    tab = opened(browser, whole_page)
    tab.set_input_files("input[type=file]", path)
    tab.wait_for_function("() => document.getElementById('status').textContent.includes('later version')")
    assert tab.query_selector(".visits") is None


SALVAGE = """(events) => {
  const { session, told } = gateDiagnose.salvage(gateDiagnose.kb, events);
  return [gateDiagnose.state(session, false), told];
}"""


def test_what_no_longer_fits_the_knowledge_is_left_out_the_same(tab: Page) -> None:
    """Random visits with events and answers that the knowledge refuses."""
    refused = 0
    for seed in range(300, 320):
        events = random_events(reasoner(), seed, most=14)
        session, left_out = salvage(knowledge(), events)
        plain = [json.loads(json.dumps(to_plain(event))) for event in events]
        there, there_left_out = tab.evaluate(SALVAGE, plain)
        difference([state(reasoner(), session, False)], [there])
        assert there_left_out == list(left_out)
        refused += len(left_out)
    assert refused > 5


def test_the_plain_state_is_the_documented_one(tab: Page) -> None:
    """Every field of `--json`, and no other meaning: the page's own export of a state."""
    session = replay(knowledge(), allowed(64))
    here = as_plain(reasoner(), session, conclude(reasoner(), session))
    plain = [json.loads(json.dumps(to_plain(event))) for event in allowed(64)]
    there = tab.evaluate(
        "(events) => { const g = gateDiagnose; let s = null;"
        " for (const x of events) s = g.step(g.kb, s, x); return g.state(s, false); }",
        plain,
    )
    assert here.keys() <= there.keys() and there["schema"] == here["schema"]


def test_pictures_stay_in_a_visit_though_the_page_has_none_of_them(
    browser: Browser, whole_page: Path, tmp_path: Path
) -> None:
    name, cause = "0123456789abcdef.jpg", "laser_emitter_aged"
    events = [
        *allowed(61)[:1],
        e.Reply("anyone_touched", "nobody"),
        e.Pictured(name, "answer", "anyone_touched", "öffnet <b>"),
        e.Pictured(name, "visit"),
        e.Reply("gate_made_safe", "safe"),
        e.Pictured(name, "answer", "gate_made_safe"),
        e.Back(),
        e.Pictured(name, "remedy", cause),
        e.Repaired(cause, by="technician"),
        e.Pictured("00000000000000ff.jpg", "proof", cause),
    ]
    path, tab = written(tmp_path, events), opened(browser, whole_page)
    tab.set_input_files("input[type=file]", path)
    tab.wait_for_selector("text=Hand over this visit")
    assert save_file(tab, tmp_path / "again").read_bytes() == path.read_bytes()
    session = replay(knowledge(), events)
    there = presented(tab, events, ())["sheet"]["photos"]
    assert there == [photo.line for photo in photos_of(knowledge(), session)] and len(there) == 4


def test_a_visit_of_no_id_gets_one_of_the_page(browser: Browser, whole_page: Path, tmp_path: Path) -> None:
    """Visits of the former version have none."""
    begin = e.Begin(Setup(devices=("laser",)), "stuck_open")
    tab = opened(browser, whole_page)
    tab.set_input_files("input[type=file]", written(tmp_path, [begin]))
    tab.wait_for_selector("text=Hand over this visit")
    kept = tab.evaluate("Object.keys(localStorage)")
    assert kept and not [key for key in kept if "undefined" in key]
