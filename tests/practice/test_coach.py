"""Feedback, hints, counter-examples, blocks: against numbers worked out from the model by hand or by another way."""

import math

import pytest

from diagnose.core.posterior import Belief, prior
from diagnose.practice.blocks import block_of_check, blocks
from diagnose.practice.coach import counter_example, feedback, hint, no_hint
from diagnose.practice.exercise import advance, begin, best_from, replayed
from diagnose.practice.moves import CheckMove, HintMove, Move, ProofMove, RepairMove, SuspectMove
from diagnose.present.practice import proved_of, told_of
from diagnose.session.session import conclude
from tests.practice.gates import drops, shipped, small, small_exercise, small_reasoner


def test_bits_are_the_uncertainty_that_the_result_took_away() -> None:
    before = small_exercise(look="bad")
    after = advance(small_reasoner(), before, CheckMove("look"))
    told = feedback(small_reasoner(), before, after)
    p, q = (conclude(small_reasoner(), e.session).belief for e in (before, after))
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
    assert (told.expected, told.surprise, told.brier) == (None, None, None)


def test_beliefs_are_scored_against_the_posterior_before_the_result() -> None:
    before = small_exercise(look="bad")
    p = dict(conclude(small_reasoner(), before.session).belief.ranked())
    said = (("dirt", 0.9), ("fuse", 0.1))
    told = feedback(small_reasoner(), before, advance(small_reasoner(), before, CheckMove("look", beliefs=said)))
    assert told.brier == pytest.approx(((0.9 - p["dirt"]) ** 2 + (0.1 - p["fuse"]) ** 2) / 2)


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


WROTE = SuspectMove("dirt on it")


def test_hints_grow_stronger_and_start_again_after_a_check() -> None:
    exercise = advance(shipped(), begin(shipped(), drops()), WROTE)
    strengths = []
    for move in (HintMove(), WROTE, HintMove(), HintMove(), HintMove(), CheckMove("anyone_touched"), HintMove()):
        strengths.append(hint(shipped(), exercise)[0])
        exercise = advance(shipped(), exercise, move)
    assert strengths == [1, 2, 2, 3, 3, 3, 1]  # writing a suspect down changes nothing of it


def test_hints_cost_minutes_and_each_further_one_more() -> None:
    exercise = small_exercise()
    for move in (HintMove(), HintMove(), CheckMove("look"), HintMove(), HintMove(), HintMove(), HintMove()):
        exercise = advance(small_reasoner(), exercise, move)
    spent = [d.minutes for d in exercise.done if isinstance(d.move, HintMove)]
    assert spent == [2.0, 4.0, 2.0, 4.0, 8.0, 8.0]
    assert exercise.minutes == sum(spent) + 1.0


def test_there_is_no_hint_before_the_trainee_has_written_his_own_suspects() -> None:
    fresh = begin(shipped(), drops())
    assert hint(shipped(), fresh) == (0, no_hint(fresh, 3))
    assert "in your own words" in no_hint(fresh, 3)
    said = advance(
        shipped(), fresh, CheckMove("when_it_happens", beliefs=(("window_wet_drops", 0.4),), prepared=True)
    )
    assert no_hint(said, 3) == ""


def test_no_hint_of_any_strength_names_a_cause() -> None:
    kb, exercise = shipped().kb, advance(shipped(), begin(shipped(), drops()), WROTE)
    for done in best_from(shipped(), exercise).done[1:]:
        for _ in range(3):
            strength, says = hint(shipped(), exercise)
            assert strength and not [c for c in kb.causes.values() if c.says in says], says
            exercise = advance(shipped(), exercise, HintMove())
        exercise = advance(shipped(), exercise, done.move)


def test_the_strongest_hint_is_what_the_tool_would_ask_and_hints_fade() -> None:
    kb, exercise = shipped().kb, advance(shipped(), begin(shipped(), drops()), WROTE)
    for _ in range(2):
        exercise = advance(shipped(), exercise, HintMove())
    wanted = conclude(shipped(), exercise.session).next.check
    assert kb.checks[wanted].ask in hint(shipped(), exercise)[1]
    assert hint(shipped(), exercise, most=1)[0] == 1
    assert hint(shipped(), exercise, most=0) == (0, "There are no hints in this lesson.")


def test_under_stop_work_the_hint_speaks_of_safety_first() -> None:
    exercise = replayed(small_reasoner(), small_exercise(touched="yes").gate, [WROTE, CheckMove("touched")])
    assert "hurt" in hint(small_reasoner(), exercise)[1]


def test_a_pending_proof_is_the_strongest_hint() -> None:
    moves: list[Move] = [WROTE, RepairMove(("dirt",)), HintMove(), HintMove()]
    exercise = replayed(small_reasoner(), small_exercise().gate, moves)
    assert hint(small_reasoner(), exercise)[1] == "Prove the repair."


def test_what_a_look_proves_is_what_the_strip_then_says_and_no_word_gives_a_suspect_away() -> None:
    kb, exercise, spoken = shipped().kb, begin(shipped(), drops()), 0
    for move in [CheckMove("power_lamp"), *(d.move for d in best_from(shipped(), exercise).done)]:
        before, exercise = exercise, advance(shipped(), exercise, move)
        told = feedback(shipped(), before, exercise)
        parts = [p for s in proved_of(kb, exercise, conclude(shipped(), exercise.session)) for p in s.parts]
        good = " ".join(p.says for p in parts if p.state == "good").replace(",", "").split()
        spoken += len(told.proved) + len(told.cleared)
        assert not set(told.cleared) & set(told.proved) and set(told.cleared) <= set(told.open_links)
        assert set(told.proved) <= set(good) and not set(told.open_links) & set(good)
        for says in told_of(kb, told).says:
            assert not any(c.isdigit() for c in says) and not [c for c in kb.causes.values() if c.says in says], says
    assert spoken


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
