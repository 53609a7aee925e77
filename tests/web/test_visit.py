"""One visit in the browser: nothing lost, nothing counted twice, conflicts said plainly, everything escaped."""

import re
from html import unescape
from pathlib import Path

import pytest

from diagnose.core.looks import normal
from diagnose.errors import SessionError
from diagnose.model.visit import Setup
from diagnose.session.events import Back, Begin, Conclude, Repaired, Reply
from diagnose.session.session import conclude
from diagnose.store.journal import Journal
from diagnose.web.forms import LONGEST, event_of
from diagnose.web.keeper import NOBODY
from diagnose.web.visits import Visits
from diagnose.words import say
from tests.report.visits import HOSTILE
from tests.shipped import begun, knowledge, quick
from tests.web.tab import Tab, events_in, session_in, tab

READING = "ctl_supply_marked"  # 10 to 48 V is usual, 5 to 60 V possible


def answered(shown: Tab, count: int) -> Tab:
    """A visit with its first answers given, each the first option."""
    for _ in range(count):
        form = next(f for f in shown.forms() if f.fields.get("do") == "reply" and f.buttons)
        name, value = form.buttons[0]
        shown.send(form, **{name: value})
    return shown


def test_the_first_page_asks_the_first_question_and_an_answer_is_on_disk_before_the_next(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin(words="it opens alone", site="North gate")
    check = knowledge().checks[knowledge().settings.opening[0]]
    assert f"1. {check.ask}" in unescape(shown.text)
    assert "North gate" in shown.text
    begin = events_in(tmp_path, shown.address)[0]
    assert isinstance(begin, Begin) and begin.words == "it opens alone" and begin.site == "North gate"
    answered(shown, 1)
    assert isinstance(events_in(tmp_path, shown.address)[1], Reply)
    assert 'id="question" tabindex="-1">2. ' in shown.text


def test_a_reload_and_a_form_sent_twice_count_once(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    form = next(f for f in shown.forms() if f.buttons)
    first = {form.buttons[0][0]: form.buttons[0][1]}
    shown.send(form, **first)
    before = shown.text
    shown.send(form, **first)
    assert shown.status == 200 and len(events_in(tmp_path, shown.address)) == 2
    assert shown.open(shown.address).text == before


def test_a_stale_form_changes_nothing_and_shows_both_sides(tmp_path: Path) -> None:
    one = tab(tmp_path).begin()
    two = Tab(one.client, one.address)
    form = next(f for f in two.forms() if f.buttons)
    check = knowledge().checks[form.fields["check"]]
    options = list(check.options)
    one.send(next(f for f in one.forms() if f.buttons), answer=options[0])
    before = events_in(tmp_path, one.address)
    two.send(form, answer=options[1])
    text = unescape(two.text)
    assert two.status == 409 and events_in(tmp_path, one.address) == before
    assert "Nothing of yours was saved" in text
    assert f"{check.ask} - {check.options[options[1]]}" in text  # mine
    assert f"{check.ask} - {check.options[options[0]]}" in text  # theirs
    assert f'/change/{check.id}"' in text  # and how to give it again
    assert 'id="question" tabindex="-1">2. ' in text  # where it stands now


@pytest.mark.parametrize("number", ["", "-1", "x", "99999", "1" * 50, "²"])
def test_a_form_without_its_right_number_changes_nothing(tmp_path: Path, number: str) -> None:
    shown = tab(tmp_path).begin()
    form = next(f for f in shown.forms() if f.buttons)
    shown.send(form, answer=form.buttons[0][1], n=number)
    assert shown.status == 409 and len(events_in(tmp_path, shown.address)) == 1


def test_a_visit_that_is_open_in_a_terminal_is_shown_but_not_changed(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    form = next(f for f in shown.forms() if f.buttons)
    path = tmp_path / f"{shown.address.split('/')[2]}.visit"
    with Journal.reopen(path)[0]:
        assert shown.open(shown.address).status == 200
        shown.send(form, answer=form.buttons[0][1])
        assert shown.status == 422 and "open in another window" in shown.text
    assert len(events_in(tmp_path, shown.address)) == 1


def test_what_was_typed_stays_when_it_is_no_reading_and_a_strange_one_is_asked_again(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    check = knowledge().checks[READING]
    address, form = shown.address, next(f for f in shown.forms() if f.buttons)
    shown.send(form, check=READING, answer="twelve <b>volts</b>", unsure="1")
    assert shown.status == 422 and 'value="twelve &lt;b&gt;volts&lt;/b&gt;"' in shown.text
    assert 'name="unsure" value="1" checked' in shown.text and check.ask in unescape(shown.text)
    shown.send(form, check=READING, answer="500 V")
    assert shown.status == 422 and "cannot be right here" in shown.text
    shown.send(form, check=READING, answer="8 V")
    assert shown.status == 422 and "unusual here" in shown.text and 'value="8 V"' in shown.text
    assert len(events_in(tmp_path, address)) == 1
    shown.send(next(f for f in shown.forms() if "keep" in f.fields))
    assert events_in(tmp_path, address)[1] == Reply(READING, 8.0)


def test_back_change_complaint_and_no_answer(tmp_path: Path) -> None:
    shown = answered(tab(tmp_path).begin(), 2)
    address, first = shown.address, session_in(tmp_path, shown.address).answers[0]
    other = next(o for o in knowledge().checks[first.check].options if o != first.value)
    shown.open(f"{address}/change/{first.check}")
    form = next(f for f in shown.forms() if f.buttons)
    shown.send(form, answer=other)
    assert session_in(tmp_path, address).answer(first.check).value == other  # type: ignore[union-attr]
    shown.open(address).do("back")
    assert session_in(tmp_path, address).answer(first.check) is None
    shown.open(f"{address}/complaint").do("complain", complaint="stuck_open")
    assert session_in(tmp_path, address).complaint == "stuck_open"
    form = next(f for f in shown.forms() if ("answer", "dont_know") in f.buttons)
    shown.send(form, answer="dont_know", unsure="1")
    assert session_in(tmp_path, address).answers[-1].value == "dont_know"
    assert session_in(tmp_path, address).answers[-1].sure


def test_stop_work_comes_first_and_stays_in_sight(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    form = next(f for f in shown.forms() if f.buttons)
    shown.send(form, check="anyone_touched", answer="touched")
    order = knowledge().cautions["stop_contact"]
    text = unescape(shown.text)
    assert text.index('class="stop" role="alert"') < text.index('id="question"')
    assert order.says in text and order.tell in text and order.tag in text and "NOT CONFIRMED SAFE YET" in text
    made_safe = next(f for f in shown.forms() if f.fields.get("check") == knowledge().settings.made_safe_check)
    shown.send(made_safe, answer="made_safe")
    assert "Stop-work still stands" in shown.text and 'class="stop"' not in shown.text


def test_every_caution_of_a_check_stands_before_its_question(tmp_path: Path) -> None:
    shown = answered(tab(tmp_path).begin(), 1)
    check = next(c for c in knowledge().checks.values() if c.cautions and c.kind == "choice")
    visits = Visits(quick(), tmp_path)
    name = shown.address.split("/")[2]
    visits.send(name, 2, Reply(check.id, "dont_know"), NOBODY)
    shown.open(f"{shown.address}/change/{check.id}")
    for caution in check.cautions:
        assert unescape(shown.text).index(knowledge().cautions[caution].says) < shown.text.index('id="question"')


def test_hostile_text_is_harmless_on_every_page(tmp_path: Path) -> None:
    nasty = HOSTILE[:500].encode("utf-8", "replace").decode()
    shown = tab(tmp_path).begin(words=nasty, site=nasty[:200])
    address = shown.address
    shown.do("conclude")
    cause = next(f for f in shown.forms() if f.fields["do"] == "repaired")
    leader = conclude(quick(), session_in(tmp_path, address)).belief.ranked()[0][0]
    shown.send(cause, cause=leader, note=nasty).do("proved", passed="yes", reading=nasty)
    form = next(f for f in shown.forms() if f.fields.get("do") == "ticked")
    shown.send(form, result="pass", reading=nasty)
    shown.send(next(f for f in shown.forms() if f.fields.get("outcome") == "left_out"), reason=nasty)
    pages = ["/", "/?q=" + "%3Cscript%3Ealert(1)%3C/script%3E", "/history?q=%3Cscript%3E&place=%22%3E%3Cscript%3E"]
    pages += [f"{address}{part}" for part in ("", "/answers", "/likely", "/record", "/sheet", "/record/full.html")]
    for page in pages:
        text = shown.open(page).text
        assert shown.status == 200
        assert "<script>" not in text and "<img" not in text and "<b>bold" not in text
        assert not any(c in text for c in "\u202e\u202c\x1b\x00") and "49" not in text.split("gnp.exe")[-1][:20]
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in shown.open(address).text


def test_a_broken_file_gets_a_clear_page_and_is_left_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "20260101-120000.visit").write_bytes(b"\xff\x00 no visit\n")
    shown = tab(tmp_path).open("/visit/20260101-120000")
    assert shown.status == 422 and "nothing in it can be read" in shown.text
    assert shown.open("/").status == 200 and "cannot be read" in shown.text
    token = tab(tmp_path).open("/start")
    answer = token.client.post("/visit/20260101-120000", data={"token": token.token, "n": "0", "do": "back"})
    assert answer.status_code == 422
    assert (tmp_path / "20260101-120000.visit").read_bytes() == b"\xff\x00 no visit\n"


def test_a_damaged_end_is_said_and_mended_by_going_on(tmp_path: Path) -> None:
    shown = answered(tab(tmp_path).begin(), 2)
    path = tmp_path / f"{shown.address.split('/')[2]}.visit"
    path.write_bytes(path.read_bytes()[:-20])
    shown.open(shown.address)
    assert "is damaged" in shown.text and len(events_in(tmp_path, shown.address)) == 2
    assert shown.open(f"{shown.address}/handover").status == 422
    answered(shown.open(f"/visit/{path.stem}"), 1)
    assert "is damaged" not in shown.text and len(events_in(tmp_path, shown.address)) == 3
    assert len(list(tmp_path.glob("*.damaged-*"))) == 1


@pytest.mark.parametrize("name", ["...visit", "%2e%2e%2fsecret", "..%2fsecret", "secret", "2", "last", "*", "%00"])
def test_a_name_that_is_not_in_the_list_is_not_found(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "visits"
    shown = tab(folder).begin()
    path = folder / f"{shown.address.split('/')[2]}.visit"
    (tmp_path / "secret.visit").write_bytes(path.read_bytes())
    for rest in ("", "/answers", "/record/full.json", "/handover", f"/change/{READING}"):
        assert shown.open(f"/visit/{name}{rest}").status == 404


def test_nothing_but_known_events_is_taken_from_a_form() -> None:
    session, kb = begun(), knowledge()
    for form in ({}, {"do": "begin"}, {"do": "take_over"}, {"do": "reply", "check": "no_such_check"}):
        with pytest.raises(SessionError):
            event_of(kb, session, form)
    with pytest.raises(SessionError, match="at most"):
        event_of(kb, session, {"do": "close", "outcome": "left_out", "reason": "x" * (LONGEST + 1)})
    named = event_of(kb, session, {"do": "repaired", "cause": "animals_birds", "by": "technician"})
    assert named == Repaired("animals_birds", by="technician")
    assert event_of(kb, session, {"do": "back"}) == Back()


def test_a_conclusion_is_noted_once_nothing_more_would_be_asked(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    for _ in range(200):
        form = next((f for f in shown.singly().forms() if ("answer", "dont_know") in f.buttons), None)
        if form is None:
            break
        shown.send(form, answer="dont_know")
    assert "Conclusion</h1>" in shown.text
    assert events_in(tmp_path, shown.address)[-1] == Conclude()


def test_a_check_that_a_caller_may_not_do_is_only_put_right(tmp_path: Path) -> None:
    shown, visits = tab(tmp_path).begin(), Visits(quick(), tmp_path)
    name = shown.address.split("/")[2]
    visits.send(name, 1, Reply(READING, 24.0), NOBODY)
    call = f"/visit/{visits.take_over(visits.open(name).found, Setup('help_desk'), '')}"
    assert "not for a caller to do" in shown.open(f"{call}/change/{READING}").text
    form = next(f for f in shown.forms() if f.fields.get("check") == READING)
    assert "not for a caller to do" in unescape(shown.send(form, answer="23 V").text) and shown.status == 422
    assert not any("confirm" in f.fields for f in shown.open(f"{call}/answers").forms())
    form = next(f for f in shown.open(f"{call}/change/{READING}").forms() if ("answer", "dont_know") in f.buttons)
    shown.send(form, answer="dont_know")
    assert session_in(tmp_path, call).answers[0].value == "dont_know"


def test_a_forged_form_passes_no_law(tmp_path: Path) -> None:
    """What the pages do not offer to a technician without a licence is refused when it is sent all the same."""
    shown = answered(tab(tmp_path).begin(), 2)
    before = events_in(tmp_path, shown.address)
    form = next(f for f in shown.forms() if "n" in f.fields)
    electrician = next(c for c in knowledge().causes.values() if c.remedy.who == "electrician")
    for fields, says in (
        ({"do": "reply", "check": "ctl_output_volts", "answer": "12 V"}, "licensed electrician"),
        ({"do": "repaired", "cause": electrician.id, "by_electrician": "1"}, "licensed electrician"),
        ({"do": "repaired", "cause": electrician.id, "by": "electrician"}, "by one of: caller, technician"),
        ({"do": "close", "outcome": "solved_on_phone"}, "call to the help-desk"),
    ):
        page = shown.client.post(form.action, data={**form.fields, **fields})
        assert page.status_code == 422 and says in unescape(page.text), fields
    assert events_in(tmp_path, shown.address) == before


def test_several_calls_are_open_at_once(tmp_path: Path) -> None:
    one = tab(tmp_path).begin(role="help_desk", site="First caller")
    two = Tab(one.client).begin(role="help_desk", site="Second caller")
    assert one.address != two.address
    answered(one, 2)
    answered(two, 1)
    assert [len(events_in(tmp_path, t.address)) for t in (one, two)] == [3, 2]
    assert session_in(tmp_path, one.address).answers[0].by == "caller"


def test_looks_at_one_place_are_answered_on_one_page(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin()
    while "?singly=1" not in shown.text:
        shown.send(next(f for f in shown.forms() if f.buttons), answer=first_option(shown))
    before = len(events_in(tmp_path, shown.address))
    form = next(f for f in shown.forms() if f.action.endswith("/looked"))
    looks = re.findall(r'name="look_([^"]+)"', shown.text)
    assert len(looks) > 1
    well = {f"look_{c}": normal(knowledge().checks[c]) for c in looks}
    shown.send(form, **(well | {f"look_{looks[0]}": "dont_know"}))
    replies = events_in(tmp_path, shown.address)[before:]
    assert [(r.check, r.value) for r in replies if isinstance(r, Reply)] == [
        (looks[0], "dont_know"), *((c, well[f"look_{c}"]) for c in looks[1:])
    ]  # fmt: skip
    shown.send(form, **well)  # an old form changes nothing
    assert shown.status == 409 and events_in(tmp_path, shown.address)[before:] == replies


def test_what_a_measurement_needs_is_typed_on_one_page(tmp_path: Path) -> None:
    shown = tab(tmp_path).begin(complaint="misses_vehicles")
    while say("web.facts") not in shown.text:
        shown.singly().do(
            "reply", answer=next(a for a in ("nobody", "safe", "dont_know") if f'value="{a}"' in shown.text)
        )
    before = len(events_in(tmp_path, shown.address))
    form = next(f for f in shown.forms() if f.action.endswith("/looked"))
    facts = {"look_lop_job": "opens", "look_lop_neighbour": "no", "look_lop_missed_kind": "nothing_missed"}
    shown.send(form, **(facts | {"look_lop_neighbour": "zebra"}))
    assert shown.status == 422 and "Nothing was taken" in shown.text
    assert len(events_in(tmp_path, shown.address)) == before
    shown.send(form, **facts)
    replies = [r for r in events_in(tmp_path, shown.address)[before:] if isinstance(r, Reply)]
    assert {f"look_{r.check}": r.value for r in replies} == facts


def first_option(shown: Tab) -> str:
    return next(value for f in shown.forms() for name, value in f.buttons if name == "answer")
