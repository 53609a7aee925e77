"""Which part of the tree goes on the paper.

An answer the card follows leads to another step, or names a cause. It names one where the live tool would conclude,
or where the leading cause stands out (`STANDS_OUT`) although the tool would ask on: then the cause's own test
decides, and a number to call stands beside it for when it does not. The questions of every visit come before that.

The rule for using the space has two halves. First the tree is explored: of all answers not looked into yet, the one
with the largest

    share of visits that get there x (probability of its leading cause) squared

is looked into next, EXPLORED steps in all. One factor is the chance that the leader is right, the other stands for
what is still to be gained by going on there: the nearer a cause is to standing out, the fewer steps it takes to name
it. (Minutes that could still be saved, in place of the second factor, spread the tree so wide that 30 steps named
hardly any cause at all.) Then, of all causes that the explored tree names, the one with the largest

    share of visits that end there x probability of the cause / lines of paper that it still takes

is put on the card with every step on the way to it, if the card then still fits; the others are tried after it.

Where it is not followed, an answer that takes at least LEAST_OWN of all visits keeps a line and number of its own;
rarer ones are joined to 'anything else', whose number is that of the step. An answer that orders stop-work always
keeps its line. So every step on the card leads to a cause, save the questions of every visit.
"""

import heapq
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field

from diagnose.cards.grow import Branch, Grower, Node, Path

STANDS_OUT = 0.30  # chance from which paper names a cause
LEAST_OWN = 0.03  # of all visits with this complaint
EXPLORED = 45  # steps
MOST_REFUSED = 20  # causes in a row that no longer fit, after which the paper counts as full
STEP_LINES, BOX_LINES, NAMED_LINES = 7.0, 8.5, 2.5  # what they take on average; the layout measures, this only ranks
ASKED_ANYWAY = ("stop_work", "opening")  # what the live tool asks whatever leads


@dataclass(slots=True)
class Plan:
    """The tree with the paths that the card follows."""

    root: Node
    followed: set[Path] = field(default_factory=lambda: {()})

    def steps(self) -> list[Node]:
        """Nodes that become steps, each before what it leads to, the likelier answer first."""
        return [node for node in self._walk(self.root) if self.is_step(node)]

    def named(self) -> list[Node]:
        """Nodes that name a cause, in the order of the steps."""
        return [node for node in self._walk(self.root) if not self.is_step(node)]

    def is_step(self, node: Node) -> bool:
        return not names_a_cause(node)

    def follows(self, branch: Branch) -> bool:
        return branch.node is not None and branch.node.path in self.followed

    def _walk(self, node: Node) -> Iterator[Node]:
        yield node
        for branch in sorted(node.branches, key=lambda b: -b.share):
            if branch.node is not None and self.follows(branch):
                yield from self._walk(branch.node)


def names_a_cause(node: Node) -> bool:
    """Whether the card ends here with a cause, if it gets here."""
    if not node.check:
        return True
    return not asked_anyway(node) and node.ranked[0][1] >= STANDS_OUT


def asked_anyway(node: Node) -> bool:
    """Whether the live tool asks here whatever leads: stop-work and the questions of every visit."""
    return any(t.conclusion.next.why in ASKED_ANYWAY for t in node.threads)


def fill(grower: Grower, fits: Callable[[Plan], bool], progress: Callable[[], None] = lambda: None) -> Plan:
    """The plan that uses the paper best. `fits` says whether a plan still fits; `progress` hears of every change."""
    plan = Plan(grower.root())
    explored = explore(grower, plan.root, progress)
    for node in explored:
        if asked_anyway(node) and node.check:
            _try(plan, {node.path}, fits)
    waiting, refused = [n for n in explored if names_a_cause(n)], 0
    while waiting and refused < MOST_REFUSED:
        leaders = {n.ranked[0][0] for n in plan.named()}
        best = max(waiting, key=lambda n: (worth(plan, leaders, n), n.path))
        waiting.remove(best)
        refused = 0 if _try(plan, trail(plan, best), fits) else refused + 1
        progress()
    return plan


def explore(grower: Grower, root: Node, progress: Callable[[], None]) -> list[Node]:
    """Every node below which was looked, or which names a cause; best first."""
    waiting, found, looked = [(0.0, root.path, root)], list[Node](), 0
    while waiting and looked < EXPLORED:
        node = heapq.heappop(waiting)[2]
        found.append(node)
        if names_a_cause(node):
            continue
        looked += 1
        for after in (b.node for b in grower.look(node) if b.node is not None and b.share > 0.0):
            heapq.heappush(waiting, (-promise(after), after.path, after))
        progress()
    return found + [node for _, _, node in sorted(waiting) if names_a_cause(node)]


def promise(node: Node) -> float:
    """The first half of the rule: share of visits times the leader's probability squared."""
    return float(node.share * node.ranked[0][1] ** 2)


def worth(plan: Plan, leaders: Collection[str], node: Node) -> float:
    """The second half of the rule; `leaders` are the causes that have a box already."""
    leader, likely = node.ranked[0]
    lines = NAMED_LINES + STEP_LINES * (len(trail(plan, node)) - 1) + (0.0 if leader in leaders else BOX_LINES)
    return node.share * likely / lines


def trail(plan: Plan, node: Node) -> set[Path]:
    """The node and the steps on the way to it that are not on the card yet."""
    return {node.path[:n] for n in range(len(node.path) + 1)} - plan.followed


def _try(plan: Plan, paths: set[Path], fits: Callable[[Plan], bool]) -> bool:
    """Follow these, unless the card would no longer fit."""
    plan.followed |= paths
    if not fits(plan):
        plan.followed -= paths
        return False
    return True
