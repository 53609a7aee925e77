"""Causes, effects and findings compiled to columns, against the uncompiled network in a general library (pyAgrum)."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from diagnose.core import near
from diagnose.core.chain import SURE, Links, active, ways_of
from diagnose.core.compile import compile_network
from diagnose.core.course import evidence_weight
from diagnose.core.near import NearBelief
from diagnose.core.network import FindingTable
from diagnose.core.posterior import Belief, prior, still_failing, update
from diagnose.model.knowledge import Calculated, Effect, KnowledgeBase, Way
from diagnose.model.named import Link
from tests.build import cause, check, knowledge
from tests.core.uncompiled import Uncompiled

LINKS = ("supply", "sees", "output", "input")


def effect(name: str, link: str, **more: Any) -> Effect:
    return Effect(id=name, link=link, says=name, source="src", **more)


def chained(causes: list[Any], effects: list[Effect], findings: int, **more: Any) -> KnowledgeBase:
    checks = [check(f"f{i}", ("no", "some", "yes"), {"some": 0.03, "yes": 0.02}) for i in range(findings)]
    kb = knowledge(causes, checks, **more)
    return replace(kb, effects={e.id: e for e in effects}, links={link: Link(id=link, says=link) for link in LINKS})


def random_chain(rng: np.random.Generator) -> KnowledgeBase:
    """Two effects a link and five causes, with uncertain steps, a calculated step, a blocker, a hider, and rest."""
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
    effects[1] = replace(effects[1], rests=float(rng.choice([0.0, 0.6])), at_rest="supply0")
    return chained([random_cause(f"c{i}", rng) for i in range(5)], effects, 5)


def shown(rng: np.random.Generator) -> dict[str, float]:
    yes = float(rng.uniform(0.1, 0.8))
    return {"yes": yes, "some": float(rng.uniform(0.0, 0.95 - yes))}


def random_cause(name: str, rng: np.random.Generator) -> Any:
    first, second = rng.choice([f"{link}{k}" for link in LINKS for k in range(2)], size=2, replace=False)
    one_of = {"x": Way(share=0.7, brings={str(first): 0.995}), "y": Way(share=0.3, brings={str(second): 0.7})}
    brings = {"brings": {str(first): 0.995}} if rng.random() < 0.6 else {"one_of": one_of}
    return cause(name, {f"f{int(rng.integers(5))}": shown(rng)}, common="common", **brings)


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
    reference = Uncompiled(kb, values, SURE).posterior(told)
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
