"""The rules: experta against the plain fixpoint, and what the firings bring about."""

import subprocess
import sys
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.core.engine import Engine
from diagnose.core.rules import consequences, fixpoint, premises
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.rules import Contradiction, Rule
from diagnose.model.visit import Fact, Firing
from tests.build import check, knowledge, rule

NAMES, VALUES, CHECKS = "abcdef", "xyz", ("look", "tap")
WHEN = st.dictionaries(st.sampled_from([*NAMES, *CHECKS]), st.sets(st.sampled_from(VALUES), min_size=1), max_size=3)
DERIVE = st.dictionaries(st.sampled_from(NAMES), st.sampled_from(VALUES), max_size=2)
SETTLE = st.dictionaries(st.sampled_from(CHECKS), st.sampled_from(VALUES), max_size=1)
RULES = st.lists(st.tuples(WHEN, DERIVE, SETTLE), max_size=9)
FACTS = st.frozensets(st.tuples(st.sampled_from(NAMES), st.sampled_from(VALUES)), max_size=6)
RANDOM = settings(max_examples=150, deadline=None)


def base(rules: Iterable[Rule]) -> KnowledgeBase:
    """`look` fills the fact 'a', so that settling it derives a fact under another name."""
    return knowledge(checks=[check("look", (), {}, fills="a"), check("tap", (), {})], rules=rules)


def rules_of(drawn: list[tuple[dict[str, set[str]], dict[str, str], dict[str, str]]]) -> list[Rule]:
    return [rule(f"r{i}", w, derive=d, settle=s) for i, (w, d, s) in enumerate(drawn)]


@RANDOM
@given(RULES.map(rules_of), FACTS)
def test_experta_equals_fixpoint(rules: list[Rule], facts: frozenset[Fact]) -> None:
    """Two independent evaluations of the same positive rules: same facts, same firings."""
    kb = base(rules)
    assert Engine(kb).run(facts) == fixpoint(kb, facts)


@RANDOM
@given(RULES.map(rules_of), FACTS, st.randoms())
def test_order_of_rules_does_not_matter(rules: list[Rule], facts: frozenset[Fact], random: object) -> None:
    """Ids decide experta's salience; other ids must give the same facts and, renamed, the same firings."""
    shuffled = list(range(len(rules)))
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    renamed = {r.id: f"q{n}" for r, n in zip(rules, shuffled, strict=True)}
    other = [rule(renamed[r.id], r.when, derive=r.then.derive, settle=r.then.settle) for r in rules]
    held, fired = Engine(base(rules)).run(facts)
    assert Engine(base(other)).run(facts) == (held, tuple(sorted(renamed[r] for r in fired)))


@RANDOM
@given(RULES.map(rules_of), FACTS, FACTS)
def test_more_facts_never_take_a_conclusion_away(
    rules: list[Rule], few: frozenset[Fact], more: frozenset[Fact]
) -> None:
    """Positive rules are monotone (van Emden & Kowalski 1976, from memory), so the fixpoint is unique."""
    kb = base(rules)
    (held, fired), (all_held, all_fired) = fixpoint(kb, few), fixpoint(kb, few | more)
    assert held <= all_held and set(fired) <= set(all_fired)


CHAIN = [
    rule("r3", {"a": "x"}, derive={"b": "y"}),
    rule("r2", {"b": "y", "c": "xz"}, derive={"d": "x"}),
    rule("r1", {"d": "x"}, settle={"look": "z"}),
    rule("r0", {"e": "x"}, derive={"f": "x"}),
]


def test_chain_by_hand() -> None:
    kb = base(CHAIN)
    start = frozenset({("a", "x"), ("c", "z")})
    expected = start | {("b", "y"), ("d", "x"), ("a", "z")}, ("r1", "r2", "r3")
    assert fixpoint(kb, start) == expected
    assert Engine(kb).run(start) == expected


def test_engine_forgets_the_last_run() -> None:
    engine, start = Engine(base(CHAIN)), frozenset({("a", "x"), ("c", "z")})
    first = engine.run(start)
    assert engine.run([]) == (frozenset(), ())
    assert engine.run([("e", "x")]) == (frozenset({("e", "x"), ("f", "x")}), ("r0",))
    assert engine.run(start) == first


def test_engine_serves_many_threads() -> None:
    """Same results as one after the other; without the lock the runs mix their facts."""
    kb = base(CHAIN)
    engine = Engine(kb)
    inputs = [frozenset({("a", "x"), ("c", v)} if i % 2 else {("e", v)}) for i in range(60) for v in VALUES]
    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(engine.run, inputs)) == [fixpoint(kb, facts) for facts in inputs]


@pytest.mark.parametrize("handlers", ["[]", "[logging.NullHandler()]"])
def test_importing_the_engine_leaves_logging_alone(handlers: str) -> None:
    """experta calls logging.basicConfig() on import (seen in its source, 1.9.4); ours must survive it."""
    script = f"""
import logging
logging.root.handlers[:] = before = {handlers}
logging.root.setLevel(17)
import diagnose.core.engine
assert logging.root.handlers == before and logging.root.level == 17, (logging.root.handlers, logging.root.level)
"""
    subprocess.run([sys.executable, "-c", script], check=True, timeout=60)


def test_premises_name_every_fact_that_counts() -> None:
    facts = frozenset({("a", "x"), ("a", "y"), ("b", "x")})
    assert premises(rule("r", {"a": "xyz", "b": "x"}), facts) == (("a", "x"), ("a", "y"), ("b", "x"))
    assert premises(rule("r", {"a": "x", "c": "x"}), facts) is None


def test_effects_are_read_off_the_fired_rules() -> None:
    conflict = Contradiction(says="both cannot be", recheck=("look",))
    kb = base(
        [
            rule("r1", {"a": "x"}, settle={"tap": "y"}, exclude=("wet",), caution=("stop",)),
            rule("r2", {"tap": "y"}, unlock=("look",), caution=("stop",), stop_work="stop", contradiction=conflict),
            rule("r3", {"b": "x"}, exclude=("loose",)),
        ]
    )
    after = consequences(kb, *fixpoint(kb, {("a", "x")}))
    assert after.firings == (Firing("r1", (("a", "x"),)), Firing("r2", (("tap", "y"),)))
    assert after.settled == {"tap": ("y", "r1")} and after.excluded == {"wet": "r1"}
    assert after.cautions == ("stop",) and after.stop_work == ("stop",)
    assert after.contradictions == ("r2",) and after.unlocked == {"look"}
