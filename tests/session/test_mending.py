"""Repair, proof, what a repair makes obsolete, the checklist, and what a visit may end as."""

from dataclasses import replace

import pytest

from diagnose.core.reason import Reasoner
from diagnose.errors import SessionError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.session.checklist import checklist, open_items
from diagnose.session.events import (
    AnotherFault,
    Back,
    Begin,
    Close,
    Complain,
    Event,
    Proved,
    Repaired,
    Reply,
    TakeOver,
    Ticked,
)
from diagnose.session.session import conclude, replay, step
from diagnose.session.state import Session
from diagnose.session.summary import summarise
from tests.build import ALWAYS, BRIDGES, COVERS, cause, check, knowledge, proofs, rule
from tests.shipped import knowledge as shipped

NO = ("no", "yes")
STUCK = {"stuck": "typical"}


def small() -> KnowledgeBase:
    causes = [
        cause("wire", {"wire_look": {"yes": 0.9}}, complaints=STUCK, touches=("zone",)),
        cause("lamp", {"lamp_look": {"yes": 0.9}}, complaints=STUCK),
        cause("something_else", {"lamp_look": {"yes": 0.2}}, complaints=STUCK),
    ]
    checks = [
        check("wire_look", NO, {"yes": 0.05}, access="box"),
        check("lamp_look", NO, {"yes": 0.05}),
        check("gap", (), {}, options={"no": "no", "yes": "yes"}),
    ]
    lost = rule("lost", {"gap": ["yes"]}, stop_work="stop_protection_lost")
    kb = knowledge(causes, checks, [lost], complaints=["stuck"], access={"box": 5.0})
    stop = replace(kb.cautions["stop"], id="stop_protection_lost")
    box = replace(kb.access["box"], enclosure=True)
    never_waved = {**ALWAYS, "never_waved_after": ("stop_protection_lost",)}
    owed = proofs(zone={"says": "drive through it"}, protective_zone=never_waved, covers=COVERS, bridges=BRIDGES)
    return replace(kb, cautions={**kb.cautions, stop.id: stop}, access={"box": box}, proofs=owed)


KB = small()
SEEN = (Reply("wire_look", "yes"), Reply("lamp_look", "no"))


def after(*events: Event, setup: Setup | None = None) -> Session:
    return replay(KB, [Begin(setup or Setup(), "stuck"), *events])


def refused(session: Session, event: Event) -> str:
    with pytest.raises(SessionError) as caught:
        step(KB, session, event)
    return str(caught.value)


def test_a_failed_proof_drops_no_evidence_and_a_good_one_what_it_mended() -> None:
    session = after(*SEEN, Repaired("wire"), Proved(False, "still stuck"))
    assert [a.check for a in session.given] == ["wire_look", "lamp_look"]
    good = after(*SEEN, Repaired("wire"), Proved(True), AnotherFault())
    assert [a.check for a in good.given] == ["lamp_look"]
    assert [a.check for a in session.attempts[0].answers] == ["wire_look", "lamp_look"]
    assert session.repairs[0].proof == "failed"


def test_answers_keep_their_numbers_over_a_failed_proof_and_close_up_after_a_good_one() -> None:
    events = (*SEEN, Reply("wire_look", "no"), Reply("wire_look", "yes"), Repaired("wire"))
    failed = after(*events, Proved(False, "still stuck"))
    assert [failed.number(c) for c in ("wire_look", "lamp_look", "gap")] == [1, 2, 3]
    good = after(*events, Proved(True), AnotherFault())
    assert [good.number(c) for c in ("lamp_look", "wire_look")] == [1, 2]


def test_after_a_failed_proof_the_cause_is_no_longer_the_explanation_and_its_look_is_asked_anew() -> None:
    reasoner = Reasoner(KB)
    before = conclude(reasoner, after(*SEEN))
    then = conclude(reasoner, after(*SEEN, Repaired("wire"), Proved(False)))
    assert before.belief.ranked()[0][0] == "wire"
    assert then.belief.probability("wire") < before.belief.probability("wire") / 2
    assert {g.option.check for g in then.gains} >= {"wire_look"}
    assert "lamp_look" not in {g.option.check for g in then.gains}


def test_a_remedy_tried_in_vain_comes_again_only_after_a_look_that_speaks_for_it() -> None:
    reasoner = Reasoner(replace(KB, settings=replace(KB.settings, botched_repair=0.5)))
    failed = after(*SEEN, Repaired("wire"), Proved(False))
    for session, again in ((failed, False), (step(KB, failed, Reply("wire_look", "yes")), True)):
        found = conclude(reasoner, session)
        assert found.belief.probability("wire") > KB.settings.act_at
        assert ("wire" in summarise(reasoner, session, found).order) == again


def test_a_second_fault_is_looked_for_with_the_first_one_surely_mended() -> None:
    session = after(*SEEN, Repaired("wire"), Proved(True), AnotherFault(), Complain("stuck"))
    assert session.attempts[0].surely_mended
    assert conclude(Reasoner(KB), session).belief.probability("wire") == 0.0
    assert "proved good" in refused(after(*SEEN), AnotherFault())


def test_a_repair_owes_its_proof_before_the_next_and_before_closing() -> None:
    session = after(*SEEN, Repaired("wire"))
    assert "not been proved" in refused(session, Repaired("lamp"))
    assert "not been proved" in refused(session, Close("in_service"))
    assert "no repair is waiting" in refused(after(*SEEN), Proved(True))
    assert "no cause" in refused(after(), Repaired("ghost"))


def test_the_checklist_is_built_from_what_was_touched() -> None:
    assert checklist(KB, after(Reply("lamp_look", "no"))) == []
    session = after(*SEEN, Repaired("wire"), Proved(True))
    assert [i.id for i in checklist(KB, session)] == ["protective_zone", "zone", "covers"]
    assert "bridges" not in {i.id for i in checklist(KB, session)}


@pytest.mark.parametrize(
    ("devices", "owed"),
    [((), True), (("laser", "edge"), True), (("laser",), False)],
    ids=["nobody_said", "edge", "none"],
)
def test_what_a_remedy_touches_is_proved_unless_the_gate_is_known_to_have_none(
    devices: tuple[str, ...], owed: bool
) -> None:
    """A new board owes the edge's proof too; a gate without an edge has nothing to press."""
    kb = shipped()
    board = next(c.id for c in kb.causes.values() if "edge" in c.remedy.touches and c.remedy.who == "technician")
    begun = Begin(Setup(devices=devices), "stuck_open")
    session = replay(kb, [begun, Repaired(board), Proved(True, "ten cycles seen")])
    assert ("edge" in {item.id for item in checklist(kb, session)}) == owed


def test_in_service_needs_every_item_and_left_out_needs_a_reason() -> None:
    session = after(*SEEN, Repaired("wire"), Proved(True))
    for item in ("zone", "covers", "protective_zone"):
        assert "still open" in refused(session, Close("in_service"))
        session = step(KB, session, Ticked(item, "pass", "seen"))
    assert step(KB, session, Close("in_service")).outcome == "in_service"
    failed = step(KB, session, Ticked("zone", "fail", "left corner blind"))
    assert "drive through it" in refused(failed, Close("in_service"))
    assert "say why" in refused(failed, Close("left_out"))
    assert step(KB, failed, Close("left_out", "part ordered")).outcome == "left_out"


def test_a_lost_protection_cannot_be_waved_through() -> None:
    lost = after(Reply("gap", "yes"))
    assert [i.id for i in open_items(KB, lost)] == ["protective_zone"]
    assert "needs the reason" in refused(lost, Ticked("protective_zone", "na"))
    waved = step(KB, lost, Ticked("protective_zone", "na", "no time"))
    assert "still open" in refused(waved, Close("in_service"))
    assert step(KB, waved, Ticked("protective_zone", "pass", "4 corners")).ticks[-1].result == "pass"


def test_a_stop_order_stands_even_when_a_repair_made_its_answer_obsolete() -> None:
    kb = replace(KB, causes={**KB.causes, "wire": replace(KB.causes["wire"], signs={"wire_look": {"yes": 0.9}})})
    session = replay(
        kb, [Begin(Setup(), "stuck"), Reply("gap", "yes"), Repaired("wire"), Proved(False), Reply("gap", "no")]
    )
    assert [i.id for i in open_items(kb, session)] == ["protective_zone", "zone"]


def test_a_call_ends_solved_with_a_proof_or_is_dispatched() -> None:
    call, there = Setup("help_desk"), "technician"
    assert "nothing was proved" in refused(after(setup=call), Close("solved_on_phone"))
    assert "only somebody at the gate" in refused(after(setup=call), Close("in_service"))
    mended = after(Repaired("lamp", by=there), Proved(True), setup=call)
    assert step(KB, mended, Close("solved_on_phone")).outcome == "solved_on_phone"
    kb = replace(KB, proofs={**KB.proofs, **proofs(zone={"protective": True})})
    touched = replay(kb, [Begin(call, "stuck"), Repaired("wire", by=there), Proved(True)])
    with pytest.raises(SessionError, match="with the proof owed"):
        step(kb, touched, Close("solved_on_phone"))
    danger = after(Reply("gap", "yes"), TakeOver(call), Repaired("lamp", by=there), Proved(True))
    assert "must prove the gate safe" in refused(danger, Close("solved_on_phone"))
    assert step(KB, danger, Close("dispatched", "gate left open")).outcome == "dispatched"
    assert "call to the help-desk" in refused(after(*SEEN), Close("solved_on_phone"))


def test_back_undoes_mending_step_by_step() -> None:
    seen = after(*SEEN)
    events: list[Event] = [Repaired("wire"), Proved(False), Reply("wire_look", "no")]
    states = [seen]
    for event in events:
        states.append(step(KB, states[-1], event))
    session = states[-1]
    for expected in reversed(states[:-1]):
        session = step(KB, session, Back())
        assert session == expected
    assert [a.check for a in step(KB, session, Back()).answers] == ["wire_look"]


def test_a_closed_visit_takes_no_answer_and_back_takes_its_end_back() -> None:
    session = after(Reply("lamp_look", "no"), Close("left_out", "dark"))
    assert "closed" in refused(session, Reply("lamp_look", "yes"))
    assert step(KB, session, Back()).outcome == ""


def test_somebody_else_takes_over_with_all_answers() -> None:
    call = after(*SEEN, TakeOver(Setup("help_desk")))
    there = step(KB, call, TakeOver(Setup("technician", electrician=True), by="van 2"))
    assert there.setup.role == "technician"
    assert there.given == call.given


@pytest.mark.parametrize("event", [Ticked("moon", "pass"), Ticked("zone", "perhaps"), Close("gone home")])
def test_nonsense_is_refused_by_name(event: Event) -> None:
    assert refused(after(*SEEN), event)
