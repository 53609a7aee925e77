"""Draws faulty gates from the knowledge base's own model and lets a policy work them.

The figures say how well the tool does if the knowledge is right; they are no claim about real gates.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.core.explain import repair_order
from diagnose.core.facts import fact_name
from diagnose.core.network import Network, Table
from diagnose.core.posterior import Belief, prior
from diagnose.core.reason import Conclusion, Reasoner, open_groups, repair_minutes
from diagnose.kb.domain import answers_of
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Answer, Setup, Value

Picker = Callable[[Conclusion, np.random.Generator], str]  # the check to do next, '' to stop
MOST_CHECKS = 60


@dataclass(frozen=True, slots=True)
class Case:
    """A hidden truth and what every check would show."""

    truth: tuple[str, ...]
    complaint: str
    states: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one simulated visit went. `minutes` includes repairs in the tool's order until the truth is mended."""

    case: Case
    ranked: tuple[tuple[str, float], ...]
    bits: float  # entropy of the set of causes: after the complaint, less at the end
    checks: tuple[str, ...]
    check_minutes: float
    repair_minutes: float

    @property
    def minutes(self) -> float:
        return self.check_minutes + self.repair_minutes

    def first(self, most: int = 1) -> bool:
        """Whether every true cause stands among the first `most` (at least as many as there are)."""
        shown = {c for c, _ in self.ranked[: max(most, len(self.case.truth))]}
        return set(self.case.truth) <= shown


def draw_case(network: Network, kb: KnowledgeBase, rng: np.random.Generator) -> Case:
    """One case from the prior over sets of causes, with the complaint and every finding's answer drawn."""
    weights = np.triu(prior(network).weights)
    cell = int(rng.choice(weights.size, p=weights.ravel() / weights.sum()))
    members = [i for i in divmod(cell, weights.shape[1]) if i]
    complaints = list(network.presenting)
    shares = np.array([np.mean([network.presenting[c][i] for i in members]) for c in complaints])
    complaint = complaints[int(rng.choice(len(complaints), p=shares / shares.sum()))]
    states = {t.id: _draw_state(t, members, kb.settings.slip, rng) for t in network.tables.values()}
    return Case(tuple(network.causes[i - 1] for i in members), complaint, states)


def _draw_state(table: Table, members: Sequence[int], slip: float, rng: np.random.Generator) -> str:
    below = table.leak * np.prod(table.cumulative[:, members], axis=1)
    k = int(np.searchsorted(below, rng.random(), side="right"))
    if rng.random() < slip:
        k = int(rng.choice([i for i in range(len(table.states)) if i != k]))
    return table.states[min(k, len(table.states) - 1)]


def work(reasoner: Reasoner, case: Case, setup: Setup, pick: Picker, rng: np.random.Generator) -> Outcome:
    """Let the policy ask until it concludes, then repair in the tool's order until the truth is mended."""
    kb, minutes = reasoner.kb, 0.0
    answers: list[Answer] = []
    conclusion = reasoner.conclude(setup, case.complaint, answers)
    while len(answers) < MOST_CHECKS and (check_id := pick(conclusion, rng)):
        check = kb.checks[check_id]
        shut = check.access and check.access not in open_groups(kb, answers)
        minutes += check.minutes + (kb.access[check.access].minutes if shut else 0.0)
        orders = conclusion.after.stop_work
        for answer in _answers(kb, check, case, rng):
            conclusion = _with_states(reasoner, setup, case, [*answers, answer])
            if conclusion.after.stop_work == orders and not set(case.truth) & set(conclusion.after.excluded):
                break
        answers.append(answer)
    repairs = _repair_minutes(reasoner, conclusion, case, answers)
    bits = entropy(conclusion.beliefs[0]) - entropy(conclusion.belief)
    asked = tuple(a.check for a in answers)
    return Outcome(case, tuple(conclusion.belief.ranked()), bits, asked, minutes, repairs)


def entropy(belief: Belief) -> float:
    """Bits of uncertainty about the set of causes."""
    p = belief.weights[np.triu_indices_from(belief.weights)]
    p = p[p > 0.0]
    return float(-np.sum(p * np.log2(p)))


def _answers(kb: KnowledgeBase, check: Check, case: Case, rng: np.random.Generator) -> list[Answer]:
    """What the check would be answered with; for unscored context, options to try until one fits.

    It fits when it excludes no true cause and tells of no danger the case does not hold.
    """
    if check.id == kb.settings.made_safe_check:
        return [Answer(check.id, "made_safe")]
    if check.finding and check.finding.fact == fact_name(check):
        return [Answer(check.id, check.finding.states[case.states[check.id]][0])]
    skip = Answer(check.id, "skip")  # a reading: what its calculation would say is given as a fact instead
    if check.finding or check.kind == "quantity":
        return [skip]
    return [*(Answer(check.id, str(o)) for o in rng.permutation(sorted(answers_of(check)))), skip]


def _with_states(reasoner: Reasoner, setup: Setup, case: Case, answers: Sequence[Answer]) -> Conclusion:
    """Conclusion with the calculated facts of the readings taken so far."""
    kb = reasoner.kb
    computed: dict[str, Value] = {}
    for answer in answers:
        finding = kb.checks[answer.check].finding
        if finding and finding.fact != fact_name(kb.checks[answer.check]):
            computed[finding.fact] = finding.states[case.states[finding.id]][0]
    taken = Setup(setup.role, setup.electrician, setup.tools, setup.devices, {**setup.profile, **computed})
    return reasoner.conclude(taken, case.complaint, answers)


def _repair_minutes(reasoner: Reasoner, conclusion: Conclusion, case: Case, answers: Sequence[Answer]) -> float:
    """Repairs in order until all true causes are mended; what is not on the list takes the specialist."""
    kb, spent = reasoner.kb, 0.0
    left = {c for c in case.truth if c != kb.settings.outside_cause}
    opened = set(open_groups(kb, answers))
    for cause in repair_order(kb, conclusion.belief, frozenset(opened)):
        if not left:
            break
        if (
            conclusion.belief.probability(cause) * kb.settings.specialist_minutes
            < kb.causes[cause].remedy.minutes * 0.5
        ):
            continue
        spent += repair_minutes(kb, kb.causes[cause], frozenset(opened))
        opened.add(kb.causes[cause].remedy.access)
        left.discard(cause)
    return spent + (kb.settings.specialist_minutes if left or kb.settings.outside_cause in case.truth else 0.0)
