"""Gates, a fast reasoner over the shipped knowledge, and a small knowledge base for the slips."""

from dataclasses import replace
from functools import cache, partial

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.named import Link
from diagnose.model.visit import Setup, Value
from diagnose.practice.exercise import Exercise, begin
from diagnose.practice.gate import Gate, made_gate
from diagnose.practice.lessons import practice_reasoner, practice_setup
from tests.build import ALWAYS, cause, check, knowledge, proofs, rule
from tests.remembering import Remembering
from tests.shipped import knowledge as shipped_knowledge

LASER = practice_setup(("laser",))


@cache
def shipped() -> Reasoner:
    plain = practice_reasoner(shipped_knowledge())
    return Remembering(plain.kb, partial(fixpoint, shipped_knowledge()))


@cache
def drops() -> Gate:
    """Drops on the window, with an arm that lifts in the rain."""
    return made_gate(shipped(), LASER, ("window_wet_drops",), "ghost_opening", 4)


@cache
def two() -> Gate:
    """A bin in the area, and automatic closing switched off."""
    return made_gate(shipped(), LASER, ("object_put_in_area", "auto_close_off"), "stuck_open", 1)


SIGNS = {
    "dirt": {"look": {"bad": 0.9}, "meter": {"low": 0.05}},
    "fuse": {"look": {"bad": 0.05}, "meter": {"low": 0.9}},
    "worn": {"look": {"bad": 0.9}, "meter": {"low": 0.05}},
}


@cache
def small() -> KnowledgeBase:
    """Two common causes and a rare one that looks like the first; a look, a meter, and a test that tells nothing."""
    causes = [
        cause("dirt", SIGNS["dirt"], complaints={"stuck": "typical"}, family="environment", minutes=20.0),
        cause("fuse", SIGNS["fuse"], complaints={"stuck": "typical"}, family="supply", minutes=20.0),
        cause("worn", SIGNS["worn"], complaints={"stuck": "typical"}, family="hardware", common="rare", minutes=20.0),
        cause("something_else", {}, complaints={}, family="outside", common="rare"),
    ]
    leak = {"bad": 0.05}
    checks = [
        check("look", ("ok", "bad"), leak, minutes=1.0, who="caller"),
        check("meter", ("ok", "low"), {"low": 0.05}, minutes=12.0, access="box", tools=("meter",)),
        check("colour", ("ok", "bad"), leak, minutes=5.0),
        check("mains", ("ok", "bad"), leak, minutes=5.0, who="electrician"),
        check("spark", ("ok", "bad"), leak, minutes=5.0, hazard=True, cautions=("stop",)),
        check("bridge", ("ok", "bad"), leak, minutes=5.0, hazard=True, locked=True),
        check("drive", ("ok", "bad"), leak, minutes=5.0, runs_gate=True),
        check("touched", ("no", "yes"), {"yes": 0.01}, minutes=1.0, who="caller"),
        check("again", ("ok", "bad"), leak, minutes=1.0),
    ]
    rules = [
        rule("touched_stops", {"touched": ["yes"]}, stop_work="stop"),
        rule("look_settles", {"look": ["ok"]}, settle={"again": "ok"}),
    ]
    frequency = {"common": 10.0, "rare": 0.5}
    made = knowledge(causes, checks, rules, frequency=frequency, complaints=["stuck"], access={"box": 5.0})
    links = {"hardware": "sensor", "environment": "surroundings"}
    families = {f.id: replace(f, link=links.get(f.id, f.id)) for f in made.families.values()}
    chain = {link: Link(id=link, says=link) for link in ("supply", "sensor", "surroundings", "outside")}
    return replace(made, families=families, links=chain, proofs=proofs(protective_zone=ALWAYS))


@cache
def small_reasoner() -> Reasoner:
    return Reasoner(small(), partial(fixpoint, small()))


def small_exercise(truth: str = "dirt", **shows: Value) -> Exercise:
    """An exercise at a small gate; what is not said shows its normal state."""
    kb = small()
    results: dict[str, Value] = {c.id: next(iter(c.options)) for c in kb.checks.values()}
    results |= {"made_safe": "safe", **shows}
    states = {c.finding.id: str(results[c.id]) for c in kb.checks.values() if c.finding}
    return begin(small_reasoner(), Gate(1, Setup(), "stuck", (truth,), states, results))
