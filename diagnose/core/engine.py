"""The forward-chaining engine of record: experta, compiled from the knowledge base once.

experta fires ties in random order. So: unique salience, only positive ground conditions, actions that only declare,
and sorted output.

It costs most to reset and to tell a fact from all the names that rules ask for. Nothing is ever retracted, so
more facts on top of those already there need no reset; and names are spread over as many kinds of fact as
each kind holds names, so that few tests of kind and few of name find the rules.
"""

import inspect
import math
import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache, lru_cache
from typing import Any

from diagnose.core.borrowed import experta
from diagnose.core.rules import conclusions_of, fact_names
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.rules import Rule
from diagnose.model.visit import Fact

_TAKES_AN_ENGINE = inspect.signature(lambda engine: engine)  # experta wants it nine times per rule


class Engine:
    """Rules of one knowledge base; `run` may be called from any thread.

    Only what can come into play is compiled: a rule waits until facts of all the names in its condition were told, or
    may be concluded. The rules that come into play with the same run are one part.
    """

    def __init__(self, kb: KnowledgeBase) -> None:
        self._facts = fact_names(kb)
        self._waiting = {rule_id: kb.rules[rule_id] for rule_id in sorted(kb.rules)}
        self._parts: list[_Part] = []
        self._lock = threading.Lock()
        self._names = frozenset(name for rule in kb.rules.values() for name in rule.when)
        self._seen = set[str]()  # names of facts that were told or may be concluded
        self._last = (
            frozenset[Fact](),
            frozenset[Fact](),
        )  # told, and concluded from it: with more told it still holds
        self._after = lru_cache(maxsize=256)(self._run)

    def run(self, facts: Iterable[Fact]) -> tuple[frozenset[Fact], tuple[str, ...]]:
        """The facts that hold in the end and the ids of the rules that fired, sorted."""
        given = frozenset(facts)
        with self._lock:
            concluded, fired = self._after(frozenset(f for f in given if f[0] in self._names))
        return given | concluded, fired

    def _run(self, facts: frozenset[Fact]) -> tuple[frozenset[Fact], tuple[str, ...]]:
        self._compile({name for name, _ in facts})
        before = self._last[0] <= facts
        concluded, fired, count = self._last[1] if before else frozenset[Fact](), set[str](), -1
        while len(concluded) > count:
            count = len(concluded)
            for part in self._parts:
                found, rules = part.run(facts | concluded)
                concluded |= found
                fired |= rules
        self._last = (facts, concluded)
        return concluded, tuple(sorted(fired))

    def _compile(self, told: set[str]) -> None:
        """A part of the rules that come into play with facts of these names, if any do.

        The rules wait until their part is there: an interruption loses none.
        """
        seen, waiting, into_play = self._seen | told, dict(self._waiting), list[Rule]()
        while ready := [rule for rule in waiting.values() if seen.issuperset(rule.when)]:
            into_play += ready
            for rule in ready:
                del waiting[rule.id]
                seen |= {name for name, _ in conclusions_of(rule, self._facts)}
        if into_play:
            self._parts.append(_Part(into_play, self._facts))
        self._waiting, self._seen = waiting, seen


class _Part:
    """Some rules, compiled."""

    def __init__(self, rules: Sequence[Rule], facts: Mapping[str, str]) -> None:
        self._fired: set[str] = set()
        self._concluded: set[Fact] = set()
        self._told: frozenset[Fact] | None = None  # what the engine stands at; None: unknown, it must be reset
        self._kinds = _kinds_of_fact(sorted({name for rule in rules for name in rule.when}))
        self._engine = self._compiled(rules, facts)

    def run(self, given: frozenset[Fact]) -> tuple[frozenset[Fact], frozenset[str]]:
        """What these rules conclude, and which of them fire."""
        facts = frozenset(f for f in given if f[0] in self._kinds)
        if facts != self._told:
            self._tell(facts)
        return frozenset(self._concluded), frozenset(self._fired)

    def _tell(self, facts: frozenset[Fact]) -> None:
        told, self._told = self._told, None  # an interruption leaves it unknown
        if told is None or not told <= facts:
            self._fired.clear()
            self._concluded.clear()
            self._engine.reset()
            told = frozenset()
        self._declare(sorted(facts - told))
        self._engine.run()
        self._told = facts

    def _declare(self, facts: Iterable[Fact]) -> None:
        known = [self._kinds[name](name=name, value=value) for name, value in facts if name in self._kinds]
        if known:
            self._engine.declare(*known)

    def _compiled(self, rules: Sequence[Rule], facts: Mapping[str, str]) -> Any:
        accepts = cache(_accepts)
        body: dict[str, Any] = {}
        for i, rule in enumerate(rules):
            patterns = [self._kinds[n](name=n, value=accepts(values)) for n, values in rule.when.items()]
            fires = experta().Rule(*patterns, salience=len(rules) - i)
            body[f"rule_{i}"] = fires(self._action(rule.id, conclusions_of(rule, facts)))
        return type("KnowledgeRules", (experta().KnowledgeEngine,), body)()

    def _action(self, rule_id: str, conclusions: tuple[Fact, ...]) -> Callable[[Any], None]:
        def action(_: Any) -> None:
            self._fired.add(rule_id)
            self._concluded.update(conclusions)
            self._declare(conclusions)

        action.__signature__ = _TAKES_AN_ENGINE  # type: ignore[attr-defined]
        return action


def _kinds_of_fact(names: Sequence[str]) -> Mapping[str, type]:
    """Kind of fact for every name that a rule asks for."""
    kinds = [type(f"Holds{i}", (experta().Fact,), {}) for i in range(math.isqrt(len(names)) + 1)]
    return {name: kinds[i % len(kinds)] for i, name in enumerate(names)}


def _accepts(values: tuple[str, ...]) -> Any:
    one = len(values) == 1
    return experta().L(values[0]) if one else experta().P(frozenset(values).__contains__)
