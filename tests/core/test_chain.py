"""Causes, effects and findings compiled to columns, against the uncompiled network in a general library (pyAgrum).

The reference knows nothing of columns: a node for the set of causes, one for every fact, step and effect with its
blocking and hiding written out as a table, and every finding as the maximum of what each parent shows.
"""

import importlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from diagnose.core import near
from diagnose.core.chain import Links, active, ways_of
from diagnose.core.compile import compile_network
from diagnose.core.near import NearBelief
from diagnose.core.network import FindingTable
from diagnose.core.posterior import Belief, evidence_weight, prior, still_failing, update
from diagnose.model.knowledge import Calculated, Effect, KnowledgeBase, Way
from diagnose.model.named import Link
from tests.build import cause, check, knowledge

gum: Any = importlib.import_module("pyagrum")
LINKS = ("supply", "sees", "output", "input")


def effect(name: str, link: str, **more: Any) -> Effect:
    return Effect(id=name, link=link, says=name, source="src", **more)


def chained(causes: list[Any], effects: list[Effect], findings: int, **more: Any) -> KnowledgeBase:
    checks = [check(f"f{i}", ("no", "some", "yes"), {"some": 0.03, "yes": 0.02}) for i in range(findings)]
    kb = knowledge(causes, checks, **more)
    return replace(kb, effects={e.id: e for e in effects}, links={link: Link(id=link, says=link) for link in LINKS})


def random_chain(rng: np.random.Generator) -> KnowledgeBase:
    """Two effects a link and five causes, with uncertain steps, a calculated step, a blocker and a hider."""
    effects = []
    for at, link in enumerate(LINKS):
        for k in range(2):
            further = [f"{later}{n}" for later in LINKS[at + 1 :] for n in range(2)]
            some = rng.choice(further, size=min(len(further), int(rng.integers(0, 3))), replace=False)
            brings = {str(e): float(rng.choice([0.995, 0.6, 0.3])) for e in some}
            shows = {f"f{int(f)}": shown(rng) for f in rng.choice(5, size=2, replace=False)}
            masks = (
                {"blocks": tuple(LINKS[:at]) if k and rng.random() < 0.5 else ()}
                if at
                else {"hides": ("sees",) if k else ()}
            )
            effects.append(effect(f"{link}{k}", link, shows=shows, brings=brings, **masks))
    fact = Calculated(fact="logic", gives={"a": {"input0": 0.995}, "b": {"input1": 0.995}}, unknown={"a": 3, "b": 1})
    effects[0] = replace(effects[0], calculated=fact)
    effects[3] = replace(effects[3], calculated=fact)
    return chained([random_cause(f"c{i}", rng) for i in range(5)], effects, 5)


def shown(rng: np.random.Generator) -> dict[str, float]:
    yes = float(rng.uniform(0.1, 0.8))
    return {"yes": yes, "some": float(rng.uniform(0.0, 0.95 - yes))}


def random_cause(name: str, rng: np.random.Generator) -> Any:
    first, second = rng.choice([f"{link}{k}" for link in LINKS for k in range(2)], size=2, replace=False)
    one_of = {"x": Way(share=0.7, brings={str(first): 0.995}), "y": Way(share=0.3, brings={str(second): 0.7})}
    brings = {"brings": {str(first): 0.995}} if rng.random() < 0.6 else {"one_of": one_of}
    return cause(name, {f"f{int(rng.integers(5))}": shown(rng)}, common="common", **brings)


@dataclass
class Uncompiled:
    """The network as it stands, in pyAgrum; every mechanism a node of its own."""

    kb: KnowledgeBase
    values: Mapping[str, str]

    def __post_init__(self) -> None:
        self.reach = Links(self.kb, {}).reach

    def sets(self) -> list[tuple[str, ...]]:
        return [*((c,) for c in self.kb.causes), *combinations(self.kb.causes, 2)]

    def build(self) -> Any:
        net = gum.BayesNet()
        sets, odds = (
            self.sets(),
            2 * self.kb.settings.two_fault_odds / (len(self.kb.causes) - 1),
        )  # all equally common
        weights = np.array([odds ** len(s) for s in sets])
        net.add(gum.LabelizedVariable("set", "", len(sets)))
        net.cpt("set")[:] = weights / weights.sum()
        self._roots(net)
        for name in Links(self.kb, {}).order:
            self._effect(net, name)
        for finding in self.kb.findings.values():
            self._finding(net, finding)
        return net

    def _binary(self, net: Any, name: str, chance: float) -> None:
        net.add(gum.LabelizedVariable(name, "", 2))
        net.cpt(name)[:] = [1 - chance, chance]

    def _roots(self, net: Any) -> None:
        """Which way each cause goes, whether each uncertain step is taken, and the fact nobody knows."""
        if "logic" not in self.values:
            self._binary(net, "logic", 0.25)
        for c in self.kb.causes.values():
            if c.one_of:
                self._binary(net, f"way {c.id}", 0.3)
                self._binary(net, f"start {c.id}", 0.7)
        for e in self.kb.effects.values():
            for to, p in e.brings.items():
                if float(p) < 0.95:
                    self._binary(net, f"{e.id}>{to}", float(p))

    def _parents(self, name: str) -> list[str]:
        kb, order = self.kb, Links(self.kb, {}).order
        before = list(order[: order.index(name)])
        steps = [f"{e}>{name}" for e in before if float(kb.effects[e].brings.get(name, 1)) < 0.95]
        ways = [f"{w} {c.id}" for c in kb.causes.values() if c.one_of for w in ("way", "start")]
        logic = [] if "logic" in self.values else ["logic"]
        return ["set", *logic, *ways, *before, *steps]

    def _used(self, name: str) -> list[str]:
        """Parents on which the effect really depends, to keep its table small."""
        links = Links(self.kb, {})
        near = [e for e in links.order if name in links.reach[e] and e != name]
        masks = [e for e, x in self.kb.effects.items() if x.blocks or x.hides]
        causes = [c for c in self.kb.causes.values() if any(name in w.brings for w in c.one_of.values())]
        ways = {f"{w} {c.id}" for c in causes for w in ("way", "start")}
        direct = {e for e in near if name in self.kb.effects[e].brings}
        by_fact = {e for e in near if self.kb.effects[e].calculated}
        keep = {"set", *ways, *direct, *by_fact, *masks, *({"logic"} if by_fact else set())}
        return [p for p in self._parents(name) if p in keep or p.endswith(f">{name}")]

    def _effect(self, net: Any, name: str) -> None:
        used = self._used(name)
        net.add(gum.LabelizedVariable(name, "", 2))
        for p in used:
            net.addArc(p, name)
        fill(net, name, used, lambda v: [1.0 - (on := float(self._is_on(name, v))), on])

    def _is_on(self, name: str, v: Mapping[str, int]) -> bool:
        kb, place = self.kb, {link: i for i, link in enumerate(LINKS)}
        at = place[kb.effects[name].link]
        there = {e for e in kb.effects if v.get(e)}

        def blocked(source: str) -> bool:
            masks = (z for z in there if kb.effects[source].link in kb.effects[z].blocks and z not in (source, name))
            return any(place[kb.effects[z].link] <= at for z in masks)

        reach = self.reach
        if any(kb.effects[name].link in kb.effects[z].hides and name not in reach[z] for z in there):
            return False
        begun = any(self._starts(c, name, v) for c in self.sets()[v["set"]])
        return begun or any(self._steps(e, name, v) and not blocked(e) for e in there)

    def _starts(self, c: str, name: str, v: Mapping[str, int]) -> bool:
        entry = self.kb.causes[c]
        if not entry.one_of:
            return name in entry.brings
        way = list(entry.one_of.values())[v.get(f"way {c}", 0)]
        return name in way.brings and (float(way.brings[name]) >= 0.95 or bool(v[f"start {c}"]))

    def _steps(self, source: str, name: str, v: Mapping[str, int]) -> bool:
        entry = self.kb.effects[source]
        if name in entry.brings and v.get(f"{source}>{name}", 1):
            return True
        if not entry.calculated or not any(name in gives for gives in entry.calculated.gives.values()):
            return False
        word = self.values.get("logic") or ("a", "b")[v["logic"]]
        return name in entry.calculated.gives[word]

    def _finding(self, net: Any, finding: Any) -> None:
        showing = [e for e, x in self.kb.effects.items() if finding.id in x.shows]
        net.add(gum.LabelizedVariable(finding.id, "", 3))
        for parent in ("set", *showing):
            net.addArc(parent, finding.id)
        fill(net, finding.id, ["set", *showing], lambda v: self._shown(finding, showing, v))

    def _shown(self, finding: Any, showing: list[str], v: Mapping[str, int]) -> list[float]:
        parts = [self.kb.effects[e].shows[finding.id] for e in showing if v[e]]
        own = (self.kb.causes[c].signs.get(finding.id) for c in self.sets()[v["set"]])
        return maximum([finding.leak, *parts, *filter(None, own)])


def fill(net: Any, name: str, parents: list[str], row: Callable[[Mapping[str, int]], list[float]]) -> None:
    """The table of a node, one row for each state of its parents; pyAgrum has the first parent change fastest."""
    sizes = [net.variable(p).domainSize() for p in reversed(parents)]
    states = (dict(zip(reversed(parents), values, strict=True)) for values in product(*map(range, sizes)))
    net.cpt(name).fillWith([p for state in states for p in row(state)])


def maximum(parts: list[Any]) -> list[float]:
    """The distribution of the largest of independent states, each given for the states after the first."""
    found = {0: 1.0}
    for part in parts:
        one = {1: float(part.get("some", 0.0)), 2: float(part.get("yes", 0.0))}
        one[0] = 1.0 - one[1] - one[2]
        mixed = dict.fromkeys(range(3), 0.0)
        for (a, p), (b, q) in product(found.items(), one.items()):
            mixed[max(a, b)] += p * q
        found = mixed
    return [found[k] for k in range(3)]


def posterior_of(uncompiled: Uncompiled, evidence: Mapping[str, Any]) -> dict[str, float]:
    net = uncompiled.build()
    engine = gum.LazyPropagation(net)
    engine.setEvidence({f: list(map(float, w)) for f, w in evidence.items()})
    of_sets = engine.posterior("set").tolist()
    pairs = list(zip(uncompiled.sets(), of_sets, strict=True))
    return {c: sum(p for s, p in pairs if c in s) for c in uncompiled.kb.causes}


def evidence_on(kb: KnowledgeBase, rng: np.random.Generator) -> Iterator[tuple[str, Any]]:
    for name in rng.choice(list(kb.findings), size=3, replace=False):
        yield str(name), (int(rng.integers(3)), 0.02)


@pytest.mark.parametrize("seed", range(60))
def test_the_columns_give_the_posterior_of_the_network_they_stand_for(seed: int) -> None:
    rng = np.random.default_rng(seed)
    kb, values = random_chain(rng), {"logic": "b"} if seed % 3 == 0 else {}
    network = compile_network(kb, (), None, values)
    belief, told = prior(network), {}
    for finding, (state, slip) in evidence_on(kb, rng):
        table = network.tables[finding]
        told[finding] = evidence_weight(table, table.states[state], slip)
        belief = update(belief, table, told[finding])
    reference = posterior_of(Uncompiled(kb, values), told)
    for name, p in reference.items():
        assert belief.probability(name) == pytest.approx(p, abs=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_what_an_answer_would_tell_is_what_it_tells(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(near, "PARTNER", 0.0)
    kb = random_chain(np.random.default_rng(seed))
    belief, slip = prior(compile_network(kb)), 0.02
    for table in belief.network.tables.values():
        _, foreseen = NearBelief(belief).heard([table.id], slip)
        for k, state in enumerate(table.states):
            after = update(belief, table, evidence_weight(table, state, slip))
            chance = float(np.exp(after.log_evidence - belief.log_evidence))
            assert foreseen[k] == pytest.approx(chance * after.marginals, abs=1e-12)


def test_a_repair_takes_away_every_way_of_its_cause() -> None:
    belief = prior(compile_network(random_chain(np.random.default_rng(2))))
    after = still_failing(belief, "c0", 0.0)
    assert after.probability("c0") == 0.0
    assert after.marginals[1:].sum() > 0.0


def small_chain() -> KnowledgeBase:
    """A contact that is welded hides what the sensor sees, and two causes that bring the same effect."""
    dark = {"f0": {"yes": 0.9}}
    effects = [
        effect("seen", "sees", brings={"active": 0.995}, shows={"f1": {"yes": 0.9}}),
        effect("welded", "output", brings={"idle": 0.995}, blocks=("sees",)),
        effect("active", "input", shows=dark),
        effect("idle", "input", shows={"f2": {"yes": 0.9}}),
    ]
    causes = [
        cause("mud", {}, brings={"seen": 0.995}),
        cause("leaves", {}, brings={"seen": 0.995}),
        cause("weld", {}, brings={"welded": 0.995}),
    ]
    return chained(causes, effects, 3)


def test_a_blocked_effect_shows_before_the_break_and_not_behind_it() -> None:
    table = compile_network(small_chain()).tables
    mud, weld = 1 + list(small_chain().causes).index("mud"), 1 + list(small_chain().causes).index("weld")
    assert 1 - table["f0"].below([mud])[1] > 0.85
    assert 1 - table["f0"].below([mud, weld])[1] < 0.06  # the leak alone
    assert 1 - table["f1"].below([mud, weld])[1] > 0.85


def test_an_effect_that_two_causes_bring_shows_once() -> None:
    table = compile_network(small_chain()).tables["f0"]
    both = [1 + list(small_chain().causes).index(c) for c in ("mud", "leaves")]
    assert table.below(both) == pytest.approx(table.below(both[:1]), abs=1e-12)


def test_order_on_the_chain_is_kept_whatever_the_names() -> None:
    links = Links(small_chain(), {})
    assert [small_chain().effects[e].link for e in links.order] == ["sees", "output", "input", "input"]
    tracks = [track for _, track in ways_of(links, small_chain().causes["mud"])]
    assert [sorted(active(links, t)) for t in tracks] == [["active", "seen"]]


def test_unlikely_columns_change_what_a_check_promises_by_no_more_than_their_share() -> None:
    belief = prior(compile_network(random_chain(np.random.default_rng(3))))
    weights = belief.weights.copy()
    weights[1, :] = weights[:, 1] = weights[1, :] * 1e-6
    thin = replace(belief, weights=weights / np.triu(weights).sum())
    kept = NearBelief(thin)
    assert len(kept.kept) == len(thin.columns) - 1
    for table in thin.network.tables.values():
        _, promised = kept.heard([table.id], 0.02)
        whole = np.array([chance_of_state(thin, table, state, 0.02) for state in table.states])
        assert promised == pytest.approx(whole, abs=1e-5)


def chance_of_state(belief: Belief, table: FindingTable, state: str, slip: float) -> NDArray[np.float64]:
    """P(cause present, answer = state), by taking the answer."""
    after = update(belief, table, evidence_weight(table, state, slip))
    return np.asarray(np.exp(after.log_evidence - belief.log_evidence) * after.marginals)


def resting(rests: float) -> KnowledgeBase:
    """A cause that makes the device see something, only when the occasion for it is there."""
    effects = [
        effect("comes", "sees", shows={"f0": {"yes": 0.9}}, rests=rests),
        effect("seen", "output", shows={"f1": {"yes": 0.9}}),
    ]
    return chained([cause("rain", {}, brings={"comes": 0.995, "seen": 0.995}), cause("other", {})], effects, 2)


def test_a_trouble_that_rests_shows_what_brings_it_on_and_nothing_else() -> None:
    kb = resting(0.75)
    network = compile_network(kb)
    assert network.names.count("rain") == 2
    occasion, looked = network.shown_by(network.tables["f0"], "rain"), network.shown_by(network.tables["f1"], "rain")
    assert occasion[1:].sum() > 0.85
    assert looked[1:].sum() == pytest.approx(0.25 * network_share(resting(0.0)) + 0.75 * leak(kb, "f1"), abs=1e-9)


def network_share(kb: KnowledgeBase) -> float:
    network = compile_network(kb)
    return float(network.shown_by(network.tables["f1"], "rain")[1:].sum())


def leak(kb: KnowledgeBase, finding: str) -> float:
    return 1.0 - float(compile_network(kb).tables[finding].leak[0])
