"""How far a card leads: simulated, against every case of a small knowledge base counted out."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, product
from math import prod, sqrt

import pytest

from diagnose.cards.card import Card, PrintedBranch, Step
from diagnose.cards.grow import Grower
from diagnose.cards.plan import Plan
from diagnose.cards.settle import reach, visits
from diagnose.core.posterior import prior
from diagnose.model.knowledge import Finding, KnowledgeBase
from diagnose.model.visit import Answer
from tests.cards.made import printed, small, small_grower

Everything = tuple[KnowledgeBase, Grower, Plan, Card]
CASES = 1500


@pytest.fixture(scope="module")
def everything() -> Everything:
    kb = small()
    grower, plan, card = printed(small_grower(kb))
    return kb, grower, plan, card


def test_the_simulated_shares_are_those_of_every_case_counted_out(everything: Everything) -> None:
    """Exact: prior of each set of causes x noisy-OR of each answer with slips, each case walked along the printed
    card by its words, and along the live tool by its next check."""
    kb, grower, plan, card = everything
    figures = reach(grower, plan, list(visits(kb, grower.setup, "stuck", CASES)), 1)
    exact = {"card": 0.0, "first_two": 0.0, "asks": 0.0, "live": 0.0, "card_minutes": 0.0, "live_minutes": 0.0}
    for truth, answers, weight in every_case(grower):
        for gate in ("arm", "leaf"):
            given = {**answers, "touched": "nobody", "gate": gate}
            for name, value in {**on_card(kb, card, given, truth), **on_tool(grower, given, truth)}.items():
                exact[name] += 0.5 * weight * value
    assert 0.0 < exact["card"] < exact["live"] <= 1.0 or exact["card"] == pytest.approx(exact["live"])
    for name in ("card", "first_two", "asks", "live"):
        spread = sqrt(max(exact[name] * (1.0 - exact[name]), 1e-4) / CASES)
        assert abs(getattr(figures, name) - exact[name]) < 4.5 * spread, name
    for name in ("card_minutes", "live_minutes"):
        assert getattr(figures, name) == pytest.approx(exact[name], rel=0.08), name


def every_case(grower: Grower) -> Iterator[tuple[tuple[str, ...], dict[str, str], float]]:
    """(true causes, answers by check, probability), over all single and double faults and all answers."""
    kb, network = grower.kb, grower.reasoner.network(())
    weights = prior(network, "stuck").weights
    sets = [(c,) for c in network.causes] + list(combinations(network.causes, 2))
    findings = list(kb.findings.values())
    for truth in sets:
        cell = [network.index(c) for c in truth]
        share = float(weights[0, cell[0]]) if len(cell) == 1 else float(weights[cell[0], cell[1]])
        abnormal = {f.id: shown(kb, f, truth) for f in findings}
        for states in product(*([*f.states] for f in findings)):
            answers = dict(zip((f.id for f in findings), states, strict=True))
            each = (abnormal[f.id] if answers[f.id] != next(iter(f.states)) else 1 - abnormal[f.id] for f in findings)
            yield truth, answers, share * prod(each)


def shown(kb: KnowledgeBase, finding: Finding, truth: Sequence[str]) -> float:
    """P(abnormal answer): noisy-OR of the leak and the true causes, wrong with the slip."""
    (abnormal,) = [*finding.states][1:]
    shows = [finding.leak[abnormal], *(kb.causes[c].signs.get(finding.id, {}).get(abnormal, 0.0) for c in truth)]
    quiet = prod(1.0 - float(p) for p in shows)
    slip = kb.settings.slip
    return (1.0 - slip) * (1.0 - quiet) + slip * quiet


def on_card(kb: KnowledgeBase, card: Card, given: Mapping[str, str], truth: Sequence[str]) -> dict[str, float]:
    step, minutes = card.steps[0], 0.0
    while True:
        minutes += step.minutes + (5.0 if step.opening else 0.0)
        line = line_for(kb, step, given)
        if line is None or line.aim == "call":
            return {"card": 0.0, "first_two": 0.0, "asks": 1.0, "card_minutes": minutes}
        if line.named:
            break
        step = next(s for s in card.steps if str(s.number) == line.mark)
    letters = {b.letter: b.says for b in card.boxes}
    first, second = letters[line.named.letter], line.named.runner
    both = set(truth) <= {first, second}
    return {
        "card": float(set(truth) == {first} or (len(truth) == 2 and both)),
        "first_two": float(both),
        "asks": 0.0,
        "card_minutes": minutes,
    }


def line_for(kb: KnowledgeBase, step: Step, given: Mapping[str, str]) -> PrintedBranch | None:
    """The line of a step that a reader with these answers would take."""
    said = {kb.checks[check].options[value] for check, value in given.items()}
    mine = kb.checks[step.asks].options[given[step.asks]] if step.asks in given else "safe"
    for line in step.lines:
        options, _, needs = line.says.partition(" [")
        if mine in options.split(" / ") and (not needs or any(n in said for n in needs.rstrip("]").split(" or "))):
            return line
    return next((line for line in step.lines if line.says == "anything else"), None)


def on_tool(grower: Grower, given: Mapping[str, str], truth: Sequence[str]) -> dict[str, float]:
    answers, minutes, opened, kb = list[Answer](), 0.0, False, grower.kb
    while check := (after := grower.reasoner.conclude(grower.setup, "stuck", answers)).next.check:
        minutes += kb.checks[check].minutes + (5.0 if kb.checks[check].access and not opened else 0.0)
        opened = opened or bool(kb.checks[check].access)
        answers.append(Answer(check, given.get(check, "made_safe")))
    leaders = {c for c, _ in after.belief.ranked()[: len(truth)]}
    return {"live": float(set(truth) <= leaders), "live_minutes": minutes}


def test_same_seed_same_visits_whatever_the_processes(everything: Everything) -> None:
    kb, grower, _, _ = everything
    one = list(visits(kb, grower.setup, "stuck", 12, 3, 1))
    two = list(visits(kb, grower.setup, "stuck", 12, 3, 2))
    other = list(visits(kb, grower.setup, "stuck", 12, 4, 1))
    assert [w.case for w in one] == [w.case for w in two]
    assert [(w.settled, w.minutes) for w in one] == [(w.settled, w.minutes) for w in two]
    assert [w.case for w in one] != [w.case for w in other]
