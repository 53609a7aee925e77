"""The tree on paper against the live tool, node by node."""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import pytest

from diagnose.cards.answers import possible
from diagnose.cards.grow import Branch, Grower, Node, Thread
from diagnose.core import permit
from diagnose.core.course import evidence_weight
from diagnose.core.near import NEAR
from diagnose.core.posterior import untempered, update
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.core.rules import fixpoint
from diagnose.model.visit import NO_ANSWER, Answer, Setup
from diagnose.session.events import Begin, Reply
from diagnose.session.session import conclude, replay
from tests import shipped
from tests.cards.made import (
    HELP_DESK,
    SAMPLE,
    TECHNICIAN,
    Who,
    followed,
    grown,
    looked_at,
    small,
    small_grower,
)


def live(setup: Setup, complaint: str, answers: Sequence[Answer]) -> Conclusion:
    """What the session, with the engine of record, says after these answers."""
    kb = shipped.knowledge()
    replies = [Reply(a.check, a.value, a.sure, a.by) for a in answers]
    return conclude(shipped.reasoner(), replay(kb, [Begin(setup, complaint), *replies]))


@pytest.mark.parametrize(("complaint", "kind"), SAMPLE)
def test_every_step_is_what_the_live_tool_asks(complaint: str, kind: str) -> None:
    grower, plan, _ = grown(complaint, kind)
    for node in (*plan.steps(), *plan.named()):
        for thread in node.threads:
            after = live(grower.setup, complaint, thread.answers)
            assert after.next.check == node.check
            leader, likely = after.belief.ranked()[0]
            assert leader == thread.conclusion.leader
            assert likely == pytest.approx(float(thread.conclusion.marginals.max()))


def test_either_answer_that_makes_safe_leads_on_alike() -> None:
    grower, plan, _ = grown(*SAMPLE[0])
    kb = shipped.knowledge()
    for node in plan.steps():
        (*before, last) = node.threads[0].answers or [Answer("", "")]
        if last.check == kb.settings.made_safe_check:
            swapped = Answer(last.check, "safe" if last.value == "made_safe" else "made_safe")
            assert live(grower.setup, grower.complaint, [*before, swapped]).next.check == node.check


@pytest.mark.parametrize(("complaint", "kind"), SAMPLE)
def test_shares_add_up_and_are_the_predictive_of_the_posterior(complaint: str, kind: str) -> None:
    """Predictive: the change in evidence when a state is absorbed (Bayes' rule), by the posterior itself.

    Looking ahead leaves out columns below NEAR, so shares may be off by all of them together.
    """
    grower, plan, _ = grown(complaint, kind)
    for node in looked_at(plan):
        assert sum(b.share for b in node.branches) == pytest.approx(node.share, abs=1e-12)
        finding = grower.kb.checks[node.check].finding
        if finding is None:
            continue
        for state in finding.states:
            expected = sum(t.share * predictive(grower, t, finding.id, state) for t in node.threads)
            left_out = node.share * NEAR * len(grower.reasoner.network(grower.setup.devices).odds)
            assert sum(b.share for b in node.branches if b.state == state) == pytest.approx(expected, abs=left_out)


def predictive(grower: Grower, thread: Thread, finding: str, state: str) -> float:
    belief = live(grower.setup, grower.complaint, thread.answers).belief
    table = belief.network.tables[finding]
    after = update(untempered(belief), table, evidence_weight(table, state, grower.kb.settings.slip))
    return math.exp(after.log_evidence - belief.log_evidence)


@pytest.mark.parametrize("who", [TECHNICIAN, HELP_DESK])
def test_no_check_that_the_role_may_not_do(who: Who) -> None:
    grower, plan, _ = grown("ghost_opening", "laser", "a4", 2 if who == TECHNICIAN else 1, who)
    checks = [grower.kb.checks[n.check] for n in looked_at(plan)]
    assert checks
    assert all(permit.may_do(c, grower.setup) for c in checks)
    assert who != TECHNICIAN or not any(c.who == "electrician" for c in checks)


def test_what_takes_a_licence_is_looked_at_for_an_electrician_alone() -> None:
    kb = small()
    licensed = replace(kb.checks["volts"], who="electrician")
    kb = replace(kb, checks={**kb.checks, "volts": licensed})
    reasoner = Reasoner(kb, partial(fixpoint, kb))
    for electrician in (False, True):
        grower = Grower(reasoner, Setup(electrician=electrician), "stuck")
        found = {b.node.check for b in every_branch(grower, grower.root(), 4) if b.node}
        assert "window" in found
        assert ("volts" in found) is electrician


def test_answers_that_order_stop_work_are_not_counted_on() -> None:
    grower = small_grower(small())
    nobody, somebody = grower.look(grower.root())
    assert (nobody.share, somebody.share) == (1.0, 0.0)
    assert somebody.node
    assert somebody.node.check == grower.kb.settings.made_safe_check


def test_unscored_answers_part_only_where_the_next_step_hangs_on_them() -> None:
    grower = small_grower(small())
    (together, *_) = grower.look(followed(grower, grower.root(), "nobody"))
    assert together.values == ("arm", "leaf")
    assert together.node
    assert [t.share for t in together.node.threads] == [0.5, 0.5]
    parted = [b for b in every_branch(grower, together.node, 4) if b.given]
    assert parted
    assert all(check == "gate" and len(values) == 1 for b in parted for check, values in b.given)


def every_branch(grower: Grower, node: Node, deep: int) -> list[Branch]:
    below = list(grower.look(node)) if deep else []
    return below + [x for b in below if b.node for x in every_branch(grower, b.node, deep - 1)]


def test_readings_get_a_number_inside_each_band() -> None:
    kb = shipped.knowledge()
    check = kb.checks["las_window_height"]
    found = possible(kb, Setup(devices=("laser",)), "ghost_opening", (), check)
    assert check.finding
    assert list(found) == list(check.finding.states)
    for state, (number,) in found.items():
        after = live(Setup(devices=("laser",)), "ghost_opening", [Answer(check.id, number)])
        assert ("las_window_height", state) in [(o.finding, o.state) for o in after.observations]
    assert not set(NO_ANSWER) & {v for values in found.values() for v in values}
