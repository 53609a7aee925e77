"""Answers of one gate made to agree: by the knowledge's own rules none contradicts another, and none denies a fault.

What a rule settles is what the check shows. Where answers clash, the one gives way that the faults have least to do
with: a fact of the site before a sound reading, and what the faults themselves bring last.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from diagnose.core.facts import fact_name
from diagnose.core.findings import observe
from diagnose.core.rules import Consequences, consequences, fixpoint
from diagnose.kb.domain import answers_of
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Answer, Setup, Value
from diagnose.practice.bench import CANT_SHOW, Results, after_of, known_from

ROUNDS = 40  # of clashes put right one by one; a gate that needs more is drawn anew
Clash = tuple[str, tuple[str, ...]]  # a rule or a finding, and the facts that it rests on


@dataclass(frozen=True, slots=True)
class Site:
    """The gate that the answers are for. `states`: what findings were drawn to show; `brought`: those that the faults
    bear on; `fixed`: checks whose answers stand."""

    kb: KnowledgeBase
    setup: Setup
    complaint: str
    truth: tuple[str, ...]
    states: Mapping[str, str]
    brought: frozenset[str]
    fixed: frozenset[str] = frozenset()

    def is_brought(self, check: str) -> bool:
        finding = self.kb.checks[check].finding
        return bool(finding) and finding.id in self.brought  # type: ignore[union-attr]


@dataclass(frozen=True, slots=True)
class Told:
    """What some answers come to: facts, consequences, and the states that are seen."""

    values: Mapping[str, Value]
    after: Consequences
    seen: Mapping[str, str]


def told_by(kb: KnowledgeBase, setup: Setup, complaint: str, results: Mapping[str, Value]) -> Told:
    """Everything that follows once all of them are given."""
    known = known_from(kb, setup, complaint, results)
    after = consequences(kb, *fixpoint(kb, known.facts))
    seen = observe(kb, known, after, [Answer(c, v) for c, v in results.items()])
    return Told(known.values, after, {o.finding: o.state for o in seen})


def agreed(site: Site, base: Results) -> Results | None:
    """The answers once they agree, None where they cannot be made to; what is fixed may clash with itself."""
    borne = clashes(site, {c: v for c, v in base.items() if c in site.fixed})
    for _ in range(ROUNDS):
        results = _settled(site, base)
        found = clashes(site, results)
        clash = next((c for c in found if c not in borne), None)
        if clash is None:
            return results
        changed = _given_way(site, base, results, clash, len(found))
        if changed is None:
            return None
        base = changed
    return None


def clashes(site: Site, results: Mapping[str, Value]) -> list[Clash]:
    """Answers that contradict each other, deny a fault, make a link look bad that is not, or settle otherwise what a
    check shows."""
    told = told_by(site.kb, site.setup, site.complaint, results)
    after, rules = told.after, site.kb.rules
    found = [*after.contradictions, *(rule for cause, rule in after.excluded.items() if cause in site.truth)]
    found += [rule for check, (answer, rule) in after.settled.items() if _otherwise(site, results, check, answer)]
    return [*((rule, tuple(rules[rule].when)) for rule in dict.fromkeys(found)), *_strays(site, told)]


def _otherwise(site: Site, results: Mapping[str, Value], check: str, answer: str) -> bool:
    shown = results.get(check, CANT_SHOW)
    return shown not in (answer, CANT_SHOW) and answer in answers_of(site.kb.checks[check])


def _strays(site: Site, told: Told) -> Iterator[Clash]:
    """Findings that look bad though nothing was drawn to make them so, and no rule says it of a healthy reading."""
    for name, state in told.seen.items():
        finding = site.kb.findings[name]
        drawn = state in (next(iter(finding.states)), site.states.get(name))
        if not drawn and finding.check not in told.after.settled.keys() | site.fixed:
            yield name, (finding.fact,)


def _settled(site: Site, base: Results) -> Results:
    """With what the rules settle, save where a fault itself shows otherwise, and without what makes no sense here."""
    results = base
    for _ in range(ROUNDS):
        told = told_by(site.kb, site.setup, site.complaint, results)
        moved: Results = {
            check: answer if answer in answers_of(site.kb.checks[check]) else CANT_SHOW
            for check, (answer, _) in told.after.settled.items()
            if not site.is_brought(check)
        }
        moved |= dict.fromkeys(_senseless(site.kb, told), CANT_SHOW)
        new = base | {check: answer for check, answer in moved.items() if check in base and check not in site.fixed}
        if new == results:
            break
        results = new
    return results


def _senseless(kb: KnowledgeBase, told: Told) -> Iterator[str]:
    """Checks that nobody does at this gate: at a photo eye with two heads there is no reflector to look at."""
    known: dict[str, set[Value]] = {name: {value} for name, value in told.values.items()}
    for name, word in told.after.facts:
        known.setdefault(name, set()).add(word)
    for check in kb.checks.values():
        if any(known.get(name, set()).isdisjoint(words) for name, words in check.only_if.items()):
            yield check.id


def _given_way(site: Site, base: Results, now: Results, clash: Clash, before: int) -> Results | None:
    """With one answer changed so that fewer clash than `before`; None where nothing that may change helps. `now`: the
    answers with what the rules settle."""
    orders = _orders(site, now)
    for check, value in _changes(site, now, clash):
        tried = _settled(site, {**base, check: value})
        if len(clashes(site, tried)) < before and _orders(site, tried) <= orders:
            return {**base, check: value}
    return None


def _orders(site: Site, results: Mapping[str, Value]) -> set[str]:
    return set(after_of(site.kb, site.setup, site.complaint, results).stop_work)


def _changes(site: Site, results: Results, clash: Clash) -> Iterator[tuple[str, Value]]:
    """What it rests on, with other values of it: the least important answer first."""
    resting = resting_on(site.kb, clash[1])
    open_ones = [c for c in resting if results.get(c, CANT_SHOW) != CANT_SHOW and c not in site.fixed]
    ordered = sorted(open_ones, key=lambda c: (site.is_brought(c), site.kb.checks[c].finding is not None, c))
    for check in ordered:
        yield from ((check, value) for value in _alike(site.kb.checks[check], results[check]))
    yield from ((check, CANT_SHOW) for check in ordered)


def _alike(check: Check, shown: Value) -> list[str]:
    """Other answers that may stand in for one: of a fact of the site any, else those that mean the same state or
    none at all: 'there is no reflector'."""
    answers, states = answers_of(check), check.finding.states.values() if check.finding else ()
    otherwise = {word for words in states if shown not in words for word in words}
    return sorted(answers - otherwise - {str(shown)})


def resting_on(kb: KnowledgeBase, facts: Iterable[str]) -> set[str]:
    """The checks that some of the facts rest on, through rules and calculations."""
    known = set(facts)
    while True:
        more = {f for r in kb.rules.values() for f in r.when if known & {*r.then.derive, *r.then.settle}}
        more |= {f for c in kb.calculations.values() if c.id in known for f in c.inputs.values()}
        if more <= known:
            return {c.id for c in kb.checks.values() if known & {fact_name(c), c.finding.fact if c.finding else c.id}}
        known |= more
