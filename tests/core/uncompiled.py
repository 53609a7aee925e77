"""Causes, effects and findings as they stand, in a general Bayesian-network library (pyAgrum): the reference.

It knows nothing of columns, groups or cells. Every way, start, rest, fact, step, break and effect is a node of its
own, and every finding is the largest of what each of its parents shows. The set of causes is the one node that is
taken out: there is a network for each set, as one of half a dozen real causes is too dense for any junction tree.
"""

import importlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations, product
from typing import Any

from diagnose.core.chain import Links
from diagnose.model.bearing import effects_of, steps_of
from diagnose.model.gear import plain
from diagnose.model.knowledge import Cause, Finding, KnowledgeBase, Strength
from diagnose.model.visit import Value

gum: Any = importlib.import_module("pyagrum")  # its stubs are incomplete
State = Mapping[str, int]
Set = tuple[str, ...]


@dataclass(frozen=True)
class Uncompiled:
    """Any one or two causes of a knowledge base. Steps of at least `sure` are sure; 1.0: every strength as it is."""

    kb: KnowledgeBase
    values: Mapping[str, Value] = field(default_factory=dict)
    sure: float = 1.0

    @cached_property
    def weights(self) -> dict[Set, float]:
        """P(set): causes as common as they are said to be, and so many pairs for every single one."""
        common = {c.id: self.kb.scales.frequency[c.common] for c in self.kb.causes.values()}
        ones = {(c,): w for c, w in common.items()}
        twos = {(a, b): common[a] * common[b] for a, b in combinations(common, 2)}
        odds = self.kb.settings.two_fault_odds
        one, two = 1.0 / sum(ones.values()) / (1.0 + odds), odds / sum(twos.values()) / (1.0 + odds)
        return {s: one * w for s, w in ones.items()} | {s: two * w for s, w in twos.items()}

    @cached_property
    def networks(self) -> dict[Set, "Present"]:
        return {s: Present(self.kb, s, self.values, self.sure) for s in self.weights}

    def posterior(self, evidence: Mapping[str, Iterable[float]]) -> dict[str, float]:
        """P(cause present | evidence), which gives each state of some findings a weight."""
        after = {s: w * self.networks[s].likelihood(evidence) for s, w in self.weights.items()}
        total = sum(after.values())
        return {c: sum(p for s, p in after.items() if c in s) / total for c in self.kb.causes}


class Present:
    """Exactly these causes are there.

    A finding that is looked for at other kinds of device than a cause's sees the chain without that cause: `away`.
    All these chains have the same ways, coins and facts.
    """

    def __init__(self, kb: KnowledgeBase, causes: Set, values: Mapping[str, Value], sure: float = 1.0) -> None:
        self.kb, self.values, self.sure, self.net = kb, values, sure, gum.BayesNet()
        self.causes = [kb.causes[c] for c in causes]
        self.links = Links(kb, {})
        reached = frozenset[str]().union(*(effects_of(kb, c) for c in self.causes))
        self.effects = [e for e in self.links.order if e in reached]
        self.live, self.there = dict[tuple[str, Set], str](), dict[tuple[str, Set], str]()
        for cause in self.causes:
            self._cause(cause)
        for effect in self.effects:
            self._coins(effect)
        for away in sorted({self.away(f) for f in kb.findings.values()}):
            for effect in self.effects:
                self._effect(effect, away)
        for finding in kb.findings.values():
            self._finding(finding)

    @cached_property
    def engine(self) -> Any:
        return gum.LazyPropagation(self.net)

    def likelihood(self, evidence: Mapping[str, Iterable[float]]) -> float:
        self.engine.setEvidence({f: list(map(float, w)) for f, w in evidence.items()})
        return float(self.engine.evidenceProbability()) if evidence else 1.0

    def shown(self, finding: str) -> list[float]:
        """P(state of the finding)."""
        self.engine.setEvidence({})
        return list(map(float, self.engine.posterior(finding).tolist()))

    # -- nodes; '' stands for what is never there

    def _node(self, name: str, row: Callable[[State], Sequence[float]], parents: Sequence[str] = ()) -> str:
        """A node with its table: `row` gives the distribution for states of the parents."""
        sizes = [self.net.variable(p).domainSize() for p in reversed(parents)]  # the first parent changes fastest
        states = (dict(zip(reversed(parents), v, strict=True)) for v in product(*map(range, sizes)))
        table = [row(s) for s in states]
        self.net.add(gum.LabelizedVariable(name, "", len(table[0])))
        for parent in parents:
            self.net.addArc(parent, name)
        self.net.cpt(name).fillWith([p for each in table for p in each])
        return name

    def _if(self, name: str, holds: Callable[[State], float | bool], parents: Sequence[str] = ()) -> str:
        """Something that is there with a chance that hangs on its parents."""
        return self._node(name, lambda v: [1.0 - float(holds(v)), float(holds(v))], parents)

    def _any(self, name: str, nodes: Iterable[str]) -> str:
        """Whether one of the nodes is there, two at a time so that no table is large."""
        before, *rest = [*filter(None, nodes)] or [""]
        for i, other in enumerate(rest):
            before = self._if(f"{name} {i}", lambda v: any(v.values()), [before, other])
        return before

    def _all(self, name: str, nodes: Sequence[str], none_of: Iterable[str] = ()) -> str:
        """Whether all of these are there, and none of those."""
        no = [*filter(None, [self._any(f"{name} masked", none_of)])]
        if not all(nodes) or (not no and len(nodes) == 1):
            return nodes[0] if all(nodes) else ""
        return self._if(name, lambda v: all(v[n] for n in nodes) and not any(v[n] for n in no), [*nodes, *no])

    def _chance(self, strength: Strength) -> float:
        p = self.kb.scales.strength[strength] if isinstance(strength, str) else float(strength)
        return 1.0 if p >= self.sure else p

    # -- causes: which way each goes, what it begins with, whether it rests

    def _cause(self, cause: Cause) -> None:
        ways = [{**cause.brings, **way.brings} for way in cause.one_of.values()] or [dict(cause.brings)]
        shares = [way.share for way in cause.one_of.values()] or [1.0]
        way = self._node(f"way {cause.id}", lambda _: [s / sum(shares) for s in shares])
        for effect in _starts(cause):
            chances = [self._chance(w.get(effect, 0.0)) for w in ways]
            self._if(begins(cause, effect), lambda v, chances=chances: chances[v[way]], [way])  # type: ignore[misc]
        if rests := {begins(cause, e): self.kb.effects[e].rests for e in self._resting(cause)}:
            self._if(f"rests {cause.id}", lambda v: max(p * v[b] for b, p in rests.items()), [*rests])

    def _resting(self, cause: Cause) -> list[str]:
        return [e for e in _starts(cause) if self.kb.effects[e].rests]

    def _begun(self, cause: Cause, effect: str, away: Set) -> str:
        """The cause begins with the effect, and its trouble is there."""
        if effect not in _starts(cause):
            return ""
        rests = [f"rests {cause.id}"] if self._resting(cause) else []
        return self._all(f"{cause.id} lets {there(effect, away)} go on", [begins(cause, effect)], rests)

    def _left(self, cause: Cause, effect: str, away: Set) -> str:
        """It is there while the trouble rests: begun at the link that this comes from, or what is there then."""
        effects, rests, resting = self.kb.effects, f"rests {cause.id}", self._resting(cause)
        parents = {e: begins(cause, e) for e in dict.fromkeys((*resting, effect)) if e in _starts(cause)}
        same = effect in parents and effects[effect].link in {effects[e].link for e in resting}
        if not same and effect not in {effects[e].at_rest for e in resting}:
            return ""

        def left(v: State) -> bool:
            begun = [e for e in resting if v[parents[e]]]
            if not v[rests] or not begun:
                return False
            place = effects[max(begun, key=lambda e: effects[e].rests)]
            begins_too = effect in parents and v[parents[effect]] and effects[effect].link == place.link
            return bool(begins_too) or effect == place.at_rest

        return self._if(f"{cause.id} leaves {there(effect, away)}", left, [rests, *parents.values()])

    # -- effects

    def _coins(self, effect: str) -> None:
        """Whether each step from the effect would be taken."""
        facts = [] if self._known(effect) else [self._fact(effect)]
        for to in dict.fromkeys(steps_of(self.kb.effects[effect])):
            self._if(coin(effect, to), lambda v, to=to: self._gives(effect, to, v), facts)  # type: ignore[misc]

    def _known(self, effect: str) -> bool:
        calculated = self.kb.effects[effect].calculated
        return calculated is None or self.values.get(calculated.fact) in calculated.gives

    def _fact(self, effect: str) -> str:
        """What nobody knows: one node, however many devices it is not known of, as they are wired alike."""
        calculated = self.kb.effects[effect].calculated
        assert calculated
        name, shares = plain(calculated.fact), [*calculated.unknown.values()]
        return name if name in self.net.names() else self._node(name, lambda _: [s / sum(shares) for s in shares])

    def _gives(self, effect: str, to: str, v: State) -> float:
        """How surely the effect brings the other, by the fact it hangs on."""
        entry, given = self.kb.effects[effect], dict[str, Strength]()
        if entry.calculated:
            known, words = self.values.get(entry.calculated.fact), [*entry.calculated.unknown]
            word = str(known) if self._known(effect) else words[v[self._fact(effect)]]
            given |= entry.calculated.gives[word]
        return self._chance({**entry.brings, **given}.get(to, 0.0))

    def _effect(self, name: str, away: Set) -> None:
        """It goes on where it is begun or brought, and not hidden; a trouble that rests may leave it there too."""
        here, before, full = [c for c in self.causes if c.id not in away], self._before(name), there(name, away)
        begun = [self._begun(c, name, away) for c in here]
        steps = [self._step(a, name, away) for a in before if name in steps_of(self.kb.effects[a])]
        left = [self._left(c, name, away) for c in here]
        hiding = [self.there[z, away] for z in before if self._hides(z, name)]
        self.live[name, away] = self._all(full, [self._any(f"{full} brought", [*begun, *steps])], hiding)
        rests = self._all(f"{full} at rest", [self._any(f"{full} left", left)], hiding)
        self.there[name, away] = self._any(f"{full} somehow", [self.live[name, away], rests])

    def _before(self, name: str) -> Sequence[str]:
        return self.effects[: self.effects.index(name)]

    def _hides(self, z: str, effect: str) -> bool:
        return self.kb.effects[effect].link in self.kb.effects[z].hides and effect not in self.links.reach[z]

    def _step(self, a: str, b: str, away: Set) -> str:
        """The step is taken, and nothing on the way breaks the link."""
        effects, place = self.kb.effects, [*self.kb.links]
        masks = (z for z in self._before(b) if effects[a].link in effects[z].blocks and z != a)
        cutting = [z for z in masks if place.index(effects[z].link) <= place.index(effects[b].link)]
        taken = [self.live[a, away], coin(a, b)]
        return self._all(f"{there(a, away)} brings {b}", taken, [self.there[z, away] for z in cutting])

    # -- findings

    def away(self, finding: Finding) -> Set:
        """The causes that are at other kinds of device than those where the finding is looked for."""
        check = self.kb.checks.get(finding.check)
        kinds = set(check.devices) if check else set[str]()
        return tuple(c.id for c in self.causes if kinds and c.devices and kinds.isdisjoint(c.devices))

    def _finding(self, finding: Finding) -> None:
        away = self.away(finding)
        own = [c.signs.get(finding.id, {}) for c in self.causes if c.id not in away]
        always = self._spread(finding, finding.leak)
        for shown in own:
            always = largest(always, self._spread(finding, shown))
        showing = [e for e in self.effects if finding.id in self.kb.effects[e].shows and self.there[e, away]]
        names = [*(f"{finding.id} {i}" for i in range(len(showing))), finding.id]
        self._node(names[0], lambda _: always)
        for before, name, effect in zip(names, names[1:], showing, strict=False):
            alone = self._spread(finding, self.kb.effects[effect].shows[finding.id])
            parent = self.there[effect, away]
            self._node(name, _with(before, parent, alone), [before, parent])

    def _spread(self, finding: Finding, shown: Mapping[str, Strength]) -> list[float]:
        words = self.kb.scales.strength
        each = (shown.get(s, 0.0) for s in [*finding.states][1:])
        later = [words[p] if isinstance(p, str) else float(p) for p in each]
        return [1.0 - sum(later), *later]


def _with(before: str, effect: str, alone: Sequence[float]) -> Callable[[State], list[float]]:
    """The larger of the state that is shown already and of one that the effect shows, if it is there."""

    def row(v: State) -> list[float]:
        already = [float(k == v[before]) for k in range(len(alone))]
        return largest(already, alone) if v[effect] else already

    return row


def largest(one: Sequence[float], other: Sequence[float]) -> list[float]:
    """The distribution of the larger of two independent states."""
    found = [0.0] * len(one)
    for (i, p), (k, q) in product(enumerate(one), enumerate(other)):
        found[max(i, k)] += p * q
    return found


def _starts(cause: Cause) -> list[str]:
    return list(dict.fromkeys([*cause.brings, *(e for way in cause.one_of.values() for e in way.brings)]))


def begins(cause: Cause, effect: str) -> str:
    return f"{cause.id} begins {effect}"


def coin(effect: str, to: str) -> str:
    return f"coin {effect} to {to}"


def there(effect: str, away: Set) -> str:
    return f"{effect} without {' '.join(away)}" if away else effect
