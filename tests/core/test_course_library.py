"""The likelihood over repairs against pyAgrum, on a network in which every mechanism is a node of its own.

A set of causes at the start, an outcome for every repair, what each cause and the leak show of each finding, and what
whoever looks says to each state: all fixed once. What is seen after each repair follows from them.
"""

import importlib
from itertools import combinations, product
from typing import Any

import numpy as np
import pytest

from diagnose.core.network import Network
from diagnose.core.posterior import prior
from tests.build import network, table
from tests.core.test_course import Visit, played

gum: Any = importlib.import_module("pyagrum")  # its stubs are incomplete
SLIP = 0.03
CAUSES = ("a", "b", "c")
SETS = [frozenset(s) for size in (1, 2) for s in combinations(CAUSES, size)]
STATES = ("no", "yes")


def drawn(seed: int) -> tuple[Network, Visit]:
    """Three causes, two findings of which the second may be untouched by a; two repairs, answers in every stage."""
    rng = np.random.default_rng(seed)

    def chance(low: float, high: float) -> tuple[float, float]:
        p = float(rng.uniform(low, high))
        return 1.0 - p, p

    nothing = (1.0, 0.0)
    first = table("f", STATES, chance(0.02, 0.3), [chance(0.1, 0.95) for _ in CAUSES])
    second = table("g", STATES, chance(0.02, 0.3), [nothing, chance(0.1, 0.95), chance(0.1, 0.95)])
    net = network({c: float(rng.uniform(0.1, 0.9)) for c in CAUSES}, [first, second])
    f, g = (str(rng.choice(STATES)) for _ in "fg")
    repaired = [str(c) for c in rng.permutation(CAUSES)[:2]]
    visit: Visit = [
        ("f", f), ("g", g), (repaired[0], 0.2), ("f", f), ("g", g), (repaired[1], 0.1), ("f", f)
    ]  # fmt: skip
    return net, visit


def library(net: Network, visit: Visit) -> dict[str, float]:
    """P(cause present after the last event) by lazy propagation."""
    model = gum.BayesNet()
    odds = dict(zip(net.causes, net.odds[1:], strict=True))
    weights = np.array([np.prod([odds[c] for c in s]) for s in SETS])
    model.add(gum.RangeVariable("start", "", 0, len(SETS) - 1))
    model.cpt("start").fillWith((weights / weights.sum()).tolist())
    repairs = [(name, what) for name, what in visit if isinstance(what, float)]
    for number, (_, botched) in enumerate(repairs):
        model.add(gum.LabelizedVariable(f"repair{number}", "", 2))
        model.cpt(f"repair{number}")[:] = [botched, 1.0 - botched]
    for name in net.tables:
        _mechanisms(model, net, name)
    evidence, stage = _seen(model, net, visit, [cause for cause, _ in repairs])
    _trouble(model, "there", [cause for cause, _ in repairs], len(repairs))
    engine = gum.LazyPropagation(model)
    engine.setEvidence(evidence | {"there": 1})
    wanted = {"start", *(f"repair{n}" for n in range(len(repairs)))}
    engine.addJointTarget(wanted)
    engine.makeInference()
    joint = engine.jointPosterior(wanted)
    found = dict.fromkeys(CAUSES, 0.0)
    for start, *outcomes in product(range(len(SETS)), *(range(2) for _ in repairs)):
        at = {"start": start} | {f"repair{n}": o for n, o in enumerate(outcomes)}
        for cause in _left(SETS[start], [c for c, _ in repairs], outcomes, stage):
            found[cause] += joint[at]
    return found


def _mechanisms(model: Any, net: Network, name: str) -> None:
    """What each cause and the leak show of a finding, and what is said to each of its states."""
    tab = net.tables[name]
    shown = {c: tab.cumulative[:, net.index(c)] for c in CAUSES} | {"leak": tab.leak}
    for who, cumulative in shown.items():
        model.add(gum.LabelizedVariable(f"{name}_{who}", "", 2))
        model.cpt(f"{name}_{who}")[:] = np.diff(cumulative, prepend=0.0).tolist()
    for state in range(2):
        model.add(gum.LabelizedVariable(f"{name}_said_{state}", "", 2))
        model.cpt(f"{name}_said_{state}")[:] = [SLIP if said != state else 1.0 - SLIP for said in range(2)]


def _left(start: frozenset[str], repaired: list[str], outcomes: Any, stage: int) -> frozenset[str]:
    """The causes that are left after the first `stage` repairs."""
    return start - {cause for cause, done in zip(repaired[:stage], outcomes[:stage], strict=True) if done}


def _seen(model: Any, net: Network, visit: Visit, repaired: list[str]) -> tuple[dict[str, int], int]:
    """A node for every answer, and what was answered; the number of repairs."""
    evidence, stage = dict[str, int](), 0
    for number, (name, what) in enumerate(visit):
        if isinstance(what, float):
            stage += 1
            continue
        answer = f"answer{number}"
        model.add(gum.LabelizedVariable(answer, "", 2))
        parents = ["start", *(f"repair{n}" for n in range(stage))]
        parents += [f"{name}_{who}" for who in (*CAUSES, "leak")] + [f"{name}_said_{s}" for s in range(2)]
        for parent in parents:
            model.addArc(parent, answer)
        sizes = [len(SETS)] + [2] * (len(parents) - 1)
        for values in product(*map(range, sizes)):
            start, outcomes, rest = values[0], values[1 : 1 + stage], values[1 + stage :]
            left = _left(SETS[start], repaired, outcomes, stage)
            state = max([rest[3], *(shown for c, shown in zip(CAUSES, rest, strict=False) if c in left)])
            said = rest[4 + state]
            model.cpt(answer)[dict(zip(parents, values, strict=True))] = [1.0 - said, float(said)]
        evidence[answer] = net.tables[name].states.index(what)
    return evidence, stage


def _trouble(model: Any, name: str, repaired: list[str], stages: int) -> None:
    """Whether something is left after every repair."""
    model.add(gum.LabelizedVariable(name, "", 2))
    parents = ["start", *(f"repair{n}" for n in range(stages))]
    for parent in parents:
        model.addArc(parent, name)
    for start, *outcomes in product(range(len(SETS)), *(range(2) for _ in range(stages))):
        there = all(_left(SETS[start], repaired, outcomes, stage) for stage in range(1, stages + 1))
        model.cpt(name)[dict(zip(parents, (start, *outcomes), strict=True))] = [1.0 - there, float(there)]


@pytest.mark.parametrize("seed", range(20))
def test_the_belief_after_two_repairs_is_that_of_a_general_library(seed: int) -> None:
    """Whoever looks again says the same here: the library knows nobody who says two things of one state."""
    net, visit = drawn(seed)
    assert dict(played(prior(net), visit, SLIP).ranked()) == pytest.approx(library(net, visit), abs=1e-9)
