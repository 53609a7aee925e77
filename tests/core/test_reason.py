"""The stages together: stop-work in time, repairs that did not end the trouble, evidence counted once."""

from itertools import accumulate

import pytest

from diagnose.core.posterior import absorb, prior, still_failing
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.visit import Answer, Attempt, Observation, Setup
from tests.build import cause, check, knowledge, network, rule, table

NO = ("no", "yes")
OPTIONS = {"no": "no", "yes": "yes"}


def two_causes(*rules: object) -> Reasoner:
    """Causes `wire` and `lamp`, each with its own look, `wire` also with `shared`."""
    causes = [
        cause("wire", {"wire_look": {"yes": 0.9}, "shared": {"yes": 0.8}}, complaints={"stuck": "typical"}),
        cause("lamp", {"lamp_look": {"yes": 0.9}}, complaints={"stuck": "typical"}),
        cause("something_else", {"shared": {"yes": 0.2}}, complaints={"stuck": "typical"}),
    ]
    checks = [check(n, NO, {"yes": 0.05}) for n in ("wire_look", "lamp_look", "shared")]
    free = check("asked", (), {}, options=OPTIONS)
    return Reasoner(knowledge(causes, [*checks, free], rules, complaints=["stuck"]))  # type: ignore[arg-type]


def conclude(reasoner: Reasoner, *answers: tuple[str, str]) -> Conclusion:
    return reasoner.conclude(Setup(), "stuck", [Answer(c, v) for c, v in answers])


STOP = rule("danger", {"asked": ["yes"]}, stop_work="stop")


def test_stop_work_goes_before_every_other_check() -> None:
    found = conclude(two_causes(STOP), ("asked", "yes"))
    assert (found.stop_work, found.next.check, found.next.why) == (("stop",), "made_safe", "stop_work")


def test_made_safe_covers_only_what_was_known_when_it_was_said() -> None:
    early = conclude(two_causes(STOP), ("made_safe", "safe"), ("asked", "yes"))
    late = conclude(two_causes(STOP), ("asked", "yes"), ("made_safe", "safe"))
    assert early.next.check == "made_safe"
    assert late.stop_work == ()
    assert late.next.check != "made_safe"


def test_an_answer_settled_from_a_scored_answer_is_not_scored_again() -> None:
    settling = rule("implied", {"wire_look": ["yes"]}, settle={"shared": "yes"})
    with_rule = conclude(two_causes(settling), ("wire_look", "yes"))
    without = conclude(two_causes(), ("wire_look", "yes"))
    assert [o.finding for o in with_rule.observations] == ["wire_look"]
    assert with_rule.belief.ranked() == without.belief.ranked()
    assert "shared" not in {g.option.check for g in with_rule.gains}


def test_an_answer_settled_from_an_unscored_answer_is_scored_once() -> None:
    settling = rule("implied", {"asked": ["yes"]}, settle={"shared": "yes"})
    found = conclude(two_causes(settling), ("asked", "yes"))
    assert [(o.finding, o.settled_by) for o in found.observations] == [("shared", "implied")]


def test_a_failed_proof_moves_pairs_to_what_is_left() -> None:
    """By hand: {a} .3, {b} .5, {a, b} .2; a was repaired, 10 % of repairs go wrong, the trouble is still there."""
    belief = prior(network({"a": 0.3, "b": 0.5}, [table("f", NO, (0.9, 0.1), [(0.5, 0.5), (0.5, 0.5)])]))
    weights = belief.weights.copy()
    weights[0, 1] = weights[1, 0] = 0.3
    weights[0, 2] = weights[2, 0] = 0.5
    weights[1, 2] = weights[2, 1] = 0.2
    after = still_failing(type(belief)(belief.network, weights, 0.0), "a", 0.1)
    total = 0.1 * 0.3 + 0.5 + 0.2
    assert after.weights[0, 1] == pytest.approx(0.03 / total)
    assert after.weights[0, 2] == pytest.approx((0.5 + 0.9 * 0.2) / total)
    assert after.weights[1, 2] == pytest.approx(0.02 / total)


def test_evidence_from_before_a_repair_is_counted_once_and_may_be_asked_anew() -> None:
    reasoner = two_causes()
    before = (Answer("wire_look", "yes"), Answer("lamp_look", "no"))
    tried = Attempt("wire", before)
    kept = [Answer("lamp_look", "no")]
    found = reasoner.conclude(Setup(), "stuck", [], attempts=[tried], carried=kept)
    seen = [Observation("wire_look", "yes"), Observation("lamp_look", "no")]
    start = prior(reasoner.network(()), "stuck")
    *_, last = accumulate(seen, lambda b, o: absorb(b, o, 0.02), initial=start)
    expected = still_failing(last, "wire", reasoner.kb.settings.botched_repair)
    assert dict(found.belief.ranked()) == pytest.approx(dict(expected.ranked()))
    askable = {g.option.check for g in found.gains}
    assert "wire_look" in askable
    assert "lamp_look" not in askable
    again = reasoner.conclude(Setup(), "stuck", [Answer("wire_look", "no")], attempts=[tried], carried=kept)
    assert again.belief.probability("wire") < found.belief.probability("wire")


def test_what_runs_the_gate_waits_while_a_stop_work_order_stands() -> None:
    """Also once the order is confirmed."""
    causes = [
        cause("a", {"run": {"bad": 0.9}, "still": {"bad": 0.8}}),
        cause("something_else", {"run": {"bad": 0.1}}),
    ]
    checks = [
        check("run", ("good", "bad"), {"bad": 0.1}, runs_gate=True),
        check("still", ("good", "bad"), {"bad": 0.1}),
        check("asked", (), {}, options=OPTIONS),
    ]
    reasoner = Reasoner(knowledge(causes, checks, [STOP], complaints=["stuck"]))
    free = conclude(reasoner, ("asked", "no"))
    stopped = conclude(reasoner, ("asked", "yes"))
    confirmed = conclude(reasoner, ("asked", "yes"), ("made_safe", "safe"))
    assert [[g.option.check for g in c.gains] for c in (free, stopped, confirmed)] == [
        ["run", "still"], ["still"], ["still"]
    ]  # fmt: skip
    assert stopped.stop_work and not confirmed.stop_work


@pytest.mark.parametrize(("proved_good", "stands"), [(False, ("stop",)), (True, ())])
def test_a_repair_lifts_the_order_of_what_it_made_obsolete_only_when_it_was_proved_good(
    proved_good: bool, stands: tuple[str, ...]
) -> None:
    causes = [cause("a", {"run": {"bad": 0.9}}), cause("something_else", {"run": {"bad": 0.1}})]
    run = check("run", ("good", "bad"), {"bad": 0.1}, runs_gate=True)
    reasoner = Reasoner(knowledge(causes, [run, check("asked", (), {}, options=OPTIONS)], [STOP]))
    attempt = Attempt("a", (Answer("asked", "yes"),), (), proved_good)
    found = reasoner.conclude(Setup(), "", [], attempts=[attempt])
    assert (found.stands, found.after.stop_work) == (stands, ())
    assert [g.option.check for g in found.gains] == ([] if stands else ["run"])


def test_a_check_settled_as_not_worth_asking_is_neither_asked_nor_scored() -> None:
    reasoner = two_causes(rule("needless", {"asked": ["yes"]}, settle={"shared": "skip"}))
    before, after = conclude(reasoner, ("asked", "no")), conclude(reasoner, ("asked", "yes"))
    assert "shared" in {g.option.check for g in before.gains} - {g.option.check for g in after.gains}
    assert "shared" not in {o.finding for o in after.observations}
