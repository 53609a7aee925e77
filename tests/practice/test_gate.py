"""Hidden gates: the same for the same seed, readings that mean what was drawn, no rule that denies the truth."""

from dataclasses import replace
from functools import cache, partial

import numpy as np
import pytest

from diagnose.core.facts import fact_name, gather
from diagnose.core.findings import observe
from diagnose.core.reason import Reasoner
from diagnose.core.rules import consequences, fixpoint
from diagnose.errors import DiagnoseError
from diagnose.measure.simulate import draw_truth
from diagnose.model.bearing import bearing
from diagnose.model.knowledge import Effect
from diagnose.model.visit import Answer, Setup
from diagnose.practice.bench import CANT_SHOW, after_of
from diagnose.practice.gate import Gate, WantedGate, after_repair, draw_gate, false_leads, made_gate
from diagnose.practice.lessons import practice_reasoner
from diagnose.practice.readings import reading
from tests.build import cause, check, single_fault
from tests.practice.gates import LASER, drops, shipped, small, two


def state_read(gate: Gate, name: str) -> str | None:
    """The state the knowledge makes of the check's result, with what the calculation or rule needs beside it."""
    kb = shipped().kb
    check = kb.checks[name]
    assert check.finding
    inputs = kb.calculations[check.finding.fact].inputs.values() if check.finding.fact in kb.calculations else ()
    asked = [*check.needs, *(i for i in inputs if i in kb.checks), name]
    answers = [Answer(c, gate.results[c]) for c in dict.fromkeys(asked)]
    known = gather(kb, gate.setup, gate.complaint, answers)
    after = consequences(kb, *fixpoint(kb, known.facts))
    seen = {o.finding: o.state for o in observe(kb, known, after, answers)}
    return seen.get(check.finding.id)


def test_the_same_seed_gives_the_same_gate_and_another_seed_another() -> None:
    one, same, other = (draw_gate(shipped(), LASER, WantedGate(), seed) for seed in (3, 3, 4))
    assert one == same
    assert (one.truth, dict(one.results)) != (other.truth, dict(other.results))


@pytest.mark.parametrize(("faults", "family"), [(1, "supply"), (1, "mechanics"), (2, "controller")])
def test_the_wanted_faults_are_hidden(faults: int, family: str) -> None:
    kb = shipped().kb
    for seed in range(3):
        gate = draw_gate(shipped(), LASER, WantedGate(faults, family), seed)
        assert len(gate.truth) == faults
        assert family in {kb.causes[c].family for c in gate.truth}
        assert kb.settings.outside_cause not in gate.truth
        assert all(kb.causes[c].remedy.who != "electrician" for c in gate.truth)


def test_the_wanted_complaint_is_heard() -> None:
    for seed in range(4):
        gate = draw_gate(shipped(), LASER, WantedGate(complaints=("intermittent", "time_of_day")), seed)
        assert gate.complaint in ("intermittent", "time_of_day")


def test_a_cause_that_is_noticed_by_what_it_brings_alone_is_hidden_too() -> None:
    """Source: arithmetic. Of two causes as common as each other only the one whose effect is felt may be drawn."""
    made, slow = small(), {"slow": "typical"}
    outside = made.settings.outside_cause
    causes = {
        "dirt": replace(made.causes["dirt"], complaints=slow),
        "fuse": replace(made.causes["fuse"], complaints=slow, brings={"flickers": 0.99}),
        outside: made.causes[outside],
    }
    felt = Effect(id="flickers", link="supply", says="flickers", complaints={"stuck": "typical"}, source="src")
    complaints = {**made.complaints, "slow": replace(made.complaints["stuck"], id="slow")}
    kb = replace(made, causes=causes, effects={"flickers": felt}, complaints=complaints)
    reasoner = Reasoner(kb, partial(fixpoint, kb))
    drawn = {draw_gate(reasoner, Setup(), WantedGate(complaints=("stuck",)), seed).truth for seed in range(6)}
    assert drawn == {("fuse",)}


@cache
def with_more() -> Reasoner:
    """The shipped knowledge with one more cause, and one more check, put before all others."""
    kb, states = shipped().kb, ("ok", "bad")
    news = cause("nothing_to_do", {"more": {"bad": 0.9}}, complaints={"ghost_opening": "typical"}, common="common")
    look = check("more", states, {"bad": 0.02})
    assert look.finding
    finding = replace(look.finding, id="more", check="more", fact="more")
    more = replace(
        kb,
        causes={"nothing_to_do": replace(news, family=next(iter(kb.causes.values())).family), **kb.causes},
        checks={"more": replace(look, finding=finding), **kb.checks},
        findings={"more": finding, **kb.findings},
    )
    return practice_reasoner(more)


def test_a_cause_and_a_check_more_leave_every_other_reading_of_a_gate_as_it_was() -> None:
    for truth, complaint in (
        (("window_wet_drops",), "ghost_opening"),
        (("object_put_in_area", "auto_close_off"), "stuck_open"),
    ):
        for seed in range(2):
            before, after = (made_gate(r, LASER, truth, complaint, seed) for r in (shipped(), with_more()))
            assert set(after.results) - set(before.results) == {"more"}
            assert {c: v for c, v in after.results.items() if c != "more"} == before.results
            assert {f: s for f, s in after.states.items() if f != "more"} == before.states


def test_a_cause_more_hides_only_in_its_own_share_of_the_gates() -> None:
    nets = [r.network(("laser",)) for r in (shipped(), with_more())]
    beliefs = [single_fault(net) for net in nets]
    drawn = [[draw_truth(n, b.weights, seed) for n, b in zip(nets, beliefs, strict=True)] for seed in range(400)]
    moved = [after for before, after in drawn if after != before]
    assert set(moved) == {("nothing_to_do",)}
    assert len(moved) < 2 * 400 * beliefs[1].probability("nothing_to_do")


def test_what_cannot_be_drawn_is_said() -> None:
    with pytest.raises(DiagnoseError, match="no cause here"):
        draw_gate(shipped(), LASER, WantedGate(family="no such family"), 1)
    with pytest.raises(DiagnoseError, match="cannot occur"):
        made_gate(shipped(), LASER, ("edg_radio_range",), "ghost_opening", 1)


def test_readings_mean_what_was_drawn() -> None:
    """Of the checks whose result is judged by a calculation or a rule; measured 99.6 %."""
    kb, right, wrong = shipped().kb, 0, list[str]()
    for seed in range(6):
        gate = draw_gate(shipped(), LASER, WantedGate(1 + seed % 2), seed)
        for each in kb.checks.values():
            if each.finding and each.finding.fact != fact_name(each) and gate.results[each.id] != CANT_SHOW:
                if state_read(gate, each.id) == gate.states[each.finding.id]:
                    right += 1
                else:
                    wrong.append(each.id)
    assert right > 400
    assert len(wrong) / right < 0.01, wrong


def test_a_measurement_is_blurred_but_never_into_another_meaning() -> None:
    kb = shipped().kb
    check, calculation = kb.checks["sup_volts_sensor"], kb.calculations["sup_sensor_verdict"]
    values = dict(LASER.profile)
    read = {
        word: [reading(check, calculation, values, (word,), np.random.default_rng(s)) for s in range(30)]
        for word in ("good", "below_expected", "low", "none", "high")
    }
    assert all(len(set(found)) > 3 for found in read.values())
    centres = {word: float(np.mean([v for v in found if v is not None])) for word, found in read.items()}
    assert centres["none"] < centres["low"] < centres["below_expected"] < centres["good"] < centres["high"]


def test_a_sound_supply_reads_what_the_cable_leaves() -> None:
    """24 V, 40 m of 0.5 mm2, 6 W: by hand 2 * 40 m * 34.5 ohm/km = 2.76 ohm, 0.26 A, so about 23.3 V."""
    kb = shipped().kb
    check, calculation = kb.checks["sup_volts_sensor"], kb.calculations["sup_sensor_verdict"]
    found = [reading(check, calculation, LASER.profile, ("good",), np.random.default_rng(s)) for s in range(200)]
    assert float(np.mean([v for v in found if v is not None])) == pytest.approx(23.3, abs=0.15)


def test_a_state_that_no_number_can_show_is_not_invented() -> None:
    kb = shipped().kb
    check, calculation = kb.checks["sup_volts_sensor"], kb.calculations["sup_sensor_verdict"]
    assert reading(check, calculation, LASER.profile, ("no such word",), np.random.default_rng(1)) is None


def test_no_answer_of_a_gate_denies_what_is_hidden_and_none_tells_of_harm_without_a_reason() -> None:
    kb = shipped().kb
    for seed in range(5):
        gate = draw_gate(shipped(), LASER, WantedGate(1 + seed % 2), seed)
        assert not set(after_of(kb, gate.setup, gate.complaint, gate.results).excluded) & set(gate.truth)
        facts = {c: v for c, v in gate.results.items() if kb.checks[c].finding is None}
        before = after_of(kb, gate.setup, gate.complaint, {}).stop_work
        assert after_of(kb, gate.setup, gate.complaint, facts).stop_work == before


def test_mending_one_of_two_faults_draws_its_signs_anew_and_leaves_the_rest() -> None:
    kb, before = shipped().kb, two()
    after = after_repair(shipped(), before, "object_put_in_area")
    assert (after.truth, after.mended) == (("auto_close_off",), ("object_put_in_area",))
    signs = bearing(kb, kb.causes["object_put_in_area"])
    moved = {c for c in before.results if before.results[c] != after.results[c]}
    asked = {c: kb.checks[c].finding for c in moved}
    assert moved
    assert all(f is not None and f.id in signs for f in asked.values())
    assert after_repair(shipped(), after, "auto_close_off").truth == ()


def test_a_false_lead_is_what_a_check_shows_though_no_hidden_cause_brings_it() -> None:
    """What a trainer lets a check show counts, not what was drawn for it before."""
    kb, gate = shipped().kb, drops()
    signs = bearing(kb, kb.causes["window_wet_drops"])
    assert false_leads(kb, gate) == frozenset()
    foreign = next(c for c in kb.checks.values() if c.id == "sup_fuse")
    assert foreign.finding and foreign.finding.id not in signs
    shown = foreign.finding.states["blows_again"][0]
    assert false_leads(kb, replace(gate, results={**gate.results, foreign.id: shown})) == {foreign.finding.id}
