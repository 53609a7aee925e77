"""Gates agree with themselves: by the knowledge's own logic no two answers of one gate contradict each other."""

from collections import Counter

import pytest

from diagnose.core.facts import fact_name
from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError
from diagnose.practice.bench import CANT_SHOW, after_of
from diagnose.practice.gate import Gate, WantedGate, after_repair, draw_gate, false_leads
from diagnose.practice.lessons import practice_setup
from tests.practice.gates import shipped


def drawn(reasoner: Reasoner, seed: int, leads: int = 0) -> Gate | None:
    kinds = list(reasoner.kb.devices)
    setup = practice_setup((kinds[seed % len(kinds)],))
    try:
        return draw_gate(reasoner, setup, WantedGate(1 + (seed % 4 == 3), leads=leads), seed)
    except DiagnoseError:
        return None


def against_itself(reasoner: Reasoner, gate: Gate) -> list[str]:
    """Every way in which the answers of the gate do not fit together."""
    kb, after = reasoner.kb, after_of(reasoner.kb, gate.setup, gate.complaint, gate.results)
    wrong = [f"contradiction {rule}" for rule in after.contradictions]
    wrong += [f"{cause} denied by {rule}" for cause, rule in after.excluded.items() if cause in gate.truth]
    for check, (answer, rule) in after.settled.items():
        shown = gate.results[check]
        if answer != "skip" and shown not in (answer, CANT_SHOW):
            wrong.append(f"{check} shows {shown}, but {rule} says {answer}")
    known = {c.id: gate.setup.facts[fact_name(c)] for c in kb.checks.values() if fact_name(c) in gate.setup.facts}
    wrong += [f"{c} shows {gate.results[c]}, the profile says {v}" for c, v in known.items() if gate.results[c] != v]
    return wrong + [f"{f} looks bad without a fault" for f in false_leads(kb, gate)]


def agree(seeds: range, least: int) -> None:
    found = {seed: gate for seed in seeds if (gate := drawn(shipped(), seed))}
    wrong = {seed: against for seed, gate in found.items() if (against := against_itself(shipped(), gate))}
    assert not wrong
    assert len(found) >= least
    assert len({gate.truth for gate in found.values()}) > len(found) / 2


def test_no_two_answers_of_a_gate_contradict_each_other() -> None:
    agree(range(15), 14)


@pytest.mark.long
def test_no_two_answers_contradict_each_other_at_two_hundred_gates() -> None:
    agree(range(1000, 1200), 190)


def test_a_gate_agrees_with_itself_after_one_of_two_faults_is_mended() -> None:
    gate = drawn(shipped(), 3)
    assert gate
    assert len(gate.truth) == 2
    assert against_itself(shipped(), after_repair(shipped(), gate, gate.truth[0])) == []


def test_false_leads_are_few_and_only_where_the_lesson_is_about_them() -> None:
    counts = Counter(len(false_leads(shipped().kb, gate)) for s in range(6) if (gate := drawn(shipped(), s, leads=2)))
    assert max(counts) <= 4  # a calculation may follow from a reading that leads astray
    assert sum(n for number, n in counts.items() if number) >= 4


def test_a_dead_supply_leaves_the_lamp_dark() -> None:
    """By hand: a sensor without volts lights nothing, whatever the lamp shows at most gates without supply."""
    kb = shipped().kb
    for seed in range(4):
        setup = practice_setup(("laser",))
        gate = draw_gate(shipped(), setup, WantedGate(family="supply", complaints=("dead_indicators",)), seed)
        facts = after_of(kb, gate.setup, gate.complaint, gate.results).facts
        assert ("sup_sensor_verdict", "none") not in facts or gate.results["power_lamp"] != "steady"
