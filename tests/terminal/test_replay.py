"""The demonstration visits, played from their scripts: how each ends, what was proved, and whose word counted."""

import io
from functools import cache
from pathlib import Path

import pytest

from diagnose.core.reason import Conclusion
from diagnose.model.visit import Earlier, Setup
from diagnose.session.checklist import open_items, ordered
from diagnose.session.events import Reply, TakeOver
from diagnose.session.mending import still_holds
from diagnose.session.session import BY_CALLER, step
from diagnose.session.state import Session
from diagnose.terminal.replay import TRANSCRIPT_WIDTH, ScriptPlayer
from diagnose.terminal.screen import Screen
from tests.shipped import begun, knowledge, reasoner
from tests.terminal.typed import play

STEADY = f"off, nothing lit [replaces: {knowledge().checks['power_lamp'].options['steady']} (caller, by eye)]"
DEMOS = Path(__file__).parents[2] / "transcripts_demo"
GOLDEN: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "call_solved_on_the_phone": ("proof_owed", [("photo_eye_web", "passed")]),
    "call_handed_over_wrong_answer": ("in_service", [("low_voltage_fuse_blown", "passed")]),
    "failed_first_remedy": ("in_service", [("window_wet_drops", "failed"), ("junction_box_wet", "passed")]),
    "two_faults": ("in_service", [("object_put_in_area", "passed"), ("auto_close_off", "passed")]),
    "stop_work_left_out": ("left_out", []),
    "works_as_set_up": ("nothing_wrong", []),
    "outside_the_list": ("dispatched", []),  # after it was given to the maker, and opened again
}


@cache
def ended(name: str) -> tuple[Session, Conclusion, str]:
    out = io.StringIO()
    session, conclusion = ScriptPlayer(reasoner(), Screen(out, TRANSCRIPT_WIDTH, plain=True)).play(
        DEMOS / f"{name}.yaml"
    )
    return session, conclusion, out.getvalue()


@pytest.mark.parametrize("name", GOLDEN)
def test_a_demonstration_visit_ends_as_expected_with_the_causes_that_were_proved(name: str) -> None:
    session, _, text = ended(name)
    outcome, repairs = GOLDEN[name]
    assert (session.outcome, [(r.cause, r.proof) for r in session.repairs]) == (outcome, repairs)
    assert all(r.reading and r.note for r in session.repairs)
    assert "too few answers" not in text


@pytest.mark.parametrize("name", [name for name, (_, repairs) in GOLDEN.items() if repairs])
def test_the_cause_that_was_proved_led_when_it_was_repaired(name: str) -> None:
    session, conclusion, _ = ended(name)
    assert conclusion.belief.ranked()[0][0] == session.repairs[-1].cause


@pytest.mark.parametrize("name", [name for name, (outcome, _) in GOLDEN.items() if outcome == "in_service"])
def test_back_in_service_means_that_every_item_was_ticked_with_a_reading(name: str) -> None:
    session, _, _ = ended(name)
    assert open_items(knowledge(), session) == []
    assert session.ticks and all(t.result == "pass" and t.reading for t in session.ticks)


def test_answers_tell_whose_they_are_when_somebody_else_gave_them_and_what_they_replace() -> None:
    kb, call = knowledge(), begun(setup=Setup("help_desk"))
    for check, value in (("power_lamp", "steady"), ("lamp_clear", "clear")):
        call = step(kb, call, Reply(check, value))
    assert "[" not in play("answers", session=call).text.partition("Answers so far")[2].partition("Calculated")[0]
    there = step(kb, call, TakeOver(Setup(), "van 2"))
    text = play("change 1", "off", "answers", session=there).flat()
    assert "shows clear [caller, by eye]" in text
    assert STEADY in text
    again = play("answers", session=step(kb, play("change 1", "off", session=there).session, TakeOver(call.setup)))
    plain = knowledge().checks["power_lamp"].caller_options["steady"]
    assert f"[van 2; replaces: {plain} (caller, by eye)]" in again.flat()


def test_a_caller_s_wrong_answer_is_replaced_and_the_record_says_whose_it_was() -> None:
    session, _, text = ended("call_handed_over_wrong_answer")
    lamp = session.answer("power_lamp")
    van = "technician in the van"
    assert lamp and (lamp.value, lamp.by, lamp.replaced) == ("off", van, Earlier("steady", BY_CALLER))
    assert STEADY in " ".join(text.split())


@pytest.mark.parametrize(("name", "mended"), [("failed_first_remedy", False), ("two_faults", True)])
def test_the_looks_that_a_repair_made_obsolete_are_asked_anew(name: str, mended: bool) -> None:
    session, _, _ = ended(name)
    (attempt,) = session.attempts
    asked = {a.check for a in session.answers}
    again = [a for a in attempt.answers if a.check in asked]
    assert attempt.surely_mended is mended
    assert again and not any(still_holds(knowledge(), a, attempt.cause) for a in again)
    assert "anyone_touched" in {a.check for a in session.carried} - asked


def test_a_gate_left_out_of_service_says_why_on_its_tag_and_what_is_still_open() -> None:
    session, _, text = ended("stop_work_left_out")
    flat = " ".join(text.split())
    assert "stop_protection_lost" in ordered(knowledge(), session)
    assert f"Tag: OUT OF SERVICE - {session.reason}" in flat
    assert [(t.item, t.result) for t in session.ticks] == [("protective_zone", "fail")]
    assert all(f"Still open: {item.says}" in flat for item in open_items(knowledge(), session))


def test_a_visit_that_was_given_to_the_maker_is_opened_again_and_keeps_both_ends() -> None:
    session, _, _ = ended("outside_the_list")
    assert [end.outcome for end in session.earlier] == ["passed_on"] and session.outcome == "dispatched"
