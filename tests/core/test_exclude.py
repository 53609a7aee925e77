"""A cause is excluded outright by what somebody at the gate is sure of, else it stays with the chance of error."""

import pytest

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Setup
from tests.build import cause, check, knowledge, rule

SURE, UNSURE = Answer("a", "yes"), Answer("a", "yes", sure=False)
CALLER = Answer("a", "yes", by="caller")


def made() -> KnowledgeBase:
    """'a' excludes fuse by way of a derived fact; 'a' and 'b' each are grounds for excluding dirt."""
    rules = [
        rule("derives", {"a": ["yes"]}, derive={"further": "yes"}),
        rule("by_derived", {"further": ["yes"]}, exclude=["fuse"]),
        rule("dirt_by_a", {"a": ["yes"]}, exclude=["dirt"]),
        rule("dirt_by_b", {"b": ["yes"]}, exclude=["dirt"]),
    ]
    causes = [cause(name, {}) for name in ("fuse", "dirt", "other")]
    return knowledge(causes, [check(name, (), {}) for name in "ab"], rules=rules)


def chances(*answers: Answer) -> dict[str, float]:
    kb = made()
    belief = Reasoner(kb, lambda facts: fixpoint(kb, facts)).conclude(Setup(), "", answers).belief
    free = dict(belief.ranked())["other"]
    return {c: p / free for c, p in belief.ranked()}


def test_a_sure_answer_from_the_gate_excludes_outright() -> None:
    assert chances(SURE)["fuse"] == chances(SURE)["dirt"] == 0.0
    assert chances()["fuse"] == pytest.approx(1.0)


@pytest.mark.parametrize(("answer", "wrong"), [(UNSURE, "unsure_slip"), (CALLER, "caller_slip")])
def test_any_other_answer_leaves_the_chance_that_it_is_wrong(answer: Answer, wrong: str) -> None:
    left = getattr(made().settings, wrong)
    assert 0.0 < chances(answer)["fuse"] == pytest.approx(left, rel=0.15)  # pairs move it a little
    assert chances(answer)["fuse"] == pytest.approx(chances(answer)["dirt"])


def test_the_best_grounds_count() -> None:
    found = chances(UNSURE, Answer("b", "yes"))
    assert found["dirt"] == 0.0 < found["fuse"]
    assert chances(UNSURE, Answer("b", "yes", by="caller"))["dirt"] < chances(UNSURE)["dirt"]
