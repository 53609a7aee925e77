"""The shipped rules in CLIPS, experta and the plain fixpoint: three engines, one result."""

import random
from collections.abc import Mapping, Sequence

import clips
import pytest

from diagnose.core.engine import Engine
from diagnose.core.rules import conclusions_of, fact_names, fixpoint
from diagnose.kb.domain import fact_domain
from diagnose.kb.files import read_files, shipped_folder
from diagnose.kb.load import assemble, load_entries
from diagnose.model.knowledge import KnowledgeBase, Rule
from diagnose.model.visit import Fact

FACT_SETS = 500


@pytest.fixture(scope="module")
def kb() -> KnowledgeBase:
    return assemble(load_entries(read_files(shipped_folder("knowledge"))), "shipped")


def in_clips(kb: KnowledgeBase) -> clips.Environment:
    """The rules in CLIPS syntax, each also asserting that it fired."""
    environment, names = clips.Environment(), fact_names(kb)
    environment.build("(deftemplate holds (slot name (type STRING)) (slot value (type STRING)))")
    environment.build("(deftemplate fired (slot rule (type STRING)))")
    for rule in kb.rules.values():
        environment.build(_defrule(rule, names))
    return environment


def _defrule(rule: Rule, names: Mapping[str, str]) -> str:
    when = " ".join(f'(holds (name "{n}") (value {"|".join(map(_quoted, v))}))' for n, v in rule.when.items())
    then = " ".join(f'(assert (holds (name "{n}") (value "{v}")))' for n, v in conclusions_of(rule, names))
    return f'(defrule {rule.id} {when} => (assert (fired (rule "{rule.id}"))) {then})'


def _quoted(word: str) -> str:
    return f'"{word}"'


def run_clips(environment: clips.Environment, facts: frozenset[Fact]) -> tuple[frozenset[Fact], tuple[str, ...]]:
    environment.reset()
    holds = environment.find_template("holds")
    for name, value in facts:
        holds.assert_fact(name=name, value=value)
    environment.run()
    found = list(environment.facts())
    held = frozenset((f["name"], f["value"]) for f in found if f.template.name == "holds")
    return held, tuple(sorted(f["rule"] for f in found if f.template.name == "fired"))


def random_facts(rng: random.Random, kb: KnowledgeBase, domain: Mapping[str, Sequence[str]]) -> frozenset[Fact]:
    """One word for some facts, mostly few as on a visit; and what a handful of rules ask for, so that chains run."""
    (share,) = rng.choices((0.03, 0.1, 0.3, 1.0), weights=(50, 35, 13, 2))
    chosen = {name: rng.choice(words) for name, words in domain.items() if rng.random() < share}
    for rule in rng.sample(sorted(kb.rules), 5):
        chosen |= {name: rng.choice(values) for name, values in kb.rules[rule].when.items()}
    return frozenset(chosen.items())


def test_three_engines_agree_on_the_shipped_rules(kb: KnowledgeBase, capsys: pytest.CaptureFixture[str]) -> None:
    """Source: CLIPS 6.4 through clipspy 1.0.6, on 500 random fact sets from the domain of the shipped knowledge."""
    rng, environment, engine = random.Random(12), in_clips(kb), Engine(kb)
    domain = {name: sorted(words) for name, words in sorted(fact_domain(kb).items()) if words}
    fired_at_all: set[str] = set()
    for _ in range(FACT_SETS):
        facts = random_facts(rng, kb, domain)
        expected = run_clips(environment, facts)
        assert fixpoint(kb, facts) == expected
        assert engine.run(facts) == expected
        fired_at_all.update(expected[1])
    with capsys.disabled():
        print(f"\n{len(fired_at_all)} of {len(kb.rules)} shipped rules fired in {FACT_SETS} fact sets")
    assert fired_at_all == set(kb.rules)  # else the agreement would mean little
