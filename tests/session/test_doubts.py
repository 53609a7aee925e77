"""Answers that do not fit the rest: against plain enumeration, and on planted contradictions."""

from itertools import product

import pytest

from diagnose.core.reason import Reasoner
from diagnose.model.visit import Answer, Setup
from diagnose.session.doubts import doubts, look_again, unfitting
from diagnose.session.events import Begin, Event, Reply
from diagnose.session.session import replay
from tests.build import cause, check, knowledge

NO = ("no", "yes")
NAMES = ("a", "b", "c")


def reasoner() -> Reasoner:
    """One cause shows in three looks, another in none of them; looks cost 3, 2 and 1 minutes."""
    shown = {n: {"yes": 0.95} for n in NAMES}
    causes = [
        cause("one", shown, complaints={"stuck": "typical"}),
        cause("other", {"d": {"yes": 0.9}}, complaints={}),
    ]
    checks = [
        check(n, NO, {"yes": 0.02}, minutes=m) for n, m in zip((*NAMES, "d"), (3.0, 2.0, 1.0, 1.0), strict=True)
    ]
    return Reasoner(knowledge(causes, checks, complaints=["stuck"], two_fault_odds=1e-9))


def test_equals_bayes_rule_by_hand() -> None:
    """Enumeration over cause and over which answers were slips; source: Bayes' rule."""
    r = reasoner()
    answers = dict(zip(NAMES, ("yes", "yes", "no"), strict=True))
    found = {
        d.check: d.wrong for d in doubts(r.kb, r.conclude(Setup(), "", [Answer(c, v) for c, v in answers.items()]))
    }
    total, wrong = 0.0, dict.fromkeys(NAMES, 0.0)
    for shows, slipped in product((True, False), product((True, False), repeat=3)):
        p = 0.5
        for name, slip in zip(NAMES, slipped, strict=True):
            truth = (answers[name] == "yes") != slip
            yes = 1 - (1 - 0.02) * (1 - 0.95) if shows else 0.02
            p *= (yes if truth else 1 - yes) * (0.02 if slip else 0.98)
        total += p
        for name, slip in zip(NAMES, slipped, strict=True):
            wrong[name] += p if slip else 0.0
    assert found == pytest.approx({n: w / total for n, w in wrong.items()}, abs=1e-6)


def test_a_planted_wrong_answer_is_the_most_doubtful_and_fitting_answers_are_not() -> None:
    r = reasoner()
    odd = r.conclude(Setup(), "", [Answer("a", "yes"), Answer("b", "yes"), Answer("c", "no")])
    fitting = r.conclude(Setup(), "", [Answer(n, "yes") for n in NAMES])
    assert doubts(r.kb, odd)[0].check == "c"
    assert all(d.wrong < 0.05 for d in doubts(r.kb, fitting))
    assert look_again(r.kb, fitting) is None


def test_among_doubtful_answers_the_cheapest_is_looked_at_again() -> None:
    r = reasoner()
    unsure = [Answer(name, "yes", sure=False) for name in ("a", "b")]
    torn = r.conclude(Setup(), "", [*unsure, Answer("c", "no"), Answer("d", "yes")])
    wrong = {d.check: d.wrong for d in doubts(r.kb, torn)}
    found = look_again(r.kb, torn)
    assert wrong["a"] >= 0.5 <= wrong["b"] and wrong["c"] < 0.5 > wrong["d"]
    assert found is not None and (found.check, found.minutes) == ("b", 2.0)
    assert found.better == "no"


def test_answers_that_do_not_fit_together_are_named_most_doubtful_first() -> None:
    r = reasoner()
    fitting = r.conclude(Setup(), "", [Answer(n, "yes") for n in NAMES])
    torn = r.conclude(Setup(), "", [Answer("a", "yes"), Answer("b", "yes"), Answer("c", "no"), Answer("d", "yes")])
    assert unfitting(r.kb, fitting) == []
    assert torn.misfit > r.kb.settings.misfit_at > fitting.misfit
    assert unfitting(r.kb, torn) == doubts(r.kb, torn)[:3]


def test_an_answer_that_was_given_twice_is_called_into_question_no_more() -> None:
    r = reasoner()
    given: list[Event] = [
        Begin(Setup(), "stuck"),
        *(Reply(n, v) for n, v in zip(NAMES, ("yes", "yes", "no"), strict=True)),
    ]
    session, again = replay(r.kb, given), replay(r.kb, [*given, Reply("c", "no")])
    assert not session.confirmed
    assert again.confirmed == {"c"}
    conclusion = r.conclude(Setup(), "stuck", again.answers)
    assert {d.check for d in doubts(r.kb, conclusion)} == {*NAMES}
    assert {d.check for d in doubts(r.kb, conclusion, again.confirmed)} == {"a", "b"}
