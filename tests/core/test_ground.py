"""The knowledge grounded for the devices of a gate: one entry per device, and what is said of one stays with it."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache, partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.core.belongs import Belongs, strays
from diagnose.core.compile import compile_network
from diagnose.core.ground import ground
from diagnose.core.permit import holds
from diagnose.core.posterior import Belief, absorb, prior
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.kb.check import LINTS
from diagnose.kb.lint_gear import LINTS as GEAR_LINTS
from diagnose.model.gear import AT, Device, Gear, plain, slug
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Observation, Role, Setup
from diagnose.session.events import Begin, Reply
from diagnose.session.session import conclude, replay, step
from tests.build import cause, check, knowledge
from tests.shipped import knowledge as shipped
from tests.shipped import quick

LASER = Device("laser over the entry", "laser", ("opens", "protects"))
LOOP = Device("exit loop", "loop", ("opens",))
EYE = Device("low eye", "photo_eye", ("protects",))
EYE_2 = Device("high eye", "photo_eye", ("protects",))
GATE = (LASER, LOOP, EYE, EYE_2)
GEARS: tuple[Gear, ...] = (
    GATE,
    (Device("edge on the leaf", "edge", ("protects",)), Device("radar", "radar", ("opens",))),
    (Device("north laser", "laser"), Device("south laser", "laser")),
)


@cache
def start(gear: Gear = GATE) -> Belief:
    kb = ground(shipped(), gear)
    return prior(compile_network(kb, [d.kind for d in gear]), "stuck_open")


def texts(kb: KnowledgeBase) -> Iterator[tuple[str, str]]:
    """(id, text) of everything that people are told of a device's entries."""
    for c in kb.checks.values():
        yield c.id, c.ask
        yield c.id, c.finding.says if c.finding else c.ask
        yield c.id, c.ask if c.ask_caller == "never" else c.ask_caller
    for each in kb.causes.values():
        yield each.id, each.says
        yield each.id, each.remedy.steps[0]
        yield each.id, each.proof
    yield from ((e.id, e.says) for e in kb.effects.values())


@pytest.mark.parametrize("gear", GEARS)
def test_grounded_knowledge_passes_the_lints(gear: Gear) -> None:
    kb = ground(shipped(), gear)
    assert [found for lint in LINTS for found in lint(kb)] == []


@pytest.mark.parametrize("gear", GEARS)
def test_every_text_of_a_device_names_the_device(gear: Gear) -> None:
    names = {d.key: d.name[0].upper() + d.name[1:] for d in gear}
    told = [(entry, text) for entry, text in texts(ground(shipped(), gear)) if AT in entry]
    assert told
    assert [t for entry, t in told if not t.startswith(f"{names[entry.partition(AT)[2]]}: ")] == []


@pytest.mark.parametrize("gear", [(), (LASER,)])
def test_a_gate_with_one_device_needs_no_names(gear: Gear) -> None:
    assert ground(shipped(), gear) is shipped()


def test_one_device_gives_the_posterior_of_none() -> None:
    answers = [Answer("power_lamp", "steady"), Answer("lamp_clear", "detecting"), Answer("input_clear", "dead")]
    reasoner = Reasoner(shipped(), partial(fixpoint, shipped()))
    alone = Setup(devices=("laser",), gear=(LASER,))
    named = reasoner.at((LASER,)).conclude(alone, "stuck_open", answers)
    assert named.belief.ranked() == reasoner.conclude(replace(alone, gear=()), "stuck_open", answers).belief.ranked()


def test_grounding_again_starts_from_the_knowledge_itself() -> None:
    twice = ground(ground(shipped(), GEARS[1]), GATE)
    assert twice is ground(shipped(), GATE)
    assert ground(twice, ()) is shipped()


def test_each_device_has_the_causes_of_its_kind_only() -> None:
    kb = ground(shipped(), GATE)
    assert {c.partition(AT)[2] for c in kb.causes if plain(c) == "window_dirty"} == {LASER.key}
    assert {c.partition(AT)[2] for c in kb.causes if plain(c) == "photo_eye_low_sun"} == {EYE.key, EYE_2.key}
    assert "mains_lost" in kb.causes


SCORED = [("lamp_clear", "detecting"), ("power_lamp", "off"), ("env_window_look", "dirty")]


@pytest.mark.parametrize(("finding", "state"), SCORED)
def test_evidence_about_one_device_moves_no_other_device(finding: str, state: str) -> None:
    """All that is wrong elsewhere explains it alike, by chance: their odds against each other stay."""
    seen = f"{finding}@{EYE.key}"
    states = start().network.tables[seen].states
    before, after = start(), absorb(start(), Observation(seen, state if state in states else states[1]), 0.02)
    alone = {c: i for i, c in enumerate(before.network.names, start=1)}
    elsewhere = [i for c, i in alone.items() if AT in c and not c.endswith(AT + EYE.key)]
    here = [i for c, i in alone.items() if c.endswith(AT + EYE.key)]
    moved = after.weights[0] / np.maximum(before.weights[0], 1e-300)
    assert np.ptp(moved[elsewhere]) / moved[elsewhere].max() < 1e-9
    assert moved[here].max() > 3.0 * moved[elsewhere].max()


def test_the_trouble_stays_with_another_device_taken_off() -> None:
    table = start().network.tables[f"isolation_test@{EYE.key}"]
    shown = start().network.shown_by(table, f"window_dirty@{LASER.key}")
    assert shown[table.states.index("trouble_stays")] > 0.95
    own = start().network.shown_by(table, f"photo_eye_lens_dirty@{EYE.key}")
    assert own[table.states.index("trouble_goes")] > 0.85


def test_an_option_that_means_a_device_names_it() -> None:
    check = ground(shipped(), GATE).checks["input_clear"]
    asked = {o for o in check.options if o.startswith("sensor_activation")}
    assert asked == {f"sensor_activation@{LASER.key}", f"sensor_activation@{LOOP.key}"}
    assert check.options[f"sensor_activation@{LOOP.key}"].startswith("Exit loop: ")
    assert check.finding
    assert set(check.finding.states) == set(check.options)
    assert next(iter(check.finding.states)) == "none"


def test_what_one_sensor_showed_by_chance_all_show_together() -> None:
    base, here = shipped().findings["input_clear"].leak, ground(shipped(), GATE).findings["input_clear"].leak
    for state in ("sensor_activation", "sensor_protective", "comes_and_goes"):
        shares = [float(v) for s, v in here.items() if plain(s) == state]
        assert sum(shares) == pytest.approx(float(base[state]))


def test_a_device_shows_only_the_inputs_of_its_jobs() -> None:
    kb = ground(shipped(), GATE)
    shown = kb.effects[f"input_active@{EYE.key}"].shows["input_clear"]
    assert set(shown) == {f"sensor_protective@{EYE.key}"}
    assert float(shown[f"sensor_protective@{EYE.key}"]) == pytest.approx(0.98)
    assert f"opening_active@{EYE.key}" not in kb.effects
    assert f"opening_active@{LOOP.key}" in kb.effects


def test_without_mains_every_device_is_without_supply() -> None:
    kb = ground(shipped(), GATE)
    assert {e for e in kb.effects["site_dark"].brings if AT in e} == {f"no_volts@{d.key}" for d in GATE}
    table = start().network.tables[f"power_lamp@{EYE_2.key}"]
    assert start().network.shown_by(table, "mains_lost")[table.states.index("off")] > 0.95


def test_what_hides_at_one_device_hides_nothing_at_another() -> None:
    kb = ground(shipped(), GATE)
    hidden = kb.effects[f"device_dark@{EYE.key}"].hides
    assert set(hidden) == {f"{link}@{EYE.key}" for link in ("monitoring", "sight", "decision")}


def test_a_fault_of_the_gate_shows_at_one_device_or_another() -> None:
    cause = ground(shipped(), GATE).causes["leaf_touches_stop"]
    at_once = [{e.partition(AT)[2] for e in way.brings if AT in e} for way in cause.one_of.values()]
    assert all(len(devices) <= 1 for devices in at_once)
    assert set().union(*at_once) == {d.key for d in GATE}
    total = sum(way.share for way in shipped().causes["leaf_touches_stop"].one_of.values()) or 1.0
    assert sum(way.share for way in cause.one_of.values()) == pytest.approx(total)


def test_a_rule_speaks_of_the_device_that_it_is_told_of() -> None:
    kb = ground(shipped(), GATE)
    facts, _ = fixpoint(kb, [(f"power_lamp@{EYE.key}", "off")])
    assert (f"lamp_clear@{EYE.key}", "off") in facts
    assert not any(name.startswith("lamp_clear@") and not name.endswith(EYE.key) for name, _ in facts)


def test_a_device_s_profile_is_its_own() -> None:
    eye = replace(EYE, facts={"device.protective_logic": "dod_no"})
    setup = Setup(profile={"site.supply_v": 24.0, "device.load_w": 3.0}, gear=(LASER, eye))
    assert setup.facts[f"device.protective_logic@{eye.key}"] == "dod_no"
    assert setup.facts[f"site.supply_v@{LASER.key}"] == setup.facts["site.supply_v"] == 24.0
    assert not any(name.startswith("device.load_w") for name in setup.facts)
    assert Setup(gear=(eye,)).facts["device.protective_logic"] == "dod_no"


def test_the_outside_cause_is_not_told_once_per_device() -> None:
    outside = replace(shipped().causes["something_else"], signs={"power_lamp": {"off": 0.2}})
    kb = ground(replace(shipped(), causes={**shipped().causes, outside.id: outside}), GATE)
    shares = [float(kb.causes[outside.id].signs[f"power_lamp@{d.key}"]["off"]) for d in GATE]
    assert sum(shares) == pytest.approx(0.2)


@given(st.text(max_size=30))
def test_a_name_makes_a_key_that_stays_the_key(name: str) -> None:
    assert slug(slug(name)) == slug(name)
    assert AT not in slug(name)


def small(**more: object) -> KnowledgeBase:
    """One check of a device, and one of the site."""
    lamp = replace(check("lamp", ("clear", "on"), {"on": 0.02}), of="device")
    shut = replace(check("shut", ("no", "yes"), {"yes": 0.02}), **more)  # type: ignore[arg-type]
    return knowledge([cause("a", {"lamp": {"on": 0.9}})], [lamp, shut])


def test_the_site_may_not_ask_which_lamp_without_saying_whose() -> None:
    assert list(strays(Belongs(small()))) == []
    kb = small(only_if={"lamp": ("on",)})
    assert list(strays(Belongs(kb))) == [(("checks", "shut"), "lamp")]
    assert [says for lint in GEAR_LINTS for _, says in lint(kb)]


@pytest.mark.parametrize(
    "more", [{"each": {"never": ""}}, {"each": {"yes": "flies"}}, {"each": {"yes": ""}, "of": "device"}]
)
def test_options_for_each_device_are_options_of_the_site_with_a_job(more: dict[str, object]) -> None:
    assert [says for lint in GEAR_LINTS for _, says in lint(small(**more))]


@pytest.mark.parametrize("role", ["technician", "help_desk"])
def test_with_several_devices_which_lamp_shows_anything_is_asked_before_any_of_them_alone(role: Role) -> None:
    begin = Begin(Setup(role=role, gear=GATE), "stuck_open")
    session = replay(shipped(), [begin, Reply("anyone_touched", "nobody"), Reply("gate_made_safe", "safe")])
    asked: list[str] = []
    while "which_lamp" not in asked and len(asked) < 5:
        asked.append(conclude(quick(), session).next.check)
        session = step(shipped(), session, Reply(asked[-1], "dont_know"))
    assert asked[-1] == "which_lamp" and not any(AT in check for check in asked)


def test_the_one_lamp_that_shows_something_says_that_the_others_are_clear() -> None:
    kb = ground(shipped(), GATE)
    facts, _ = fixpoint(kb, [("which_lamp", f"detecting@{EYE.key}")])
    lamps = {name: value for name, value in facts if name.startswith("lamp_clear@")}
    assert lamps == {f"lamp_clear@{d.key}": "detecting" if d == EYE else "clear" for d in GATE}
    clear, _ = fixpoint(kb, [("which_lamp", "all_clear")])
    assert {v for n, v in clear if n.startswith("lamp_clear@")} == {"clear"}


def test_which_lamp_is_no_question_where_there_is_one() -> None:
    session = replay(shipped(), [Begin(Setup(gear=(EYE,)), "stuck_open")])
    assert "which_lamp" not in conclude(quick(), session).after.settled
    assert not holds(shipped().checks["which_lamp"].only_if, session.setup.facts)
    assert holds(shipped().checks["which_lamp"].only_if, {**Setup(gear=GATE).facts, "complaint": "stuck_open"})
