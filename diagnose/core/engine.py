"""The forward-chaining engine of record: experta, compiled from the knowledge base once. Its only import.

experta needs names that Python 3.10 took out of `collections`, calls logging.basicConfig() on import, and
fires ties in random order. So: a shim, the root logger put back, unique salience, only positive ground
conditions, actions that only declare, and sorted output.
"""

import collections
import collections.abc
import logging
import threading
from collections.abc import Callable, Iterable
from typing import Any

from diagnose.core.rules import conclusions_of, fact_names
from diagnose.model.knowledge import KnowledgeBase, Rule
from diagnose.model.visit import Fact

for _name in ("Mapping", "MutableMapping", "Sequence", "Iterable", "Hashable", "Callable"):
    if not hasattr(collections, _name):
        setattr(collections, _name, getattr(collections.abc, _name))
_handlers, _level = list(logging.root.handlers), logging.root.level

import experta  # noqa: E402

logging.root.handlers[:], logging.root.level = _handlers, _level


class Holds(experta.Fact):  # type: ignore[misc]
    """One word fact: name and value."""


class Engine:
    """Rules of one knowledge base, ready to run. Build once; `run` may be called from any thread."""

    def __init__(self, kb: KnowledgeBase) -> None:
        self._fired: list[str] = []
        self._mentioned = frozenset(name for rule in kb.rules.values() for name in rule.when)
        self._lock = threading.Lock()
        names = fact_names(kb)
        rules = [kb.rules[rule_id] for rule_id in sorted(kb.rules)]
        body = {
            f"rule_{i}": experta.Rule(*_patterns(rule), salience=len(rules) - i)(
                _action(rule.id, conclusions_of(rule, names), self._fired)
            )
            for i, rule in enumerate(rules)
        }
        self._engine = type("KnowledgeRules", (experta.KnowledgeEngine,), body)()

    def run(self, facts: Iterable[Fact]) -> tuple[frozenset[Fact], tuple[str, ...]]:
        """The facts that hold in the end and the ids of the rules that fired, sorted."""
        with self._lock:
            self._fired.clear()
            self._engine.reset()
            given = frozenset(facts)
            for name, value in sorted(given):
                if name in self._mentioned:
                    self._engine.declare(Holds(name=name, value=value))
            self._engine.run()
            held = frozenset((f["name"], f["value"]) for f in self._engine.facts.values() if isinstance(f, Holds))
            return held | given, tuple(sorted(set(self._fired)))


def _patterns(rule: Rule) -> list[Any]:
    return [Holds(name=name, value=_accepts(values)) for name, values in rule.when.items()]


def _accepts(values: tuple[str, ...]) -> Any:
    return experta.L(values[0]) if len(values) == 1 else experta.P(frozenset(values).__contains__)


def _action(rule_id: str, conclusions: tuple[Fact, ...], fired: list[str]) -> Callable[[Any], None]:
    def action(engine: Any) -> None:
        fired.append(rule_id)
        for name, value in conclusions:
            engine.declare(Holds(name=name, value=value))

    return action
