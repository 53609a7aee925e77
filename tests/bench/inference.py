"""Posterior and choice of the next check: the product beside pyAgrum and pgmpy, on the shipped model.

One visit without a complaint: a case drawn from the model, its answers in the order the tool asks. All get the
same evidence and one processor, whose time is what counts, and must agree to 1e-9. Building the libraries'
networks is not counted, and they are asked for probabilities only, not for minutes. A library that is slower is
given up after `PATIENCE` seconds.
"""

import importlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from statistics import median
from typing import Any, Protocol

import numpy as np

from diagnose.core.asking import repair_minutes
from diagnose.core.compile import compile_network
from diagnose.core.network import Floats, Network
from diagnose.core.policy import Costs, Option, choose, look_ahead
from diagnose.core.posterior import Belief, absorb, prior
from diagnose.measure.simulate import draw_case
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Observation
from tests.bench.clock import head, line, ms, worked
from tests.bench.models import SET, gum, gum_by_sets, of_causes, pgmpy_by_sets

ANSWERS = 8
SAME = 1e-9
PATIENCE = 10.0  # seconds for one figure of one library


class Library(Protocol):
    """`posterior`: answers -> P(cause present), (n,). `ahead`: check -> P(cause present, answer), (n, K)."""

    def posterior(self, answers: Sequence[Observation]) -> Floats: ...

    def ahead(self, finding: str) -> Floats: ...


@dataclass(frozen=True)
class Scene:
    """A visit under way. `beliefs`: before the first answer, then after each."""

    kb: KnowledgeBase
    network: Network
    options: tuple[Option, ...]
    costs: Costs
    answers: tuple[Observation, ...]
    beliefs: tuple[Belief, ...]

    @property
    def slip(self) -> float:
        return self.kb.settings.slip


def scene(kb: KnowledgeBase, seed: int = 1) -> Scene:
    """`ANSWERS` answers into a visit."""
    network = replace(compile_network(kb), temper=1.0)
    case = draw_case(network, kb, seed)
    options = [Option(c.id, c.id, c.minutes + kb.settings.asking_minutes) for c in kb.checks.values() if c.finding]
    repair = np.array([repair_minutes(kb, kb.causes[c], frozenset()) for c in network.causes])
    costs = Costs(repair, kb.settings.specialist_minutes)
    answers, beliefs = list[Observation](), [prior(network)]
    for _ in range(ANSWERS):
        open_still = [o for o in options if o.finding not in {a.finding for a in answers}]
        gains = look_ahead(beliefs[-1], open_still, costs, kb.settings.slip)
        asked = (choose(gains) or max(gains, key=lambda g: g.bits / g.minutes)).option.finding
        answers.append(Observation(asked, case.states[asked]))
        beliefs.append(absorb(beliefs[-1], answers[-1], kb.settings.slip))
    left = tuple(o for o in options if o.finding not in {a.finding for a in answers})
    return Scene(kb, network, left, costs, tuple(answers), tuple(beliefs))


def evidence(at: Scene, answers: Sequence[Observation]) -> dict[str, int]:
    return {a.finding: at.network.tables[a.finding].states.index(a.state) for a in answers}


def main(kb: KnowledgeBase, quick: bool) -> None:
    """Both comparisons."""
    gum.setNumberOfThreads(1)
    at = scene(kb)
    _posteriors(at)
    _choices(at, 6 if quick else 48)


def _posteriors(at: Scene) -> None:
    head(f"Posterior after each of {ANSWERS} answers, {len(at.network.causes)} causes")
    ours, told = _updates(at), [a.finding for a in at.answers]
    line("this product", f"{ms(ours)} an answer")
    for name, kind in LIBRARIES.items():
        seconds, worst, library = list[float](), 0.0, kind(at, told)
        while len(seconds) < len(told) and sum(seconds) < PATIENCE:
            count = len(seconds) + 1
            found, took = worked(partial(library.posterior, at.answers[:count]))
            worst = max(worst, _differs(found, at.beliefs[count].marginals[1:]))
            seconds.append(took)
        each = sum(seconds) / len(seconds)
        line(name, f"{ms(each)} an answer: {each / ours:,.0f} times as long; differs by {worst:.0e}")
        if len(seconds) < len(told):
            line("", f"given up after {len(seconds)} answers; the last took {ms(seconds[-1])}")


def _updates(at: Scene) -> float:
    def once() -> None:
        belief = at.beliefs[0]
        for answer in at.answers:
            belief = absorb(belief, answer, at.slip)
            belief.ranked()

    return median(worked(once)[1] for _ in range(20)) / len(at.answers)


def _choices(at: Scene, most: int) -> None:
    first = replace(at, answers=(), beliefs=at.beliefs[:1])
    for scene_ in (first, at):
        head(f"Next check after {len(scene_.answers)} answers: all answers to each of {len(at.options)} checks")
        ours = median(worked(partial(_choose, scene_))[1] for _ in range(20))
        line("this product, with the minutes each saves", ms(ours))
        for name, kind in LIBRARIES.items():
            subset = [o.finding for o in at.options[:: -(-len(at.options) // most)]]
            _choice(scene_, name, kind(scene_, [*(a.finding for a in scene_.answers), *subset]), subset, ours)


def _choose(at: Scene) -> None:
    choose(look_ahead(at.beliefs[-1], at.options, at.costs, at.slip))


def _choice(at: Scene, name: str, library: Library, subset: Sequence[str], ours: float) -> None:
    worst, spent, done = 0.0, 0.0, 0
    for finding in subset:
        found, took = worked(partial(library.ahead, finding))
        worst, spent, done = max(worst, _differs(found, expected(at, finding))), spent + took, done + 1
        if spent > PATIENCE:
            break
    whole = spent * len(at.options) / done
    line(name, f"{ms(whole)}: {whole / ours:,.0f} times as long; differs by {worst:.0e}")
    line("", f"timed on {done} checks, in proportion")


def _differs(found: Floats, ours: Floats) -> float:
    worst = float(np.abs(found - ours).max())
    assert worst <= SAME, f"differs by {worst:.1e}"
    return worst


def expected(at: Scene, finding: str) -> Floats:
    """P(cause present, answer) by going there, (n, K)."""
    before, columns = at.beliefs[-1], []
    for state in at.network.tables[finding].states:
        after = absorb(before, Observation(finding, state), at.slip)
        columns.append(after.marginals[1:] * np.exp(after.log_evidence - before.log_evidence))
    return np.stack(columns, axis=1)


class GumSets:
    """pyAgrum's lazy propagation over one node of sets."""

    def __init__(self, at: Scene, findings: Sequence[str]) -> None:
        self.at, self.net = at, gum_by_sets(at.network, findings, at.slip)
        self.engine = gum.LazyPropagation(self.net)
        self.engine.setTargets({SET})

    def posterior(self, answers: Sequence[Observation]) -> Floats:
        self.engine.setEvidence(evidence(self.at, answers))
        self.engine.makeInference()
        return of_causes(self.at.network, self.engine.posterior(SET).toarray())

    def ahead(self, finding: str) -> Floats:
        """One query of the set and the answer together."""
        engine = gum.LazyPropagation(self.net)
        engine.setEvidence(evidence(self.at, self.at.answers))
        engine.addJointTarget({SET, finding})
        engine.makeInference()
        joint = engine.jointPosterior({SET, finding})
        table = joint.toarray()
        return of_causes(self.at.network, table.T if joint.names[0] == SET else table)


class PgmpySets:
    """pgmpy's variable elimination over one node of sets."""

    def __init__(self, at: Scene, findings: Sequence[str]) -> None:
        inference: Any = importlib.import_module("pgmpy.inference")
        self.at = at
        self.engine = inference.VariableElimination(pgmpy_by_sets(at.network, findings, at.slip))

    def posterior(self, answers: Sequence[Observation]) -> Floats:
        found = self.engine.query([SET], evidence(self.at, answers), show_progress=False)
        return of_causes(self.at.network, np.asarray(found.values))

    def ahead(self, finding: str) -> Floats:
        given = evidence(self.at, self.at.answers)
        found = self.engine.query([SET, finding], given, show_progress=False)
        table = np.asarray(found.values)
        return of_causes(self.at.network, table if found.variables[0] == SET else table.T)


LIBRARIES: Mapping[str, Callable[[Scene, Sequence[str]], Library]] = {
    "pyAgrum, one node of sets": GumSets,
    "pgmpy, one node of sets": PgmpySets,
}
