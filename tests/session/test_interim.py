"""What is for the caller: his own remedies in safe order, his own proof, and what holds until somebody comes."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from diagnose.core.explain import Weight
from diagnose.model.knowledge import CallerRemedy, Cause, KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.session import events as e
from diagnose.session.caller import MOST_OWN, his_own, meanwhile, proof_of, told_steps
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.session.summary import Ranked, Summary
from tests.shipped import begun, knowledge, quick

CALL = Setup("help_desk")


def own_remedies(kb: KnowledgeBase) -> Iterator[tuple[Cause, CallerRemedy]]:
    return ((cause, cause.caller) for cause in kb.causes.values() if cause.caller)


def after(*events: e.Event, complaint: str = "ghost_opening", setup: Setup = CALL) -> Session:
    session = begun(complaint, setup)
    for event in events:
        session = step(knowledge(), session, event)
    return session


def said(session: Session) -> tuple[str, ...]:
    return meanwhile(knowledge(), session, conclude(quick(), session))


def always() -> tuple[str, ...]:
    return tuple(knowledge().cautions[c].says for c in knowledge().settings.meanwhile)


def test_whatever_brings_hands_near_the_gate_is_told_between_off_and_on_again() -> None:
    kb = knowledge()
    before, behind = (kb.cautions[c].says for c in (kb.settings.caller_before, kb.settings.caller_after))
    for cause, remedy in own_remedies(kb):
        told = told_steps(kb, remedy)
        assert (told[0] == before and told[-1] == behind) == remedy.hands_near, cause.id
        assert [s for s in told if s in remedy.steps] == list(remedy.steps)
        assert {kb.cautions[c].says for c in remedy.cautions} <= set(told[: -len(remedy.steps)])


def test_what_was_said_in_full_is_called_to_mind_and_never_left_out() -> None:
    kb = knowledge()
    for cause, remedy in own_remedies(kb):
        told = told_steps(kb, remedy, again=True)
        if remedy.hands_near:
            assert "gate off" in told[0] and "somebody watching" in told[0] and "on again" in told[-1], cause.id
        assert {kb.cautions[c].says for c in remedy.cautions} <= set(told)


def summary(*causes: str, probability: float = 0.3) -> Summary:
    kb, start = knowledge(), Weight("", "", 0.0)
    ranked = tuple(Ranked(kb.causes[c], probability, "", start, ()) for c in causes)
    return Summary(ranked, (), (), False, False, True)


def test_the_leading_ones_that_a_caller_can_do_are_his_on_the_phone_alone() -> None:
    session = after()
    found = conclude(quick(), session)
    several = summary("output_contact_welded", "debris_in_area", "snow_bank_in_area", "window_dirty")
    assert [r.cause.id for r, _ in his_own(session, found, several)] == ["debris_in_area", "snow_bank_in_area"]
    assert len(his_own(session, found, several)) == MOST_OWN
    assert not his_own(session, found, summary("debris_in_area", probability=0.01))
    assert not his_own(after(setup=Setup()), found, several)
    assert not his_own(session, replace(found, stands=("stop_contact",)), several)


@pytest.mark.parametrize("complaint", knowledge().complaints)
def test_every_complaint_has_its_measures_on_the_phone_and_none_at_the_gate(complaint: str) -> None:
    kb, session = knowledge(), after(complaint=complaint)
    orders = conclude(quick(), session).stands
    assert bool(orders) == (complaint == "hits_vehicle")  # an order by itself, whose measures are stricter
    own = kb.cautions[orders[0]].meanwhile if orders else kb.complaints[complaint].meanwhile
    assert said(session) == (*own, *always())
    assert said(after(complaint=complaint, setup=Setup())) == ()


@pytest.mark.parametrize("touched", knowledge().checks["anyone_touched"].options)
def test_the_measures_of_an_order_take_the_place_of_the_complaint_s(touched: str) -> None:
    kb, session = knowledge(), after(e.Reply("anyone_touched", touched))
    orders = conclude(quick(), session).stands
    told = said(session)
    assert told[-len(always()) :] == always()
    if orders:
        assert told[0] == kb.cautions[orders[0]].meanwhile[0]
        assert not set(kb.complaints["ghost_opening"].meanwhile) & set(told)
    else:
        assert told[0] == kb.complaints["ghost_opening"].meanwhile[0]


def test_some_answer_orders_stop_work_so_that_the_test_above_sees_both() -> None:
    options = knowledge().checks["anyone_touched"].options
    ordered = [bool(conclude(quick(), after(e.Reply("anyone_touched", o))).stands) for o in options]
    assert any(ordered) and not all(ordered)


FREE = e.Close("solved_on_phone")
OWED = e.Close("proof_owed", by="Kim", due="2026-12-03", meanwhile="off at its switch")


def solved(cause: str, end: e.Close) -> Session:
    return after(e.Repaired(cause, by="caller"), e.Proved(True), end)


def test_once_solved_the_measures_hold_only_where_a_protective_function_is_still_to_be_proved() -> None:
    kb = knowledge()
    free, touching = "push_button_stuck", "window_dirty"
    protective = {c: any(kb.proofs[t].protective for t in kb.causes[c].remedy.touches) for c in (free, touching)}
    assert protective == {free: False, touching: True}
    assert not said(solved(free, FREE))
    assert said(solved(touching, OWED))


def test_a_caller_proves_by_what_he_sees_and_a_technician_by_the_technician_s_proof() -> None:
    cause = knowledge().causes["window_dirty"]
    assert cause.caller
    assert proof_of(cause, "caller") == (cause.caller.proof, cause.caller.proof_minutes)
    for by in ("", "technician"):
        assert proof_of(cause, by) == (cause.proof, cause.proof_minutes)
