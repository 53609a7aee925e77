"""The shipped rules in CLIPS, experta and the plain fixpoint: three engines, one result; also for named devices."""

import random
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor

import clips
import pytest

from diagnose.core.engine import Engine
from diagnose.core.ground import ground
from diagnose.core.rules import conclusions_of, fact_names, fixpoint
from diagnose.kb.domain import fact_domain
from diagnose.kb.files import read_files, shipped_folder
from diagnose.kb.load import assemble, load_entries
from diagnose.model.gear import Device, Gear, plain
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.rules import Rule
from diagnose.model.visit import Fact

FACT_SETS = 500
RULES_ASKED = 5  # in turn, so that each is asked for several times
STEPS = 60  # runs of one visit; with each more rules come into play, in the end all
GEARS: tuple[Gear, ...] = (
    (Device("laser over the entry", "laser", ("opens", "protects")), Device("exit loop", "loop", ("opens",))),
    (
        Device("low eye", "photo_eye", ("protects",)),
        Device("high eye", "photo_eye", ("protects",)),
        Device("edge on the leaf", "edge", ("protects",)),
        Device("radar", "radar", ("opens", "closes")),
    ),
)


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


def random_facts(rng: random.Random, domain: Mapping[str, Sequence[str]], asked: Sequence[Rule]) -> frozenset[Fact]:
    """One word for some facts, mostly few as on a visit; and what a handful of rules ask for, so that chains run."""
    (share,) = rng.choices((0.03, 0.1, 0.3, 1.0), weights=(50, 35, 13, 2))
    chosen = {name: rng.choice(words) for name, words in domain.items() if rng.random() < share}
    for rule in asked:
        chosen |= {name: rng.choice(values) for name, values in rule.when.items()}
    return frozenset(chosen.items())


def test_three_engines_agree_on_the_shipped_rules(kb: KnowledgeBase, capsys: pytest.CaptureFixture[str]) -> None:
    """Source: CLIPS 6.4 through clipspy 1.0.6, on 500 random fact sets from the domain of the shipped knowledge."""
    rng, environment, engine = random.Random(12), in_clips(kb), Engine(kb)
    domain = {name: sorted(words) for name, words in sorted(fact_domain(kb).items()) if words}
    fired_at_all: set[str] = set()
    in_turn = [kb.rules[name] for _ in range(RULES_ASKED) for name in rng.sample(sorted(kb.rules), len(kb.rules))]
    for number in range(FACT_SETS):
        facts = random_facts(rng, domain, in_turn[RULES_ASKED * number :][:RULES_ASKED])
        expected = run_clips(environment, facts)
        assert fixpoint(kb, facts) == expected
        assert engine.run(facts) == expected
        fired_at_all.update(expected[1])
    with capsys.disabled():
        print(f"\n{len(fired_at_all)} of {len(kb.rules)} shipped rules fired in {FACT_SETS} fact sets")
    assert fired_at_all == set(kb.rules)  # else the agreement would mean little


def told_in_turn(rng: random.Random, kb: KnowledgeBase) -> list[frozenset[Fact]]:
    """A visit to which everything is told that some rules ask for, rule by rule; now and then much is taken back."""
    told, found, waiting = set[Fact](), list[frozenset[Fact]](), rng.sample(sorted(kb.rules), len(kb.rules))
    more = 1 + len(waiting) // STEPS
    for step in range(STEPS):
        if step % 8 == 7:
            told = set(rng.sample(sorted(told), len(told) // 3))
        rules, waiting = waiting[:more], waiting[more:]
        told |= {(name, rng.choice(values)) for rule in rules for name, values in kb.rules[rule].when.items()}
        found.append(frozenset(told))
    return found


@pytest.mark.parametrize("gear", GEARS, ids=["two", "four"])
def test_three_engines_agree_on_the_rules_of_named_devices(
    kb: KnowledgeBase, gear: Gear, capsys: pytest.CaptureFixture[str]
) -> None:
    """One engine told more and less in turn, so that its rules come into play part by part."""
    here = ground(kb, gear)
    environment, engine, fired = in_clips(here), Engine(here), set[str]()
    for facts in told_in_turn(random.Random(13), here):
        expected = run_clips(environment, facts)
        assert fixpoint(here, facts) == expected
        assert engine.run(facts) == expected
        fired.update(expected[1])
    with capsys.disabled():
        print(f"\n{len(fired)} of {len(here.rules)} rules of {len(gear)} devices fired in {STEPS} fact sets")
    assert {plain(rule) for rule in fired} == {plain(rule) for rule in here.rules}


def test_engines_of_two_gates_work_side_by_side(kb: KnowledgeBase) -> None:
    """Each in many threads at once, and both at the same time: what each says is the fixpoint of its own gate."""
    gates = [ground(kb, gear) for gear in GEARS]
    engines = [Engine(here) for here in gates]
    turns = [told_in_turn(random.Random(seed), here)[:16] for seed, here in enumerate(gates)]
    work = [(i, facts) for pair in zip(*turns, strict=True) for i, facts in enumerate(pair)]
    with ThreadPoolExecutor(6) as pool:
        found = list(pool.map(lambda job: engines[job[0]].run(job[1]), work))
    assert found == [fixpoint(gates[i], facts) for i, facts in work]
