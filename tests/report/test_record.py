"""What a record says: gathered from a visit, for the customer and in full."""

import math
import re

import pytest

from diagnose.model.visit import Setup
from diagnose.present.record import Checked, Record
from diagnose.report.layout import lay_out
from diagnose.report.parts import Alarm, Bullets, Facts, Heading, Lines, Table, Text
from diagnose.session.events import Begin, Close, Complain, Event, Proved, Repaired, Reply, TakeOver
from diagnose.session.session import conclude, replay
from diagnose.session.summary import summarise
from tests.report.visits import SITE, WORDS, found, mending, opening, records_of, whole, whole_records
from tests.shipped import knowledge, reasoner


def words_of(record: Record) -> str:
    """Every word of the laid-out record."""
    page = lay_out(record)
    said = [page.title, page.subtitle, page.banner, page.reason, page.footer]
    for section in page.sections:
        said.append(section.title)
        for block in section.blocks:
            match block:
                case Text() | Heading():
                    said.append(block.says)
                case Bullets():
                    said.extend(block.items)
                case Facts():
                    said.extend(word for row in block.rows for word in row)
                case Alarm():
                    said.extend((block.says, *(word for row in block.rows for word in row)))
                case Lines():
                    said.extend(block.labels)
                case Table():
                    said.extend((*block.head, *(line for row in block.rows for cell in row for line in cell)))
    return "\n".join(said)


def checked(record: Record, stage: int, start: str) -> Checked:
    return next(c for c in record.stages[stage].checks if c.asked.startswith(start))


@pytest.mark.parametrize("version", [0, 1])
def test_both_versions_say_who_where_what_and_how_it_ended(version: int) -> None:
    says = words_of(whole_records()[version])
    for wanted in (SITE, WORDS, "Opens with nothing there", "Back in service", "A. Tester", "B. Second"):
        assert wanted in says
    assert "2026-03-01 08:00 (UTC+00:00)" in says and "2026-03-01 08:13 (UTC+00:00), B. Second" in says


def test_a_stop_work_order_comes_with_whom_to_tell_the_tag_and_who_confirmed() -> None:
    (order,) = whole_records()[0].orders
    caution = knowledge().cautions["stop_contact"]
    assert (order.says, order.tell, order.tag) == (caution.says, caution.tell, caution.tag)
    assert order.confirmed and order.state.endswith("by A. Tester")
    assert "told of the stop-work order" in whole_records()[0].signatures[-1]


def test_an_order_that_nobody_confirmed_is_said_and_left_to_do() -> None:
    customer, _ = records_of([*opening(), *found()[:1]])
    assert [o.confirmed for o in customer.orders] == [False]
    assert customer.left[0].startswith("Make the gate safe")


def test_an_order_confirmed_before_it_was_raised_is_not_confirmed() -> None:
    safe, touched = found()[1], found()[0]
    customer, _ = records_of([*opening(), safe, touched])
    assert [o.state for o in customer.orders] == ["NOT CONFIRMED SAFE YET."]


def test_an_unconfirmed_order_stays_open_after_a_repair_made_its_answer_obsolete() -> None:
    events = [*opening(), *found()[:1], Repaired("splice_with_water"), Proved(False)]
    assert [o.confirmed for o in records_of(events)[1].orders] == [False]


def test_an_order_whose_answer_a_repair_made_obsolete_keeps_its_confirmation() -> None:
    stopped: list[Event] = [*opening(), Reply("out_bridge_look", "bridge_found")]
    mended: list[Event] = [Repaired("protective_contact_bridged"), Proved(False)]
    unconfirmed = records_of([*stopped, *mended])[1]
    confirmed = records_of([*stopped, Reply("gate_made_safe", "made_safe", by="Kim"), *mended])[1]
    assert [o.state for o in unconfirmed.orders] == ["NOT CONFIRMED SAFE YET."]
    assert [(o.confirmed, o.state[-6:]) for o in confirmed.orders] == [(True, "by Kim")]


def test_what_a_caller_confirmed_stays_in_the_caller_s_words() -> None:
    check = knowledge().checks["gate_made_safe"]
    call: list[Event] = [Begin(Setup("help_desk"), "ghost_opening"), Reply("anyone_touched", "touched")]
    call += [Reply("gate_made_safe", "made_safe"), TakeOver(Setup(), "Kim")]
    for record in records_of(call):
        assert check.caller_options["made_safe"] in record.orders[0].state
        assert check.options["made_safe"] not in record.orders[0].state
    (own,) = [o.state for o in records_of([*opening(), *found()[:2]])[0].orders]
    assert check.options["made_safe"] in own


def test_nothing_is_called_wanted_while_nothing_stands_out() -> None:
    visit: list[Event] = [Begin(Setup(), "ghost_opening"), *found()[:2], Reply("use_wish", "differs")]
    session = replay(knowledge(), visit)
    leader, chance = conclude(reasoner(), session).belief.ranked()[0]
    assert leader == knowledge().settings.designed_cause and chance < knowledge().settings.act_at
    assert not summarise(reasoner(), session, conclude(reasoner(), session)).designed


def test_a_reading_comes_with_its_arithmetic_at_the_check_that_completed_it() -> None:
    volts = checked(whole_records()[0], 0, "Volts at the sensor")
    assert volts.said == "9.4 V" and volts.by == "A. Tester"
    assert any("24.0 V over 44 m of 0.5 mm2 should leave" in limit for limit in volts.limits)
    after = checked(whole_records()[0], 1, "Volts at the sensor")
    assert any("22.9 V measured" in limit for limit in after.limits)
    both = records_of([*opening(), Reply("sup_current", 0.5), Reply("sup_supply_rating", 1.0)])[1].stages[0].checks
    assert "Wanted" in both[0].limits[0] and "ratio 0.5" in both[1].limits[0]


def test_a_reading_that_could_not_be_calculated_with_says_in_full_what_was_wanted() -> None:
    customer, full = records_of([*opening(), Reply("sup_current", 0.5)])
    assert full.stages[0].checks[0].limits == (f"Wanted: {knowledge().checks['sup_current'].good}",)
    assert customer.stages[0].checks[0].limits == ()


def test_how_sure_an_answer_was_is_said_and_unanswered_checks_stand_in_full_only() -> None:
    customer, full = whole_records()
    assert checked(customer, 0, "When the trouble shows").said.endswith("(not sure)")
    change = knowledge().checks["recent_change"]
    assert checked(full, 0, change.ask).said == "not known"
    assert change.ask not in words_of(customer) and "What changed" not in words_of(customer)


def test_an_answer_that_no_longer_counts_is_marked_in_full_and_kept_from_customers() -> None:
    kb = knowledge()
    hangs = next(c for c in kb.checks.values() if set(c.only_if) == {"complaint"} and c.kind == "choice")
    start = opening()[0]
    assert isinstance(start, Begin)
    begin = Begin(start.setup, hangs.only_if["complaint"][0])
    other = next(c for c in kb.complaints if c not in hangs.only_if["complaint"])
    stays, lapses = Reply("power_lamp", "steady"), Reply(hangs.id, next(iter(hangs.options)))
    customer, full = records_of([begin, stays, lapses, Complain(other)])
    assert [c.counted for c in full.stages[0].checks] == [True, False]
    assert len(customer.stages[0].checks) == 1


def test_checks_before_and_after_a_repair_are_put_side_by_side() -> None:
    pairs = {c.asked: (c.before, c.now) for c in whole_records()[0].compared}
    assert pairs["Volts at the sensor"] == ("9.4 V", "22.9 V")
    assert len(pairs) == 3
    assert records_of([*opening(), *found()])[0].compared == ()


def test_repairs_come_with_their_proof_and_what_it_showed() -> None:
    first, second = whole_records()[0].repairs
    assert (first.result, first.reading, first.passed) == ("proof failed", "9.6 V at the sensor, still low", False)
    assert second.passed and "≥ 22.9 V" in second.reading and second.note == "B. Second; Box drained, gland replaced"
    assert second.proof == knowledge().causes["splice_with_water"].proof


def test_stages_are_named_after_the_repairs_they_led_to() -> None:
    assert [s.says[:15] for s in whole_records()[1].stages] == ["Before repair 1", "Before repair 2"]
    after_failure = records_of([*opening(), *found(), *mending()[:4]])[1]
    assert after_failure.stages[-1].says == "After repair 1"
    assert records_of([*opening(), *found()])[1].stages[0].says == "On this visit"


def test_the_checklist_carries_results_and_what_is_open_is_left_to_do() -> None:
    assert {p.result for p in whole_records()[1].checklist} == {"passed"} and not whole_records()[1].left
    unticked = records_of([*opening(), *found(), *mending()])[1]
    assert {p.result for p in unticked.checklist} == {"not done"}
    assert set(unticked.left) == {*(p.says for p in unticked.checklist), "Close the visit."}


def test_an_unproved_repair_is_owed() -> None:
    record = records_of([*opening(), *found(), Repaired("splice_with_water")])[0]
    assert record.repairs[0].result == "proof still owed"
    assert f"Prove the repair: {record.repairs[0].proof}" in record.left


def test_evidence_adds_up_to_the_log_odds_against_the_rival() -> None:
    events = whole()
    session = replay(knowledge(), events)
    belief = conclude(reasoner(), session).belief
    (leader, p), (_, q) = belief.ranked()[:2]
    suspect = whole_records()[1].suspects[0]
    assert suspect.says == knowledge().causes[leader].says
    assert math.isclose(sum(e.decibans for e in suspect.evidence), 10 * math.log10(p / q), abs_tol=1e-6)


def test_a_customer_is_told_what_was_mended_and_nothing_of_other_suspects() -> None:
    customer, full = whole_records()
    splice = "Water in a cable splice, or in a cable that lies in a wet duct"
    assert customer.conclusion == full.conclusion == f"Found and mended: {splice}."
    assert customer.suspects == () and len(full.suspects) > 1
    assert "before the proof of the repair" in words_of(full)


def test_a_customer_hears_of_likely_causes_only_when_one_stands_out() -> None:
    assert records_of(opening())[0].suspects == ()
    likely = records_of([*opening(), *found()[:8]])[0]  # before the insulation is tested, which settles it
    assert likely.conclusion.startswith(f"Not concluded yet. Most likely: {likely.suspects[0].says} - ")
    assert len(likely.suspects) == 3
    assert all(not s.evidence and not s.rival for s in likely.suspects)


def test_a_customers_record_has_no_weights_no_digest_and_no_internal_names() -> None:
    for events in (whole(), [*opening(), *found()], [*opening(), *found(), *mending()]):
        says = words_of(records_of(events)[0])
        assert "weight" not in says.casefold() and knowledge().digest not in says
        assert not re.findall(r"\b[a-z0-9]+_[a-z0-9_]+\b", says)
    assert "weight +" in words_of(whole_records()[1]) and knowledge().digest in words_of(whole_records()[1])


def test_the_reason_for_leaving_a_gate_out_of_service_is_on_the_record() -> None:
    record = records_of([*opening(), *found(), Close("left_out", "part on order")])[0]
    page = lay_out(record)
    assert (page.banner, page.reason, page.tone) == ("LEFT OUT OF SERVICE.", "Reason: part on order", "bad")


def test_a_visit_begun_under_other_knowledge_says_so() -> None:
    start = opening()[0]
    assert isinstance(start, Begin)
    older = Begin(start.setup, start.complaint, digest="0123456789abcdef")
    assert records_of([older])[1].knowledge == f"{knowledge().digest}; the visit began with 0123456789abcdef"


def test_profile_numbers_come_with_one_unit() -> None:
    facts = {(f.of, f.name): f.value for f in whole_records()[1].profile}
    assert facts["device", "supply min"] == "11 V" and facts["site", "cable area"] == "0.5 mm²"
    assert facts["device", "temp min"] == "-22 °C" and facts["device", "planes"] == "3"
    assert whole_records()[0].profile == ()
