"""A call in the pages: what is for the caller stands before the causes, and what he did is noted as his."""

from html import unescape
from pathlib import Path

from diagnose.session.events import Event, Repaired
from diagnose.words import say
from tests.shipped import knowledge
from tests.terminal.test_phone import WEB, call
from tests.web.tab import Tab, events_in, tab
from tests.web.test_visit import answered


def concluded(folder: Path) -> Tab:
    return answered(tab(folder).begin("stuck_open", role="help_desk"), 1).do("conclude")


def test_the_caller_s_part_stands_before_the_causes(tmp_path: Path) -> None:
    text = unescape(concluded(tmp_path).text)
    places = [text.index(says) for says in (say("present.for_caller"), say("present.send"), say("present.meanwhile"))]
    assert places == sorted(places) and places[-1] < text.index('class="suspects"')
    for says in knowledge().complaints["stuck_open"].meanwhile:
        assert says in text


def test_what_the_caller_did_is_noted_as_his_and_nothing_that_is_not_for_him(tmp_path: Path) -> None:
    shown = concluded(tmp_path)
    form = next(f for f in shown.forms() if f.fields.get("do") == "repaired")
    assert say("session.done_by_technician") in shown.text
    refused = shown.client.post(form.action, data={**form.fields, "cause": "output_contact_welded", "by": "caller"})
    assert refused.status_code == 422 and say("session.not_by_caller") in unescape(refused.text)
    shown.send(form, cause=WEB, by="caller", note="brushed off")
    event: Event = events_in(tmp_path, shown.address)[-1]
    assert event == Repaired(WEB, "brushed off", "caller")
    web = knowledge().causes[WEB].caller
    assert web and web.proof in unescape(shown.text)


def test_at_the_gate_no_page_speaks_of_a_caller(tmp_path: Path) -> None:
    shown = answered(tab(tmp_path).begin("stuck_open"), 1).do("conclude")
    assert say("present.for_caller") not in shown.text and call().setup.role == "help_desk"
