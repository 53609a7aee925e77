"""Does the tool notice when answers cannot be trusted? Finished visits, with answers spoilt on purpose.

Three ways to spoil two scored answers of a visit, from blunt to soft:
- contradicting: two answers become a state with a probability below 5 % given all the other answers;
- against the leader: two findings that bear on the leading cause take the state it shows least often;
- any two: two answers become any other state.
A false alarm is one in a visit in which every answer was right. Visits are simulated with the usual share of wrong
answers; those that have one are counted apart, since an alarm there is no mistake.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.core.facts import fact_name
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.figures import Mean, mean
from diagnose.measure.simulate import SimulatedGate, SimulatedVisit, concluded
from diagnose.model.visit import Answer, Observation, Setup
from diagnose.session.doubts import predicted

UNLIKELY = 0.05
Spoilt = tuple[str, str]  # (finding, state it is changed to)
Spoil = Callable[[Reasoner, Conclusion, np.random.Generator], list[Spoilt]]


@dataclass(frozen=True, slots=True)
class Fit:
    """`score` of the visit as it was, whether a counted answer was `wrong`, and the score `spoilt` in each way."""

    score: float
    wrong: bool
    spoilt: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Alarms:
    """Shares of visits flagged: every answer right, at least one wrong by nature, and each way of spoiling."""

    right: Mean
    wrong: Mean
    spoilt: Mapping[str, Mean]


def contradicting(reasoner: Reasoner, conclusion: Conclusion, rng: np.random.Generator) -> list[Spoilt]:
    kb = reasoner.kb
    found: dict[str, list[str]] = {}
    for seen in _scored(reasoner, conclusion):
        chances = predicted(kb, conclusion.belief, seen, kb.settings.slip)
        unlikely = [s for s, p in chances.items() if p < UNLIKELY and s != seen.state]
        if unlikely:
            found[seen.finding] = unlikely
    return [(f, str(rng.choice(found[f]))) for f in _two(sorted(found), rng)]


def against_the_leader(reasoner: Reasoner, conclusion: Conclusion, rng: np.random.Generator) -> list[Spoilt]:
    network = conclusion.belief.network
    leader = conclusion.belief.ranked()[0][0]
    found: dict[str, str] = {}
    for seen in _scored(reasoner, conclusion):
        table = network.tables[seen.finding]
        least = table.states[int(network.shown_by(table, leader).argmin())]
        if (table.cumulative[:, network.columns(leader)] < 1.0).any() and least != seen.state:
            found[seen.finding] = least
    return [(f, found[f]) for f in _two(sorted(found), rng)]


def any_two(reasoner: Reasoner, conclusion: Conclusion, rng: np.random.Generator) -> list[Spoilt]:
    tables = conclusion.belief.network.tables
    states = {o.finding: [s for s in tables[o.finding].states if s != o.state] for o in _scored(reasoner, conclusion)}
    return [(f, str(rng.choice(states[f]))) for f in _two(sorted(states), rng)]


WAYS: Mapping[str, Spoil] = {
    "contradicting": contradicting,
    "against_leader": against_the_leader,
    "any_two": any_two,
}


def _scored(reasoner: Reasoner, conclusion: Conclusion) -> list[Observation]:
    """Observations that rest on an answer of their own."""
    return [o for o in conclusion.observations if not o.settled_by and reasoner.kb.findings[o.finding].check]


def _two(names: Sequence[str], rng: np.random.Generator) -> list[str]:
    return [str(n) for n in rng.choice(names, 2, replace=False)] if len(names) > 1 else []


def fit_of(reasoner: Reasoner, setup: Setup, outcome: SimulatedVisit, seed: int) -> Fit:
    """One finished visit, as it was and spoilt in every way that it allows."""
    case, rng = outcome.case, np.random.default_rng(seed)
    before = concluded(reasoner, setup, case, outcome.answers)
    spoilt = {}
    for name, spoil in WAYS.items():
        if changes := spoil(reasoner, before, rng):
            changed = replace(case, states={**case.states, **dict(changes)})
            spoilt[name] = concluded(reasoner, setup, changed, _reread(reasoner, changed, outcome)).misfit
    counted = {o.finding for o in before.observations}
    return Fit(before.misfit, bool(counted & case.wrong), spoilt)


def _reread(reasoner: Reasoner, case: SimulatedGate, outcome: SimulatedVisit) -> list[Answer]:
    """The same checks, answered from the case's present states."""
    kb = reasoner.kb
    return [
        replace(a, value=finding.states[case.states[a.check]][0])
        if a.says_something
        and (finding := kb.checks[a.check].finding)
        and finding.fact == fact_name(kb.checks[a.check])
        and a.check != kb.settings.made_safe_check
        else a
        for a in outcome.answers
    ]


def alarms(fits: Sequence[Fit], at: float) -> Alarms:
    """Shares flagged when the alarm goes off at `at` or above."""
    return Alarms(
        right=mean(f.score >= at for f in fits if not f.wrong),
        wrong=mean(f.score >= at for f in fits if f.wrong),
        spoilt={way: mean(f.spoilt[way] >= at for f in fits if way in f.spoilt) for way in WAYS},
    )
