"""Feedback, hints, counter-examples, blocks: against numbers worked out from the model by hand or by another way."""

import math

import pytest

from diagnose.core.posterior import Belief, prior
from diagnose.practice.blocks import block_of_check, blocks
from diagnose.practice.coach import HINT_COSTS, counter_example, feedback, hint
from diagnose.practice.exercise import advance, begin, replayed
from diagnose.practice.moves import CheckMove, HintMove, Move, ProofMove, RepairMove
from diagnose.session.session import conclude
from tests.practice.gates import drops, shipped, small, small_exercise, small_reasoner


def test_what_a_result_weighs_is_the_change_of_the_odds() -> None:
    before = small_exercise(look="bad")
    after = advance(small_reasoner(), before, CheckMove("look"))
    told = feedback(small_reasoner(), before, after)
    p, q = (conclude(small_reasoner(), e.session).belief for e in (before, after))
    odds = [b.probability(told.leader) / b.probability(told.rival) for b in (p, q)]
    assert told.weight == pytest.approx(10 * math.log10(odds[1] / odds[0]))
    assert told.bits == pytest.approx(_bits(p) - _bits(q))
    assert told.bits > 0.1


def _bits(belief: Belief) -> float:
    """Entropy over every set of causes, added up set by set."""
    return -sum(p * math.log2(p) for _, p in belief.sets(most=200) if p > 0)


def test_what_was_expected_is_scored_against_the_chances() -> None:
    before = small_exercise(look="bad")
    gain = next(g for g in conclude(small_reasoner(), before.session).gains if g.option.check == "look")
    told = feedback(small_reasoner(), before, advance(small_reasoner(), before, CheckMove("look", "bad")))
    other = feedback(small_reasoner(), before, advance(small_reasoner(), before, CheckMove("look", "ok")))
    assert (told.expected, other.expected) == (True, False)
    assert told.surprise == pytest.approx((1 - gain.chances[1]) ** 2)  # two states: (1-p)^2 twice, halved
    assert other.surprise == pytest.approx(gain.chances[1] ** 2)


def test_nothing_stated_is_not_scored() -> None:
    before = small_exercise()
    told = feedback(small_reasoner(), before, advance(small_reasoner(), before, CheckMove("look")))
    assert (told.expected, told.surprise, told.brier, told.truth) == (None, None, None, None)


def test_beliefs_are_scored_against_the_posterior_before_the_result() -> None:
    before = small_exercise(look="bad")
    p = dict(conclude(small_reasoner(), before.session).belief.ranked())
    said = (("dirt", 0.9), ("fuse", 0.1))
    told = feedback(small_reasoner(), before, advance(small_reasoner(), before, CheckMove("look", beliefs=said)))
    assert told.brier == pytest.approx(((0.9 - p["dirt"]) ** 2 + (0.1 - p["fuse"]) ** 2) / 2)
    assert told.truth == pytest.approx((0.1**2 + 0.1**2) / 2)


def test_a_counter_example_names_the_answer_that_speaks_against_a_suspect() -> None:
    done = replayed(
        small_reasoner(), small_exercise("fuse", meter="low").gate, [CheckMove("look"), CheckMove("meter")]
    )
    conclusion = conclude(small_reasoner(), done.session)
    found = counter_example(conclusion, (("worn", 0.6),))
    assert found
    assert (found.cause, found.finding, found.state) in {("worn", "look", "ok"), ("worn", "meter", "low")}
    assert found.decibans < -5
    assert counter_example(conclusion, (("fuse", 0.6),)) is None
    assert counter_example(conclusion, (("worn", 0.1),)) is None  # not held


def test_hints_grow_stronger_and_start_again_after_a_check() -> None:
    exercise = begin(shipped(), drops())
    strengths = []
    for move in (HintMove(), HintMove(), HintMove(), HintMove(), CheckMove("anyone_touched"), HintMove()):
        strengths.append(hint(shipped(), exercise)[0])
        exercise = advance(shipped(), exercise, move)
    assert strengths == [1, 2, 3, 3, 3, 1]


def test_the_strongest_hint_is_what_the_tool_would_ask_and_hints_fade() -> None:
    kb, exercise = shipped().kb, begin(shipped(), drops())
    for _ in range(2):
        exercise = advance(shipped(), exercise, HintMove())
    wanted = conclude(shipped(), exercise.session).next.check
    assert kb.checks[wanted].ask in hint(shipped(), exercise)[1]
    assert hint(shipped(), exercise, most=1)[0] == 1
    assert hint(shipped(), exercise, most=0) == (0, "There are no hints in this lesson.")
    assert list(HINT_COSTS) == sorted(HINT_COSTS)


def test_under_stop_work_the_hint_speaks_of_safety_first() -> None:
    exercise = advance(small_reasoner(), small_exercise(touched="yes"), CheckMove("touched"))
    assert "hurt" in hint(small_reasoner(), exercise)[1]


def test_a_pending_proof_is_the_strongest_hint() -> None:
    moves: list[Move] = [RepairMove(("dirt",)), HintMove(), HintMove()]
    exercise = replayed(small_reasoner(), small_exercise().gate, moves)
    assert hint(small_reasoner(), exercise)[1] == "Prove the repair."


def test_the_chance_of_a_fault_in_a_block_by_adding_up_every_set() -> None:
    belief = conclude(small_reasoner(), small_exercise().session).belief
    by_sets: dict[str, float] = dict.fromkeys(("environment", "supply", "hardware"), 0.0)
    for causes, p in belief.sets(most=200):
        for family in {small().causes[c].family for c in causes} & set(by_sets):
            by_sets[family] += p
    found = {b.id: b.fault for b in blocks(small(), belief)}
    names = {"surroundings": "environment", "supply": "supply", "sensor": "hardware"}
    assert {names[b]: p for b, p in found.items() if b in names} == pytest.approx(by_sets)


def test_a_block_becomes_good_when_evidence_clears_it() -> None:
    moves: list[Move] = [CheckMove("look"), CheckMove("meter"), RepairMove(("fuse",)), ProofMove()]
    before = conclude(small_reasoner(), small_exercise().session).belief
    after = conclude(
        small_reasoner(), replayed(small_reasoner(), small_exercise("dirt", look="bad").gate, moves).session
    ).belief
    supply = [next(b for b in blocks(small(), x) if b.id == "supply") for x in (before, after)]
    assert [b.good for b in supply] == [False, True]


def test_every_family_has_a_block_and_every_check_a_place_on_the_list() -> None:
    kb = shipped().kb
    assert {c.family for c in kb.causes.values()} == set(kb.families)
    held = {f.link for f in kb.families.values()}
    assert held <= set(kb.links) == held | {e.link for e in kb.effects.values()}  # a link without causes has effects
    with_family = [link for link in kb.links if link in {f.link for f in kb.families.values()}]
    assert [b.id for b in blocks(kb, prior(shipped().network(())))] == with_family
    assert {block_of_check(kb, c) for c in kb.checks.values()} <= {*kb.links, "facts"}
    assert block_of_check(kb, kb.checks["sup_fuse"]) == "supply"
