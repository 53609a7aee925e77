"""How far a card leads: the same simulated visits worked by the card and by the live tool.

A visit is drawn from the knowledge itself, given the complaint; so the figures say how well the card does if the
knowledge is right, and are no claim about real gates. A visit is settled when it ends with a named cause and every
true cause leads the list: at the live tool when it concludes, on the card when its branch names a cause. Questions
that are not scored are answered on the card as the live tool was told; where it was not told, by the first answer.
"""

from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import repeat

import numpy as np

from diagnose.cards.answers import UNSCORED
from diagnose.cards.card import Reach
from diagnose.cards.compose import check_minutes
from diagnose.cards.grow import Branch, Grower, Node
from diagnose.cards.plan import Plan, names_a_cause
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.core.rules import fixpoint
from diagnose.measure.simulate import SimulatedGate, draw_case, work
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Setup, Value

SEEDS = 1_000_000  # visits of one seed before the next seed's begin


@dataclass(frozen=True, slots=True)
class SimulatedSettling:
    """One visit at the live tool: what was hidden, what was said to unscored questions, whether it was settled."""

    case: SimulatedGate
    said: Mapping[str, Value]
    settled: bool
    minutes: float


@dataclass(frozen=True, slots=True)
class CardEnd:
    """Where a visit ends on the card: the node, None for a call, and the minutes of checks up to there."""

    named: Node | None
    minutes: float


def visits(
    kb: KnowledgeBase, setup: Setup, complaint: str, cases: int, seed: int = 1, processes: int = 1
) -> Iterator[SimulatedSettling]:
    """`cases` visits at the live tool, reproducible from the seed whatever the number of processes."""
    seeds = range(seed * SEEDS, seed * SEEDS + cases)
    if processes == 1:
        _start_worker(kb)
        yield from map(_one, seeds, repeat(setup), repeat(complaint))
        return
    with ProcessPoolExecutor(processes, initializer=_start_worker, initargs=(kb,)) as pool:
        yield from pool.map(_one, seeds, repeat(setup), repeat(complaint), chunksize=4)


_WORKER: dict[str, Reasoner] = {}


def _start_worker(kb: KnowledgeBase) -> None:
    _WORKER["reasoner"] = Reasoner(kb, partial(fixpoint, kb))


def _one(seed: int, setup: Setup, complaint: str) -> SimulatedSettling:
    reasoner = _WORKER["reasoner"]
    case = draw_case(reasoner.network(setup.devices), reasoner.kb, seed, complaint=complaint)
    return worked(reasoner, case, setup)


def worked(reasoner: Reasoner, case: SimulatedGate, setup: Setup) -> SimulatedSettling:
    """The case worked by the live tool."""
    last: list[Conclusion] = []

    def pick(conclusion: Conclusion, _: np.random.Generator) -> str:
        last[:] = [conclusion]
        return conclusion.next.check

    outcome = work(reasoner, case, setup, pick)
    said = {a.check: a.value for a in outcome.answers if a.says_something and not reasoner.kb.checks[a.check].finding}
    concluded = not last[0].next.check
    return SimulatedSettling(case, said, concluded and outcome.first(), outcome.check_minutes)


def by_card(grower: Grower, plan: Plan, case: SimulatedGate, said: Mapping[str, Value]) -> CardEnd:
    """The case worked by the card."""
    kb, node, minutes = grower.kb, plan.root, 0.0
    while not names_a_cause(node):
        check = kb.checks[node.check]
        minutes += check_minutes(kb, node)
        branch = _taken(grower, node, check, case, said)
        if branch is None or branch.node is None or not plan.follows(branch):
            return CardEnd(None, minutes)
        node = branch.node
    return CardEnd(node, minutes)


def _taken(grower: Grower, node: Node, check: Check, case: SimulatedGate, said: Mapping[str, Value]) -> Branch | None:
    """The branch with this case's answer; by earlier unscored answers where the branch is split by them."""
    branches = grower.look(node)
    if check.finding is not None and branches[0].state != UNSCORED:
        branches = tuple(b for b in branches if b.state == case.states[check.id])
    elif check.id in said and check.kind != "quantity" and check.id != grower.kb.settings.made_safe_check:
        branches = tuple(b for b in branches if said[check.id] in b.values)
    fitting = [b for b in branches if all(c not in said or str(said[c]) in v for c, v in b.given)]
    return next(iter(fitting or branches), None)


def right(node: Node, case: SimulatedGate, most: int = 1) -> bool:
    """Whether every true cause stands among the first `most` of a named branch (at least as many as there are)."""
    shown = {cause for cause, _ in node.ranked[: max(most, len(case.truth))]}
    return set(case.truth) <= shown


def reach(grower: Grower, plan: Plan, done: Sequence[SimulatedSettling], seed: int) -> Reach:
    """The figures for the foot of the card, over visits that the live tool has worked."""
    ends = [by_card(grower, plan, w.case, w.said) for w in done]
    named = [(e.named, w.case) for e, w in zip(ends, done, strict=True) if e.named is not None]
    cases = len(done)
    return Reach(
        cases=cases,
        seed=seed,
        card=sum(right(n, c) for n, c in named) / cases,
        first_two=sum(right(n, c, 2) for n, c in named) / cases,
        asks=1.0 - len(named) / cases,
        live=sum(w.settled for w in done) / cases,
        card_minutes=sum(e.minutes for e in ends) / cases,
        live_minutes=sum(w.minutes for w in done) / cases,
    )
