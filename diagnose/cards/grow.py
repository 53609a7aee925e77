"""The live tool's decision tree from a complaint on, looked at one node at a time.

Every node holds one or more threads: lists of answers that the live tool treats alike so far. More than one
thread arises where a question is not scored (what kind of gate it is, say) and the card need not tell its answers
apart yet; where the next step depends on it, the branch is split and says on what.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from diagnose.cards.answers import ON_CARD, UNSCORED, possible
from diagnose.core.asking import Next, costs_of
from diagnose.core.network import Floats
from diagnose.core.policy import Gain, Option, look_ahead
from diagnose.core.reason import Reasoner
from diagnose.core.rules import Consequences
from diagnose.model.knowledge import Check
from diagnose.model.visit import Answer, Setup, Value

Path = tuple[tuple[int, int], ...]
Given = tuple[tuple[str, tuple[str, ...]], ...]  # an unscored check with the answers that lead to this branch


@dataclass(frozen=True, slots=True)
class Concluded:
    """What a tree keeps of a conclusion: thousands of whole beliefs would fill the memory.

    `marginals` (causes,): P(cause present), in the order of `causes`.
    """

    next: Next
    stop_work: tuple[str, ...]
    after: Consequences
    gains: tuple[Gain, ...]
    causes: tuple[str, ...]
    marginals: Floats

    @property
    def leader(self) -> str:
        """The most probable cause; ties by id."""
        return min(zip(-self.marginals, self.causes, strict=True))[1]


@dataclass(frozen=True, slots=True)
class Thread:
    """One list of answers with what follows from it; `share` of all visits with this complaint come this way."""

    answers: tuple[Answer, ...]
    share: float
    conclusion: Concluded


@dataclass(slots=True, eq=False)
class Node:
    """A place in the tree. `path` has (state, branch of that state), by number, for every step from the start;
    `branches` is empty until looked at.
    """

    threads: tuple[Thread, ...]
    path: Path = ()
    branches: tuple["Branch", ...] = ()
    _ranked: list[tuple[str, float]] = field(default_factory=list, repr=False)

    @property
    def check(self) -> str:
        """What the live tool asks here; '' where it concludes."""
        return self.threads[0].conclusion.next.check

    @property
    def share(self) -> float:
        return sum(t.share for t in self.threads)

    @property
    def stop_work(self) -> tuple[str, ...]:
        """Orders that must be confirmed before anything else."""
        return self.threads[0].conclusion.stop_work

    @property
    def ranked(self) -> list[tuple[str, float]]:
        """Causes by probability over the threads, most probable first, ties by id."""
        if not self._ranked:
            shares = [t.share / self.share if self.share else 1.0 / len(self.threads) for t in self.threads]
            mixed = sum(s * t.conclusion.marginals for s, t in zip(shares, self.threads, strict=True))
            found = zip(self.threads[0].conclusion.causes, map(float, np.asarray(mixed)), strict=True)
            self._ranked = sorted(found, key=lambda x: (-x[1], x[0]))
        return self._ranked


@dataclass(frozen=True, slots=True, eq=False)
class Branch:
    """Answers that lead the same way; `given` what else must hold; `node` None where no answer is known to lead.

    `share` of all visits with this complaint; `state` of the check's finding, '' where none is scored.
    """

    state: str
    values: tuple[Value, ...]
    given: Given
    share: float
    node: Node | None


class Grower:
    """Looks at one node at a time; holds no tree."""

    def __init__(self, reasoner: Reasoner, setup: Setup, complaint: str) -> None:
        self.reasoner, self.setup, self.complaint = reasoner, setup, complaint
        self.kb = reasoner.kb

    def root(self) -> Node:
        return Node((Thread((), 1.0, self._conclude(())),))

    def look(self, node: Node) -> tuple[Branch, ...]:
        """The branches of the check that the live tool asks at this node; none where it concludes."""
        if not node.branches and node.check:
            count = len(self.states(self.kb.checks[node.check]))
            node.branches = tuple(b for number in range(count) for b in self.of_state(node, number))
        return node.branches

    def of_state(self, node: Node, number: int) -> tuple[Branch, ...]:
        """The branches of one state: one, or several where the next step hangs on answers that are not scored."""
        check = self.kb.checks[node.check]
        found = tuple(self._of_state(node, check, self.states(check)[number]))
        for place, branch in enumerate(found):
            if branch.node is not None:
                branch.node.path = (*node.path, (number, place))
        return found

    def chance(self, thread: Thread, check: Check, state: str) -> float:
        """The posterior predictive probability of a state, as the live tool reckons it."""
        if state == UNSCORED or check.finding is None:
            return 1.0
        gain = next((g for g in thread.conclusion.gains if g.option.check == check.id), None)
        if gain is None:  # asked as a need of another check, so no gain was reckoned for it
            belief = self.reasoner.conclude(self.setup, self.complaint, thread.answers).belief
            costs = costs_of(self.reasoner.kb, belief.network, frozenset())
            gain = look_ahead(belief, [Option(check.id, check.id, 1.0)], costs, self.kb.settings.slip)[0]
        return gain.chances[list(check.finding.states).index(state)]

    def states(self, check: Check) -> tuple[str, ...]:
        """The states of the check's finding, or UNSCORED alone."""
        scored = check.finding is not None and check.id != self.kb.settings.made_safe_check
        return tuple(check.finding.states) if scored and check.finding else (UNSCORED,)

    def _of_state(self, node: Node, check: Check, state: str) -> Iterator[Branch]:
        groups: dict[tuple[object, ...], list[Thread]] = {}
        lost = 0.0
        for thread in node.threads:
            share = thread.share * self.chance(thread, check, state)
            values = possible(self.kb, self.setup, self.complaint, thread.answers, check).get(state, ())
            lost += 0.0 if values else share
            for child in self._children(thread, check, values, share):
                groups.setdefault(_way(child), []).append(child)
        if lost or not groups:
            yield Branch(state, (), (), lost, None)
        labels = _labels(list(groups.values()), self._unscored(node))
        for threads, given in zip(groups.values(), labels, strict=True):
            values = tuple(dict.fromkeys(t.answers[-1].value for t in threads))
            yield Branch(state, values, given, sum(t.share for t in threads), Node(tuple(threads)))

    def _children(self, thread: Thread, check: Check, values: Sequence[Value], share: float) -> list[Thread]:
        """One thread for each answer. What orders stop-work is never counted on: such answers get no share."""
        after = [self._answered(thread, check, value) for value in values]
        orders = set(thread.conclusion.after.stop_work)
        calm = [set(c.after.stop_work) <= orders for _, c in after]
        counted = calm if any(calm) else [True] * len(after)
        each = share / max(sum(counted), 1)
        return [Thread(a, each if ok else 0.0, c) for (a, c), ok in zip(after, counted, strict=True)]

    def _answered(self, thread: Thread, check: Check, value: Value) -> tuple[tuple[Answer, ...], Concluded]:
        answers = (*thread.answers, Answer(check.id, value, by=ON_CARD))
        return answers, self._conclude(answers)

    def _conclude(self, answers: Sequence[Answer]) -> Concluded:
        found = self.reasoner.conclude(self.setup, self.complaint, answers)
        belief = found.belief
        kept = (found.next, found.stop_work, found.after, tuple(found.gains))
        return Concluded(*kept, belief.network.causes, belief.marginals[1:].copy())

    def _unscored(self, node: Node) -> tuple[str, ...]:
        asked = [a.check for a in node.threads[0].answers]
        return tuple(c for c in (*asked, node.check) if self.kb.checks[c].finding is None)


def _way(thread: Thread) -> tuple[object, ...]:
    """What the card must tell apart: the next check, or the cause that leads at a conclusion; stop-work orders."""
    after = thread.conclusion
    leader = "" if after.next.check else after.leader
    return after.next.check, leader, after.stop_work


def _labels(groups: Sequence[Sequence[Thread]], unscored: Sequence[str]) -> list[Given]:
    """For each group the unscored answers that mark it off from the others; nothing where there is one group."""
    if len(groups) < 2:
        return [() for _ in groups]
    seen = [{c: _said(threads, c) for c in unscored} for threads in groups]
    telling = [c for c in unscored if len({v[c] for v in seen}) > 1]
    return [tuple((c, values[c]) for c in telling) for values in seen]


def _said(threads: Iterable[Thread], check: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(str(a.value) for t in threads for a in t.answers if a.check == check))


def walk(node: Node) -> Iterator[Node]:
    """The node and everything that was looked at below it."""
    yield node
    for branch in node.branches:
        if branch.node is not None:
            yield from walk(branch.node)
