"""The shipped rules in experta, in CLIPS and in the plain fixpoint on the same facts, by processor time."""

import random
from collections.abc import Callable, Sequence
from typing import Any

from diagnose.core.engine import Engine
from diagnose.core.rules import fixpoint
from diagnose.kb.domain import fact_domain
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Fact
from tests.bench.clock import head, line, ms, worked
from tests.core.test_clips import in_clips, run_clips

FACTS = 15  # a long visit
Run = Callable[[frozenset[Fact]], tuple[frozenset[Fact], tuple[str, ...]]]


def visits(kb: KnowledgeBase, count: int) -> list[list[frozenset[Fact]]]:
    """Facts as they grow, one more at a time, of so many invented visits."""
    rng = random.Random(1)
    domain = {name: sorted(words) for name, words in sorted(fact_domain(kb).items()) if words}
    drawn = [[(n, rng.choice(domain[n])) for n in rng.sample(sorted(domain), FACTS)] for _ in range(count)]
    return [[frozenset(facts[: n + 1]) for n in range(FACTS)] for facts in drawn]


def main(kb: KnowledgeBase, quick: bool) -> None:
    """One more fact on top of a visit, and a whole visit at once."""
    played = visits(kb, 20 if quick else 200)
    growing, whole = [facts for visit in played for facts in visit], [visit[-1] for visit in played]
    for says, sets, again in (
        (f"Rules: one more fact, {len(kb.rules)} rules", growing, _experta(kb)),
        (f"Rules: {FACTS} new facts at once, {len(kb.rules)} rules", whole, _experta(kb)),
    ):
        head(says)
        environment = in_clips(kb)
        runs: dict[str, Run] = {
            "experta, the engine of record": again,
            "CLIPS by clipspy, told anew each time": lambda f, e=environment: run_clips(e, f),  # type: ignore[misc]
            "CLIPS by clipspy, told only what is new": Growing(kb),
            "plain fixpoint": lambda f: fixpoint(kb, f),
        }
        _compare(runs, sets)


def _experta(kb: KnowledgeBase) -> Run:
    engine = Engine(kb)
    engine.run(())  # compiled on the first run
    return engine.run


def _compare(runs: dict[str, Run], sets: Sequence[frozenset[Fact]]) -> None:
    results: dict[str, Any] = {}
    seconds: dict[str, float] = {}
    for name, run in runs.items():
        results[name], seconds[name] = worked(lambda r=run: [r(facts) for facts in sets])  # type: ignore[misc]
    ours, *others = results.values()
    assert all(other == ours for other in others), "the engines disagree"
    base = next(iter(seconds.values()))
    for name, spent in seconds.items():
        line(name, f"{ms(spent / len(sets))}, {base / spent:.2f} times as fast as experta")


class Growing:
    """CLIPS that keeps its facts while they only grow, as the product's engine does."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self._environment, self._told = in_clips(kb), frozenset[Fact]()
        self._environment.reset()

    def __call__(self, facts: frozenset[Fact]) -> tuple[frozenset[Fact], tuple[str, ...]]:
        if not self._told <= facts:
            self._environment.reset()
            self._told = frozenset()
        holds = self._environment.find_template("holds")
        for name, value in facts - self._told:
            holds.assert_fact(name=name, value=value)
        self._told = facts
        self._environment.run()
        found = list(self._environment.facts())
        held = frozenset((f["name"], f["value"]) for f in found if f.template.name == "holds")
        return held, tuple(sorted(f["rule"] for f in found if f.template.name == "fired"))
