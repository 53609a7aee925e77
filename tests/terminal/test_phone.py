"""A conclusion on the phone, on every front end's record and on the terminal: the caller's own part comes first."""

from dataclasses import replace
from functools import cache

from diagnose.core.explain import Weight
from diagnose.kb.files import shipped_folder
from diagnose.model.visit import Setup
from diagnose.present.caller import for_caller
from diagnose.present.conclusion import result_of
from diagnose.present.mending import candidates_of, owed_of
from diagnose.present.record import Times
from diagnose.present.record_parts import records
from diagnose.present.sheet import sheet_of
from diagnose.report.layout import lay_out
from diagnose.session.events import Close, Conclude, Event, Proved, Repaired, Reply
from diagnose.session.session import conclude, replay, step
from diagnose.session.state import Session
from diagnose.session.summary import Ranked, Summary
from diagnose.terminal.replay import script_events
from diagnose.words import say
from tests.shipped import begun, knowledge, quick, reasoner
from tests.terminal.typed import play

WEB = "photo_eye_web"


@cache
def call_events() -> tuple[Event, ...]:
    """The demo call in which a web leads, up to its conclusion."""
    path = shipped_folder("transcripts_demo") / "call_solved_on_the_phone.yaml"
    kept: list[Event] = []
    for event in script_events(reasoner(), path):
        if isinstance(event, Repaired):
            break
        kept.append(event)
    return tuple(kept)


@cache
def call() -> Session:
    return replay(knowledge(), call_events())


def test_the_caller_s_part_of_a_conclusion_names_steps_who_is_sent_and_what_holds() -> None:
    kb, shown = knowledge(), result_of(quick(), call(), conclude(quick(), call())).caller
    assert shown and shown.own[0].cause == WEB
    web = kb.causes[WEB].caller
    assert web and set(web.steps) < set(shown.own[0].steps) and shown.own[0].proof == web.proof
    full = kb.cautions[kb.settings.caller_before].says
    assert [full in own.steps for own in shown.own] == [True, False]
    assert shown.own[1].steps[0] == say("session.caller_again")
    assert shown.afterwards == (kb.proofs["protective_zone"].says,)
    assert shown.send == say("session.who_technician") and shown.bring
    assert shown.meanwhile[0] == kb.complaints["nuisance_reversal"].meanwhile[0]


def test_who_is_sent_for_certain_and_who_only_where_the_caller_s_work_does_not_help() -> None:
    kb, found = knowledge(), conclude(quick(), call())
    free = Summary(
        (Ranked(kb.causes["push_button_stuck"], 0.5, "", Weight("", "", 0.0), ()),), (), (), False, False, True
    )
    sent = [for_caller(kb, call(), found, s) for s in (free, replace(free, designed=True))]
    assert [s and s.send for s in sent] == [say("present.send_if", who=say("session.who_technician")), ""]


def test_under_an_order_nothing_is_the_caller_s_and_the_order_s_measures_hold() -> None:
    session = step(knowledge(), call(), Reply("anyone_touched", "touched"))
    shown = result_of(quick(), session, conclude(quick(), session)).caller
    assert shown and not shown.own and not shown.afterwards
    assert shown.meanwhile[0] == knowledge().cautions["stop_contact"].meanwhile[0]


def test_at_the_gate_nothing_is_said_for_a_caller() -> None:
    session = begun()
    assert result_of(quick(), session, conclude(quick(), session)).caller is None
    sheet = sheet_of(quick(), session, conclude(quick(), session))
    assert not sheet.own and not sheet.meanwhile


def test_sheet_and_record_name_them() -> None:
    found = conclude(quick(), call())
    shown, sheet = result_of(quick(), call(), found).caller, sheet_of(quick(), call(), found)
    assert shown and sheet.meanwhile == shown.meanwhile
    assert sheet.own[0] == knowledge().causes[WEB].says
    sent = step(knowledge(), call(), Close("dispatched", "to prove it"))
    for record in records(quick(), sent, conclude(quick(), sent), Times("", "")):
        assert record.meanwhile == shown.meanwhile
        assert say("report.until_somebody_comes") in [s.title for s in lay_out(record).sections]


def test_the_record_says_that_the_caller_did_it_and_what_he_saw() -> None:
    done = replay_on(
        Repaired(WEB, by="caller"),
        Proved(True, "quiet"),
        Close("proof_owed", by="Kim", due="2026-12-03", meanwhile="off"),
    )
    web = knowledge().causes[WEB].caller
    for record in records(quick(), done, conclude(quick(), done), Times("", "")):
        (repair,) = record.repairs
        assert web and (repair.proof, repair.reading) == (web.proof, "quiet")
        assert say("session.done_by_caller") in repair.note
        assert record.meanwhile


def replay_on(*events: Event) -> Session:
    session = call()
    for event in events:
        session = step(knowledge(), session, event)
    return session


def test_who_did_it_is_asked_of_the_caller_first_and_his_proof_is_owed() -> None:
    named = {c.cause: [d.by for d in c.doers] for c in candidates_of(quick(), call(), conclude(quick(), call()))}
    assert named[WEB] == ["caller", "technician"]
    assert named["photo_eye_post_sags"] == ["technician"]
    owed = owed_of(knowledge(), replay_on(Repaired(WEB, by="caller")))
    web = knowledge().causes[WEB].caller
    assert owed and web and owed.proof == web.proof


def typed(*lines: str) -> str:
    return play(*lines, session=call()).flat()


def test_the_terminal_says_it_before_the_conclusion() -> None:
    text = typed("", "")
    headings = [text.index(say(f"present.{key}")) for key in ("for_caller", "caller_own", "send", "meanwhile")]
    assert headings == sorted(headings) and headings[-1] < text.index("Conclusion ----")


def test_on_the_terminal_the_caller_or_a_technician_has_done_it() -> None:
    for lines, by in ((("yes",), "caller"), (("no", "yes"), "technician")):
        played = play("repaired", "1", *lines, "", "wiped", session=call())
        assert Repaired(WEB, "wiped", by) in played.saved
    refused = play("repaired", "1", "no", "no", "wiped", session=call())
    assert say("session.not_by_caller") in refused.flat() and not refused.saved


def test_a_visit_begun_on_the_phone_says_its_measures_at_any_conclusion() -> None:
    text = play("conclude", "", session=begun("stuck_open", Setup("help_desk"))).flat()
    for says in knowledge().complaints["stuck_open"].meanwhile:
        assert says in text
    assert Conclude() in play("conclude", "", session=begun("stuck_open", Setup("help_desk"))).saved
