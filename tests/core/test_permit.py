"""Nobody is ever asked to do what their role must not do: over every check, and over every path to one."""

import re
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.core import permit
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.core.rules import fixpoint
from diagnose.kb.domain import answers_of
from diagnose.model.knowledge import Check
from diagnose.model.visit import Answer, Setup
from tests.shipped import knowledge

KB = knowledge()
CALL = Setup("help_desk")
UNLICENSED = Setup("technician")
BARE_HANDS = Setup("technician", electrician=True, tools=frozenset())
FORBIDDEN = re.compile(
    r"\b(unscrew|undo|measure|multimeter|bridge|climb|ladder|disconnect|unplug|touch the (wire|cable)|"
    r"open (the|a|its) (cover|box|cabinet|lid|housing|enclosure)|reach (in|into)|stand (in|under|between))\b",
    re.IGNORECASE,
)


def allowed(check: Check, setup: Setup) -> bool:
    """The rule in words of its own, not the code under test."""
    if setup.role == "help_desk":
        return check.who == "caller" and check.ask_caller != "never" and not check.access and not check.tools
    licensed = check.who != "electrician" or setup.electrician
    mains = check.access != "mains_compartment" or setup.electrician
    return licensed and mains and (setup.tools is None or not set(check.tools) - setup.tools)


@pytest.mark.parametrize("setup", [CALL, UNLICENSED, BARE_HANDS], ids=["call", "unlicensed", "bare hands"])
def test_the_gate_lets_through_nothing_forbidden(setup: Setup) -> None:
    """Every check of the shipped knowledge, whatever is known: no conditions are looked at here."""
    let_through = [c for c in KB.checks.values() if permit.may_do(c, setup)]
    assert len(let_through) > 50
    assert [c.id for c in let_through if not allowed(c, setup)] == []


def test_every_path_to_a_check_passes_the_gate() -> None:
    """The only roles of a proposed check: opening, made safe, needed, gain. The first two must suit everybody."""
    for name in (KB.settings.made_safe_check,):
        assert all(permit.may_do(KB.checks[name], s) for s in (CALL, UNLICENSED, BARE_HANDS))


@cache
def reasoner() -> Reasoner:
    from functools import partial

    return Reasoner(KB, partial(fixpoint, KB))


def proposed(conclusion: Conclusion) -> set[str]:
    gains = {g.option.check for g in conclusion.gains}
    return gains | ({conclusion.next.check} if conclusion.next.check else set())


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_no_sequence_of_answers_leads_to_a_forbidden_check(data: st.DataObject) -> None:
    """Random answers, volunteered ones included, so that unlocks, needs, stop-work and insisting all happen."""
    setup = data.draw(st.sampled_from([CALL, UNLICENSED, BARE_HANDS]))
    complaint = data.draw(st.sampled_from(sorted(KB.complaints)))
    answers: list[Answer] = []
    for check_id in data.draw(st.lists(st.sampled_from(sorted(KB.checks)), max_size=6, unique=True)):
        words = sorted(answers_of(KB.checks[check_id]))
        if words:
            answers.append(Answer(check_id, data.draw(st.sampled_from(words))))
    for _ in range(4):
        conclusion = reasoner().conclude(setup, complaint, answers, insist=True)
        assert [c for c in proposed(conclusion) if not allowed(KB.checks[c], setup)] == []
        running = {c.id for c in KB.checks.values() if c.runs_gate}
        assert not (conclusion.after.stop_work and proposed(conclusion) & running)
        if not conclusion.next.check:
            break
        words = sorted(answers_of(KB.checks[conclusion.next.check])) or ["dont_know"]
        answers.append(Answer(conclusion.next.check, data.draw(st.sampled_from([*words, "dont_know"]))))


@pytest.mark.parametrize("safe", ["not_safe", "made_safe"])
def test_nothing_runs_the_gate_while_a_stop_work_order_stands(safe: str) -> None:
    """Confirmed or not; the same questions without the order do propose to run it."""
    running = {c.id for c in KB.checks.values() if c.runs_gate}
    ways = [("nobody", "gate_ignores_sensor"), ("touched", "gate_ignores_sensor"), ("nobody", "hits_vehicle")]
    for setup in (CALL, UNLICENSED, Setup(electrician=True)):
        for touched, complaint in ways:
            answers = [Answer("anyone_touched", touched), Answer(KB.settings.made_safe_check, safe)]
            conclusion = reasoner().conclude(setup, complaint, answers, insist=True)
            stopped = (touched, complaint) != ways[0]
            assert bool(conclusion.after.stop_work) is stopped
            assert bool(proposed(conclusion) & running) is not stopped


RUNNING_WORDS = re.compile(
    r"\b(one (full |slow )?cycle|full cycle|hold-to-run|close command|start a test|drive starts|run on|"
    r"on a (direct )?command|while the drive)\b"
)


def test_checks_that_speak_of_a_running_gate_are_marked() -> None:
    """A net for new checks: words of a movement under power, in the question or the way of doing it."""
    said = {c.id for c in KB.checks.values() if RUNNING_WORDS.search(f"{c.ask} {c.help}") and c.finding}
    assert len(said) > 10
    assert sorted(c for c in said if not KB.checks[c].runs_gate) == []


def test_callers_are_told_nothing_dangerous_and_where_to_stand() -> None:
    callers = [c for c in KB.checks.values() if c.ask_caller != "never"]
    assert [(c.id, m.group()) for c in callers if (m := FORBIDDEN.search(c.ask_caller))] == []
    looks = [c for c in callers if re.search(r"\b(look|see|watch|light|lamp)\b", c.ask_caller, re.IGNORECASE)]
    assert len(looks) > 20
