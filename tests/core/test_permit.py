"""Nobody is ever asked to do what their role must not do: over every check, and over every path to one."""

import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.core import permit
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.core.rules import fixpoint
from diagnose.kb.check import read_register
from diagnose.kb.domain import answers_of
from diagnose.kb.files import shipped_folder
from diagnose.model.knowledge import Check
from diagnose.model.visit import Answer, Setup
from tests.build import check
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


REGISTER = read_register(shipped_folder("knowledge"))  # the safety register, kept and read apart from the checks
MAINS = "mains_compartment"


def forbidden(setup: Setup) -> frozenset[str]:
    """Checks that this role must never be asked, by what the safety register says of each."""
    said = {name: REGISTER[f"checks.{name}"] for name in KB.checks}
    if setup.role == "help_desk":
        return frozenset(
            c for c, says in said.items() if says["who"] != "caller" or says.keys() & {"access", "tools"}
        )
    mains = {c for c, says in said.items() if says["who"] == "electrician" or says.get("access") == MAINS}
    bare = {c for c, says in said.items() if setup.tools is not None and "tools" in says}
    return frozenset(bare if setup.electrician else mains | bare)


def made(**fields: Any) -> Check:
    return check("look", ("good", "bad"), {"bad": 0.05}, **{"who": "technician", **fields})


A_CALLER_S = {"who": "caller", "ask_caller": "look", "stand": "aside"}
HAS_METER = Setup("technician", tools=frozenset({"multimeter"}))


@pytest.mark.parametrize(
    ("fields", "setup", "may"),
    [
        (A_CALLER_S, CALL, True), ({**A_CALLER_S, "access": "box"}, CALL, False),
        ({**A_CALLER_S, "tools": ("multimeter",)}, CALL, False), ({**A_CALLER_S, "ask_caller": "never"}, CALL, False),
        ({}, CALL, False), ({}, UNLICENSED, True), ({"access": "box"}, UNLICENSED, True),
        ({"tools": ("multimeter",)}, UNLICENSED, True), ({"who": "electrician"}, UNLICENSED, False),
        ({"who": "electrician"}, BARE_HANDS, True), ({"tools": ("multimeter",)}, BARE_HANDS, False),
        ({"tools": ("multimeter",)}, HAS_METER, True), ({"tools": ("multimeter", "ladder")}, HAS_METER, False),
        ({"who": "electrician"}, replace(CALL, electrician=True), False),
        ({"devices": ("loop",)}, replace(UNLICENSED, devices=("laser",)), False),
        ({"devices": ("loop", "laser")}, replace(UNLICENSED, devices=("laser",)), True),
    ],
)  # fmt: skip
def test_who_may_do_what(fields: dict[str, Any], setup: Setup, may: bool) -> None:
    assert permit.may_do(made(**fields), setup) is may


def test_whoever_has_more_may_do_at_least_as_much() -> None:
    """A licence or a tool takes no check away, and what a caller may do the technician who is sent may do as well."""

    def able(setup: Setup) -> set[str]:
        return {c.id for c in KB.checks.values() if permit.may_do(c, setup)}

    some_tools = replace(BARE_HANDS, tools=frozenset(list(KB.tools)[: len(KB.tools) // 2]))
    assert able(CALL) < able(UNLICENSED) < able(Setup("technician", electrician=True))
    assert able(BARE_HANDS) < able(some_tools) < able(Setup("technician", electrician=True))


@pytest.mark.parametrize("setup", [CALL, UNLICENSED, BARE_HANDS], ids=["call", "unlicensed", "bare hands"])
def test_the_gate_lets_through_nothing_forbidden(setup: Setup) -> None:
    """Every check of the shipped knowledge, whatever is known: no conditions are looked at here."""
    let_through = {c.id for c in KB.checks.values() if permit.may_do(c, setup)}
    assert len(let_through) > 50
    assert forbidden(setup)
    assert let_through & forbidden(setup) == set()


def test_checks_that_are_asked_of_everybody_suit_everybody() -> None:
    """Made safe and the opening checks are asked before anything is weighed, so no gate stands before them."""
    names = (KB.settings.made_safe_check, *KB.settings.opening)
    assert len(names) > 2
    everybody = (CALL, UNLICENSED, BARE_HANDS)
    assert [n for n in names for s in everybody if not permit.may_do(KB.checks[n], s) or n in forbidden(s)] == []


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
        assert proposed(conclusion) & forbidden(setup) == set()
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
    r"\b(one (full |slow )?cycle|full cycle|hold-to-run(?! switch)|close command|start a test|drive starts|run on|"
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
