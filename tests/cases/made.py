"""A small knowledge base and invented field cases about it, built in memory."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from diagnose.cases.model import CaseState, Encoded, Fault, FieldCase, Gear, Touched
from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from tests.build import cause, check, kinds, knowledge

CALLER = {"who": "caller", "ask_caller": "look", "stand": "aside"}


def small() -> KnowledgeBase:
    """Three faults of a loop, each with a look of its own that anybody can do, and one that needs a technician."""
    signs: Mapping[str, Mapping[str, Mapping[str, float]]] = {
        "unplugged": {"lamp": {"out": 0.97}, "volts": {"none": 0.97}},
        "bent": {"bracket": {"bent": 0.97}},
        "dirty": {"window": {"dirty": 0.97}},
        "welded": {"contact": {"stuck": 0.97}},
    }
    family = {"unplugged": "supply", "bent": "mounting", "dirty": "environment", "welded": "output"}
    causes = [cause(n, s, family=family[n], complaints={"stuck": "typical"}) for n, s in signs.items()]
    outside = cause("something_else", {}, family="outside", complaints={"stuck": "typical"})
    checks = [
        check("lamp", ("lit", "out"), {"out": 0.01}, **CALLER),
        check("bracket", ("straight", "bent"), {"bent": 0.01}, **CALLER),
        check("window", ("clean", "dirty"), {"dirty": 0.01}, **CALLER),
        check("volts", ("right", "none"), {"none": 0.01}),
        check("contact", ("moves", "stuck"), {"stuck": 0.01}),
        check("shape", (), {}, options={"round": "round", "square": "square"}),
    ]
    kb = knowledge([*causes, outside], checks, complaints=("stuck", "opens"))
    return replace(kb, kinds=kinds(loop="inductive loop", laser="laser"))


def reasoner() -> Reasoner:
    return Reasoner(small())


def state(answers: Mapping[str, Any] | None = None, links: tuple[str, ...] = ("supply",), **more: Any) -> CaseState:
    return CaseState(touched=Touched(devices=("loop",), links=links), answers=answers or {}, **more)


def case(name: str = "c1", *, states: Mapping[str, CaseState] | None = None, **more: Any) -> FieldCase:
    """A technician's case with an unplugged supply, unless told otherwise."""
    encoded = more.pop("encoded", {})
    given: dict[str, Any] = {
        "id": name,
        "invented": True,
        "difficulty": "easy",
        "sensor_family": "inductive_loop",
        "gate_type": "barrier_arm",
        "who": "field_tech",
        "gear": (Gear(name="exit loop", kind="loop", job=("opens",), place="in the lane"),),
        "controller": "one input",
        "complaint": "it is stuck",
        "intermittent": False,
        "true_cause": "unplugged",
        "true_cause_family": "power",
        "observations": {f"seen_{n}": "nothing" for n in range(30)},
        "hazard": "low",
        "correct_fix": "plug it in",
        "how_confirmed": "it runs",
        "faults": (Fault(says="unplugged", mended_by=("unplugged",)),),
    }
    start = states or {"start": state({"lamp": "out", "volts": "none"})}
    return FieldCase(**{**given, **more}, encoded=Encoded(**{"complaints": ("stuck",), "states": start, **encoded}))


def pair(**more: Any) -> FieldCase:
    """Unplugged, and the bracket bent as well."""
    both = {"lamp": "out", "volts": "none", "bracket": "bent"}
    links = ("supply", "mounting")
    states = {
        "start": state(both, links),
        "after_1": state({}, links, healthy=("lamp", "volts")),
        "after_2": state({}, links, healthy=("bracket",)),
    }
    faults = (Fault(says="unplugged", mended_by=("unplugged",)), Fault(says="bent", mended_by=("bent",)))
    second = {"second_cause": "bent", "second_cause_family": "mounting", "second_cause_device": "exit loop"}
    return case("p1", states=states, faults=faults, **second, **more)
