"""Facts -> firings, by plain forward chaining to the least fixpoint; and what the firings bring about.

Rules are positive and conjunctive, nothing is retracted, so the fixpoint is unique whatever the order.
`diagnose.core.engine` computes the same with experta, the engine of record.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.rules import Rule
from diagnose.model.visit import Fact, Firing


@dataclass(frozen=True, slots=True)
class Consequences:
    """All firings sorted, the facts that hold after them, and every effect with the rule it comes from."""

    firings: tuple[Firing, ...]
    facts: frozenset[Fact]
    settled: Mapping[str, tuple[str, str]]  # check -> (answer, rule)
    excluded: Mapping[str, str]  # cause -> rule
    cautions: tuple[str, ...]
    stop_work: tuple[str, ...]
    contradictions: tuple[str, ...]  # rules
    unlocked: frozenset[str]


def conclusions_of(rule: Rule, fact_names: Mapping[str, str]) -> tuple[Fact, ...]:
    """The facts a rule adds: what it derives and the answers it settles."""
    settled = tuple((fact_names.get(check, check), answer) for check, answer in rule.then.settle.items())
    return (*rule.then.derive.items(), *settled)


def fact_names(kb: KnowledgeBase) -> Mapping[str, str]:
    """Check id -> the fact its answer becomes."""
    return {check.id: check.fills or check.id for check in kb.checks.values()}


def premises(rule: Rule, facts: frozenset[Fact]) -> tuple[Fact, ...] | None:
    """The facts that satisfy the rule, or None."""
    found: list[Fact] = []
    for name, values in rule.when.items():
        hits = [(name, value) for value in values if (name, value) in facts]
        if not hits:
            return None
        found += hits
    return tuple(sorted(found))


def fixpoint(kb: KnowledgeBase, facts: Iterable[Fact]) -> tuple[frozenset[Fact], tuple[str, ...]]:
    """Least fixpoint: the facts that hold in the end and the ids of the rules that fire, sorted."""
    known, names = set(facts), fact_names(kb)
    waiting, fired = dict(kb.rules), list[str]()
    while True:
        now = frozenset(known)
        ready = [r for r in waiting.values() if premises(r, now) is not None]
        if not ready:
            return frozenset(known), tuple(sorted(fired))
        for rule in ready:
            del waiting[rule.id]
            fired.append(rule.id)
            known.update(conclusions_of(rule, names))


def consequences(kb: KnowledgeBase, facts: frozenset[Fact], fired: Iterable[str]) -> Consequences:
    """Read the effects off the fired rules; `facts` is the fixpoint they produced."""
    rules = [kb.rules[rule_id] for rule_id in sorted(fired)]
    return Consequences(
        firings=tuple(Firing(r.id, premises(r, facts) or ()) for r in rules),
        facts=facts,
        settled={check: (answer, r.id) for r in rules for check, answer in r.then.settle.items()},
        excluded={cause: r.id for r in rules for cause in r.then.exclude},
        cautions=tuple(dict.fromkeys(c for r in rules for c in r.then.caution)),
        stop_work=tuple(dict.fromkeys(r.then.stop_work for r in rules if r.then.stop_work)),
        contradictions=tuple(r.id for r in rules if r.then.contradiction),
        unlocked=frozenset(check for r in rules for check in r.then.unlock),
    )
