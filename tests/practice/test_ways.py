"""The ways hidden causes take: one for good, as likely as the model has it; all a gate shows follows."""

from collections import Counter
from dataclasses import replace
from functools import cache, partial

import pytest

from diagnose.core.posterior import prior
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.measure.simulate import draw_ways
from diagnose.model.knowledge import Calculated, Effect, Way
from diagnose.model.named import Link
from diagnose.model.visit import Setup
from diagnose.practice.gate import after_repair, made_gate
from tests.build import cause, check, knowledge
from tests.practice.gates import LASER, shipped

SEEDS = 4000
TWO = ("mud", "fuse")
LOGIC = Calculated(fact="logic", gives={"no": {"held": 1.0}, "nc": {"silent": 1.0}}, unknown={"no": 0.5, "nc": 0.5})


def effect(name: str, link: str, **more: object) -> Effect:
    return Effect(id=name, link=link, says=name, source="src", **more)  # type: ignore[arg-type]


@cache
def reasoner() -> Reasoner:
    """Without supply the sensor shows nothing and its output is as its logic says; mud is on one of two windows."""
    effects = [
        effect("dead", "supply", shows={"lamp": {"off": 1.0}}, hides=("sensor",), brings={"unpowered": 1.0}),
        effect("left_muddy", "sensor", shows={"left": {"bad": 1.0}}, complaints={"stuck": "typical"}),
        effect("right_muddy", "sensor", shows={"right": {"bad": 1.0}}, complaints={"slow": "typical"}),
        effect("unpowered", "output", calculated=LOGIC),
        effect("held", "output", shows={"contact": {"held": 1.0}}),
        effect("silent", "output", shows={"contact": {"silent": 1.0}}),
    ]
    sides = {s: Way(share=0.5, brings={f"{s}_muddy": 1.0}) for s in ("left", "right")}
    causes = [
        cause("mud", {}, one_of=sides),
        cause("fuse", {}, brings={"dead": 1.0}),
        cause("relay", {}, brings={"unpowered": 1.0}),
    ]
    checks = [
        check("lamp", ("on", "off"), {}),
        check("left", ("ok", "bad"), {}),
        check("right", ("ok", "bad"), {}),
        check("contact", ("ok", "silent", "held"), {}),
        check("which_logic", (), {}, options={"no": "no", "nc": "nc"}, fills="logic"),
    ]
    made = knowledge(causes, checks, complaints=["stuck", "slow"], slip=0.0)
    links = {link: Link(id=link, says=link) for link in ("supply", "sensor", "output")}
    kb = replace(made, links=links, effects={e.id: e for e in effects})
    return Reasoner(kb, partial(fixpoint, kb))


def test_what_a_gate_shows_fits_together() -> None:
    for seed in range(8):
        shown = made_gate(reasoner(), Setup(), ("fuse",), "stuck", seed).results
        wanted = "held" if shown["which_logic"] == "no" else "silent"
        assert (shown["lamp"], shown["contact"]) == ("off", wanted)
    both = {made_gate(reasoner(), Setup(), ("fuse",), "stuck", seed).results["contact"] for seed in range(8)}
    assert both == {"held", "silent"}


def test_a_repair_brings_out_what_the_fault_hid_and_the_other_fault_keeps_its_way() -> None:
    sides = set[str]()
    for seed in range(8):
        complaint = ("stuck", "slow")[seed % 2]
        before = made_gate(reasoner(), Setup(), TWO, complaint, seed)
        network = reasoner().network(*reasoner().site(Setup(), {"logic": before.results["which_logic"]}))
        way = draw_ways(network, TWO, complaint, seed)["mud"]
        side = ("left", "right")[way - network.columns("mud").start]
        assert {before.results[s] for s in ("left", "right")} == {"ok"}
        after = after_repair(reasoner(), before, "fuse").results
        assert {s for s in ("left", "right") if after[s] == "bad"} == {side}
        assert (after["lamp"], after["contact"]) == ("on", "ok")
        assert after["which_logic"] == before.results["which_logic"]
        sides.add(side)
    assert sides == {"left", "right"}


@pytest.mark.parametrize("complaint", ["stuck", "slow"])
@pytest.mark.parametrize("causes", [("mud",), TWO, ("fuse", "relay")])
def test_ways_are_drawn_as_often_as_the_model_has_them(causes: tuple[str, ...], complaint: str) -> None:
    """Against the prior over pairs of columns: the complaint weighs ways, and one logic holds for two causes."""
    network = reasoner().network(())
    weights = prior(network, complaint).weights
    drawn = Counter(tuple(draw_ways(network, causes, complaint, seed)[c] for c in causes) for seed in range(SEEDS))
    first, second = network.columns(causes[0]), network.columns(causes[1]) if causes[1:] else slice(0, 1)
    block = weights[first, second] / weights[first, second].sum()
    for (i, j), likely in ((at, block[at]) for at in _places(block.shape)):
        ways = (first.start + i, second.start + j)[: len(causes)]
        assert drawn[ways] / SEEDS == pytest.approx(likely, abs=4 * (0.25 / SEEDS) ** 0.5)
        assert bool(drawn[ways]) == bool(likely)


def _places(shape: tuple[int, ...]) -> list[tuple[int, int]]:
    return [(i, j) for i in range(shape[0]) for j in range(shape[1])]


def test_a_look_at_what_the_profile_knows_shows_what_the_profile_says() -> None:
    results = made_gate(shipped(), LASER, ("window_wet_drops",), "ghost_opening", 2).results
    kb = shipped().kb
    known = {c.id: LASER.profile[c.fills] for c in kb.checks.values() if c.fills in LASER.profile and not c.finding}
    assert known
    assert {c: results[c] for c in known} == known
