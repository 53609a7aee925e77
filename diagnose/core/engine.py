"""The forward-chaining engine of record: experta, compiled from the knowledge base once. Its only import.

experta needs names that Python 3.10 took out of `collections`, calls logging.basicConfig() on import, and
fires ties in random order. So: a shim, the root logger put back, unique salience, only positive ground
conditions, actions that only declare, and sorted output.

It costs most to reset and to tell a fact from all the names that rules ask for. Nothing is ever retracted, so
more facts on top of those already there need no reset; and names are spread over as many kinds of fact as
each kind holds names, so that few tests of kind and few of name find the rules.
"""

import collections
import collections.abc
import inspect
import logging
import math
import threading
from collections.abc import Callable, Iterable, Mapping
from functools import cache, cached_property, lru_cache
from typing import Any

from diagnose.core.rules import conclusions_of, fact_names
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Fact

_TAKES_AN_ENGINE = inspect.signature(lambda engine: engine)  # experta wants it nine times per rule


@cache
def _experta() -> Any:
    """The module; imported when rules are first run, because it takes a while."""
    for name in ("Mapping", "MutableMapping", "Sequence", "Iterable", "Hashable", "Callable"):
        if not hasattr(collections, name):
            setattr(collections, name, getattr(collections.abc, name))
    handlers, level = list(logging.root.handlers), logging.root.level
    import experta

    logging.root.handlers[:], logging.root.level = handlers, level
    return experta


class Engine:
    """Rules of one knowledge base. Compiled on the first run; `run` may be called from any thread."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self._kb = kb
        self._fired: set[str] = set()
        self._concluded: set[Fact] = set()
        self._told: frozenset[Fact] | None = None  # what the engine stands at; None: unknown, it must be reset
        self._lock = threading.Lock()
        self._names = sorted({name for rule in kb.rules.values() for name in rule.when})
        self._after = lru_cache(maxsize=256)(self._run)

    def run(self, facts: Iterable[Fact]) -> tuple[frozenset[Fact], tuple[str, ...]]:
        """The facts that hold in the end and the ids of the rules that fired, sorted."""
        given = frozenset(facts)
        with self._lock:
            concluded, fired = self._after(frozenset(f for f in given if f[0] in self._kinds))
        return given | concluded, fired

    def _run(self, facts: frozenset[Fact]) -> tuple[frozenset[Fact], tuple[str, ...]]:
        told, self._told = self._told, None  # an interruption leaves it unknown
        if told is None or not told <= facts:
            self._fired.clear()
            self._concluded.clear()
            self._engine.reset()
            told = frozenset()
        self._declare(sorted(facts - told))
        self._engine.run()
        self._told = facts
        return frozenset(self._concluded), tuple(sorted(self._fired))

    def _declare(self, facts: Iterable[Fact]) -> None:
        known = [self._kinds[name](name=name, value=value) for name, value in facts if name in self._kinds]
        if known:
            self._engine.declare(*known)

    @cached_property
    def _engine(self) -> Any:
        rules, names = [self._kb.rules[rule_id] for rule_id in sorted(self._kb.rules)], fact_names(self._kb)
        accepts = cache(_accepts)
        body: dict[str, Any] = {}
        for i, rule in enumerate(rules):
            patterns = [self._kinds[n](name=n, value=accepts(values)) for n, values in rule.when.items()]
            fires = _experta().Rule(*patterns, salience=len(rules) - i)
            body[f"rule_{i}"] = fires(self._action(rule.id, conclusions_of(rule, names)))
        return type("KnowledgeRules", (_experta().KnowledgeEngine,), body)()

    @cached_property
    def _kinds(self) -> Mapping[str, type]:
        """Kind of fact for every name that a rule asks for."""
        kinds = [type(f"Holds{i}", (_experta().Fact,), {}) for i in range(math.isqrt(len(self._names)) + 1)]
        return {name: kinds[i % len(kinds)] for i, name in enumerate(self._names)}

    def _action(self, rule_id: str, conclusions: tuple[Fact, ...]) -> Callable[[Any], None]:
        def action(_: Any) -> None:
            self._fired.add(rule_id)
            self._concluded.update(conclusions)
            self._declare(conclusions)

        action.__signature__ = _TAKES_AN_ENGINE  # type: ignore[attr-defined]
        return action


def _accepts(values: tuple[str, ...]) -> Any:
    one = len(values) == 1
    return _experta().L(values[0]) if one else _experta().P(frozenset(values).__contains__)
