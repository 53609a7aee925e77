"""The record says what happened: headline, lists and end never contradict; names, lifted orders, own words."""

from dataclasses import replace

import pytest

from diagnose.model.visit import Setup
from diagnose.present.record import Record
from diagnose.present.record_found import conclusion_says
from diagnose.report.layout import lay_out
from diagnose.report.plain import render
from diagnose.session.events import (
    AnotherFault,
    Begin,
    Close,
    Event,
    Named,
    Noted,
    Proved,
    Reopen,
    Repaired,
    Reply,
    TakeOver,
)
from diagnose.session.gear_words import read_gear
from diagnose.session.session import conclude, replay
from diagnose.session.state import Repair
from diagnose.session.summary import summarise
from tests.report.visits import found, mending, opening, records_of, ticks, whole
from tests.shipped import knowledge, reasoner

CALL = Setup("help_desk", devices=("photo_eye",))
WEB = "photo_eye_web"


def call(*events: Event) -> tuple[Record, Record]:
    return records_of([Begin(CALL, "nuisance_reversal", "beeps & opens", by="Cleo"), *events])


def sections(record: Record) -> dict[str, str]:
    """Each section's text by its title."""
    return {section.title: repr(section.blocks) for section in lay_out(record).sections}


def says(cause: str) -> str:
    return knowledge().causes[cause].says


def test_a_repair_that_mended_nothing_stands_under_tried_without_success() -> None:
    parts = sections(records_of(whole())[1])
    tried, good = says("long_thin_cable_drop"), says("splice_with_water")
    assert tried in parts["Tried without success"] and tried not in parts["What was mended"]
    assert good in parts["What was mended"] and good in parts["What was found"]


def test_a_repair_that_was_good_although_the_trouble_went_on_is_not_called_in_vain() -> None:
    went_on = [*opening(), *found(), Repaired("connector_pins_corroded"), Proved(False, "still opens")]
    better = [Reply("power_lamp", "steady"), Reply("sup_volts_sensor", 23.8), Reply("wir_insulation", 200.0)]
    worked, vain = "Mended, but the trouble had another cause too", "Tried without success"
    before, after = sections(records_of(went_on)[1]), sections(records_of([*went_on, *better])[1])
    cause = says("connector_pins_corroded")
    assert cause in before[vain] and worked not in before
    assert cause in after[worked] and vain not in after


def test_both_faults_are_found_and_mended() -> None:
    events = [*whole()[:-1], AnotherFault(), Repaired("photo_eye_web"), Proved(True, "steady")]
    found_says = records_of(events)[0].conclusion
    assert found_says.startswith(f"Found and mended: {says('photo_eye_web')}.")
    assert f"Also found and mended: {says('splice_with_water')}." in found_says


def test_what_is_still_wrong_after_a_good_repair_is_not_the_headline() -> None:
    record = records_of([*opening(), *found(), *mending(), AnotherFault()])[0]
    assert record.conclusion.startswith(
        f"Found and mended: {says('splice_with_water')}. Something else is still wrong."
    )


def test_a_disproved_cause_that_still_leads_is_not_simply_most_likely() -> None:
    session = replay(knowledge(), [*opening(), *found()])
    conclusion = conclude(reasoner(), session)
    summary = summarise(reasoner(), session, conclusion)
    leader = summary.ranked[0].cause
    tried = replace(session, repairs=(Repair(leader.id, proof="failed"),))
    for visit, begins in ((session, "Most likely: "), (tried, "Most likely again: ")):
        headline = conclusion_says(knowledge(), replace(visit, concluded=True), conclusion, summary)
        assert headline.startswith(f"{begins}{leader.says}"), headline


def test_an_order_is_lifted_by_somebody_at_some_time_and_its_box_is_gone() -> None:
    stopped = [*opening(), *found(), *mending()]
    record = records_of([*stopped, *ticks(stopped), Close("in_service")])[0]
    assert all(order.lifted for order in record.orders) and record.orders
    assert "Lifted by the return to service: B. Second, 2026-03-01" in record.orders[0].state
    assert "Alarm" not in sections(record)["Stop-work"]
    assert "Alarm" in sections(records_of(stopped)[0])["Stop-work"]


def test_a_call_with_a_proof_owed_says_who_proves_it_until_when_and_what_holds_until_then() -> None:
    done = (Repaired(WEB, by="technician", name="Ana"), Proved(True, "steady"))
    owed = Close("proof_owed", by="Ben", due="2026-12-03", meanwhile="chained open")
    customer, _ = call(*done, owed)
    page = lay_out(customer)
    assert (
        page.tone == "bad" and "To be proved by: Ben" in page.reason and "Not later than: 2026-12-03" in page.reason
    )
    assert "not proved yet" in customer.conclusion and customer.left
    assert customer.repairs[0].note == "Ana, Done by a technician on site"


def test_sent_and_mended_by_whom_stand_in_one_record() -> None:
    sent = (Reply("power_lamp", "steady"), Close("dispatched", "nobody can look", meanwhile="key switch off"))
    there = TakeOver(Setup(devices=("photo_eye",)), "Ben")
    events: list[Event] = [
        Begin(CALL, "nuisance_reversal", by="Cleo"),
        *sent,
        there,
        Repaired(WEB),
        Proved(True, "ok"),
    ]
    record = records_of([*events, *ticks(events), Close("in_service")])[0]
    assert record.outcome == "Back in service." and "Ben: one remedy" in record.people
    assert "Somebody is sent." in sections(record)["The visit"] and "key switch off" in sections(record)["The visit"]


def test_nothing_wrong_names_no_cause() -> None:
    record = call(Reply("power_lamp", "steady"), Close("nothing_wrong", "the guard was shown the switch"))[0]
    assert record.conclusion.startswith("Nothing is wrong") and not record.suspects and record.serving


def test_own_words_and_corrections_and_the_first_words_stand_as_they_were_said() -> None:
    notes = (Noted("two remotes are lost", "remark"), Noted("it was the left leaf", "correction"))
    record = call(*notes, Close("passed_on", "no start", to="maker"), Reopen())[0]
    assert record.words == "beeps & opens"
    assert "two remotes are lost (Cleo)" in sections(record)["Also noted"]
    assert "it was the left leaf (Cleo)" in sections(record)["Corrected by hand"]
    assert record.earlier[0].facts[0] == ("Given to", "the maker")


def test_what_was_ruled_out_says_by_what() -> None:
    gone = records_of([*opening(), *found()])[1].ruled_out
    assert gone and all(r.by for r in gone)
    assert records_of([*opening(), *found()])[0].ruled_out == ()


def test_answers_put_aside_stand_in_the_record() -> None:
    kb = knowledge()
    gear = [read_gear(kb, words) for words in ("laser over the entry opens, exit loop closes", "exit loop closes")]
    begin = Begin(Setup(gear=gear[0]), "ghost_opening")
    record = records_of([begin, Reply("env_window_look@laser_over_the_entry", "clean"), Named(gear[1])])[0]
    assert len(record.aside) == 1 and "Put aside" in sections(record)["Answers put aside"]


def test_a_technician_s_answers_are_in_a_technician_s_words_also_after_the_call_goes_on() -> None:
    there, back = TakeOver(Setup(), "Ben"), TakeOver(CALL, "Cleo")
    full = call(there, Reply("power_lamp", "off"), back)[1]
    assert full.stages[0].checks[0].asked == knowledge().checks["power_lamp"].ask


def test_the_work_is_told_in_minutes() -> None:
    kb = knowledge()
    one = call(Reply("power_lamp", "steady"))[0].minutes
    wanted = kb.checks["power_lamp"].minutes + kb.settings.asking_minutes
    assert one == f"About {round(wanted)} min in all."


@pytest.mark.parametrize("end", [Close("left_out", "no part"), Close("passed_on", "no start", to="network")])
def test_no_id_and_no_raw_state_is_printed(end: Close) -> None:
    kb = knowledge()
    page = repr(lay_out(records_of([*opening(), *found(), end])[1])) + render(call(end)[1]).decode()
    ids = [i for i in (*kb.causes, *kb.checks, *kb.findings, *kb.proofs) if "_" in i]
    assert [i for i in ids if i in page] == [] and "passed_on" not in page and "left_out" not in page
