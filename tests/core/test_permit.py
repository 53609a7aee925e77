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
        if not conclusion.next.check:
            break
        words = sorted(answers_of(KB.checks[conclusion.next.check])) or ["dont_know"]
        answers.append(Answer(conclusion.next.check, data.draw(st.sampled_from([*words, "dont_know"]))))


def test_callers_are_told_nothing_dangerous_and_where_to_stand() -> None:
    callers = [c for c in KB.checks.values() if c.ask_caller != "never"]
    assert [(c.id, m.group()) for c in callers if (m := FORBIDDEN.search(c.ask_caller))] == []
    looks = [c for c in callers if re.search(r"\b(look|see|watch|light|lamp)\b", c.ask_caller, re.IGNORECASE)]
    assert len(looks) > 20
