"""A plan of the tree -> the card as it is printed: numbers, letters, words, cautions."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.cards.answers import safe_words
from diagnose.cards.card import Box, Card, NamedCause, PrintedBranch, Step, StopOrder
from diagnose.cards.grow import Branch, Grower, Node, Path
from diagnose.cards.limits import Wording, either
from diagnose.cards.marks import MarkedCaution
from diagnose.cards.numbers import number_of
from diagnose.cards.plan import LEAST_OWN, Plan, names_a_cause
from diagnose.core.asking import open_groups
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.named import Access
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.session.parse import options_of
from diagnose.session.wording import ask_text, minutes
from diagnose.words import say

LONGEST_REMEDY = 120  # characters; whole steps only, and at least the first
MORE_STEPS = "…"


@dataclass(frozen=True, slots=True)
class Marks:
    """Step numbers by place in the tree, letters by cause, and each caution that the card needs."""

    numbers: Mapping[Path, int]
    letters: Mapping[str, str]
    cautions: Mapping[str, MarkedCaution]


class Composer:
    """Composes plans of one tree; `dated` is when the card is printed; `cautions`: what its second side needs."""

    def __init__(self, grower: Grower, dated: str, cautions: Sequence[str] = ()) -> None:
        self.grower, self.kb, self.dated, self.cautions = grower, grower.kb, dated, cautions
        self.wording = Wording(grower.kb, grower.setup, grower.complaint)

    def card(self, plan: Plan) -> Card:
        """The card for this plan, without simulated figures."""
        kb, setup = self.kb, self.grower.setup
        steps, named = plan.steps(), plan.named()
        nodes = {n.path: n for n in (*steps, *named)}
        leaders, letters = list(self.letters(plan)), self.letters(plan)
        marks = Marks({n.path: i for i, n in enumerate(steps, 1)}, letters, self._marked(steps, nodes, leaders))
        return Card(
            complaint=kb.complaints[self.grower.complaint].says,
            kinds=", ".join(kb.devices[d] for d in setup.devices) or say("card.any_sensor"),
            role=say(f"present.role_{'electrician' if setup.electrician else setup.role}"),
            digest=kb.digest,
            dated=self.dated,
            orders=tuple(self._orders(steps)),
            cautions=tuple(marks.cautions.values()),
            steps=tuple(self._step(plan, node, nodes, marks) for node in steps),
            boxes=tuple(self._box(cause, marks) for cause in leaders),
            minutes=sum(n.share * check_minutes(kb, n) for n in steps),
            names=sum(n.share * n.ranked[0][1] for n in named),
        )

    def letters(self, plan: Plan) -> dict[str, str]:
        """The causes that the plan names, in the order of the steps, with their letters."""
        leaders = dict.fromkeys(n.ranked[0][0] for n in plan.named())
        return {cause: letter_of(i) for i, cause in enumerate(leaders)}

    def _marked(
        self, steps: Sequence[Node], nodes: Mapping[Path, Node], leaders: Iterable[str]
    ) -> dict[str, MarkedCaution]:
        """Every caution of the printed checks, answers and causes; the grave ones first."""
        checks = [self.kb.checks[n.check] for n in steps]
        grave = {c for check in checks if check.hazard for c in cautions_for(self.kb, check)}
        wanted = [c for check in checks for c in cautions_for(self.kb, check)]
        wanted += [c for n in nodes.values() for c in self._raised(n, nodes)]
        wanted += [c for cause in leaders for c in remedy_cautions(self.kb, self.kb.causes[cause])]
        wanted += self.cautions
        ordered = sorted(dict.fromkeys(wanted), key=lambda c: c not in grave)
        return {c: self._caution(c, f"!{i}", c in grave) for i, c in enumerate(ordered, 1)}

    def _caution(self, name: str, mark: str, grave: bool) -> MarkedCaution:
        return MarkedCaution(mark, self.kb.cautions[name].says, grave)

    def _raised(self, node: Node, nodes: Mapping[Path, Node]) -> tuple[str, ...]:
        """Cautions that the answer leading here brings up by a rule."""
        before = raised_at(nodes[node.path[:-1]]) if node.path else ()
        return tuple(c for c in raised_at(node) if c not in before)

    def _orders(self, steps: Sequence[Node]) -> Iterator[StopOrder]:
        ends = [b.node for n in steps for b in n.branches if b.node is not None]
        orders = [o for n in (*steps[:1], *ends) for t in n.threads for o in t.conclusion.after.stop_work]
        for order in dict.fromkeys(orders):
            caution = self.kb.cautions[order]
            yield StopOrder(caution.says, caution.tell, caution.tag)

    def _step(self, plan: Plan, node: Node, nodes: Mapping[Path, Node], marks: Marks) -> Step:
        kb, setup, check = self.kb, self.grower.setup, self.kb.checks[node.check]
        access = opened_for(kb, node)
        names = dict.fromkeys((*cautions_for(kb, check), *self._raised(node, nodes)))
        return Step(
            number=marks.numbers[node.path],
            asks=ask_text(check, setup.role),
            minutes=check.minutes,
            opening=say("card.opening", opening=access.says, minutes=minutes(access.minutes)) if access else "",
            tools=tuple(kb.tools[t] for t in check.tools),
            stand=check.stand if setup.role == "help_desk" else "",
            stop=bool(node.stop_work),
            grave=check.hazard,
            cautions=tuple(marks.cautions[c] for c in names),
            lines=tuple(self._lines(plan, node, marks)),
        )

    def _lines(self, plan: Plan, node: Node, marks: Marks) -> Iterator[PrintedBranch]:
        """The branches that are followed, likeliest first; then the larger of the others; then the rest as one."""
        check = self.kb.checks[node.check]
        followed = sorted(filter(plan.follows, node.branches), key=lambda b: -b.share)
        for branches in _by_cause(followed):
            yield self._followed(plan, node, branches, marks)
        left = [b for b in node.branches if not plan.follows(b)]
        own = [b for b in left if b.node is not None and (b.share >= LEAST_OWN or self._stops(node, b.node))]
        for branch in sorted(own, key=lambda b: -b.share):
            yield self._call(plan, node, [branch], self._says(check, branch))
        if rest := [b for b in left if b not in own]:
            alone = len(rest) == 1 and rest[0].node is not None
            yield self._call(plan, node, rest, self._says(check, rest[0]) if alone else say("card.anything_else"))
        if safe := safe_words(self.kb, check):
            yield PrintedBranch(
                " / ".join(t for o, t in self._options(check).items() if o not in safe), None, "again", ""
            )

    def _followed(self, plan: Plan, node: Node, branches: Sequence[Branch], marks: Marks) -> PrintedBranch:
        check, ends = self.kb.checks[node.check], [b.node for b in branches if b.node is not None]
        says, chance = self._joined(node, check, branches), _chance(node, branches)
        if plan.is_step(ends[0]):
            stop = self._stops(node, ends[0])
            return PrintedBranch(says, chance, "step", str(marks.numbers[ends[0].path]), stop=stop)
        raised = dict.fromkeys(c for e in ends for c in raised_at(e) if c not in raised_at(node))
        number = "" if all(not e.check for e in ends) else self._number(plan, ends[0] if len(ends) == 1 else node)
        named = self._named(ends, marks)
        return PrintedBranch(
            says, chance, "cause", number, named, cautions=tuple(marks.cautions[c].mark for c in raised)
        )

    def _joined(self, node: Node, check: Check, branches: Sequence[Branch]) -> str:
        """Several branches in words; what else must hold is left out where all branches of a state are among them."""
        whole = {b.state for b in branches if all(o in branches for o in node.branches if o.state == b.state)}
        told = (self._says(check, replace(b, given=()) if b.state in whole else b) for b in branches)
        return " / ".join(dict.fromkeys(told))

    def _call(self, plan: Plan, node: Node, branches: Sequence[Branch], says: str) -> PrintedBranch:
        end = branches[0].node if len(branches) == 1 else None
        stop = end is not None and self._stops(node, end)
        return PrintedBranch(says, _chance(node, branches), "call", self._number(plan, end or node), stop=stop)

    def _stops(self, node: Node, end: Node) -> bool:
        """Whether an answer orders stop-work that did not stand before."""
        before = {o for t in node.threads for o in t.conclusion.after.stop_work}
        return any(set(t.conclusion.after.stop_work) - before for t in end.threads)

    def _number(self, plan: Plan, node: Node) -> str:
        return number_of(self.grower, node, plan.root)

    def _named(self, ends: Sequence[Node], marks: Marks) -> NamedCause:
        (leader, likely), (runner, next_likely) = Node(tuple(t for e in ends for t in e.threads)).ranked[:2]
        letter = marks.letters.get(runner, "")
        return NamedCause(marks.letters[leader], likely, self.kb.causes[runner].says, letter, next_likely)

    def _box(self, name: str, marks: Marks) -> Box:
        cause = self.kb.causes[name]
        remedy, access = cause.remedy, self.kb.access.get(cause.remedy.access)
        return Box(
            letter=marks.letters[name],
            says=cause.says,
            test=cause.test,
            remedy=brief(remedy.steps),
            access=say("card.plus_opening", opening=access.says, minutes=minutes(access.minutes)) if access else "",
            licensed=remedy.who == "electrician",
            minutes=remedy.minutes,
            proof=cause.proof,
            proof_minutes=cause.proof_minutes,
            cautions=tuple(marks.cautions[c] for c in remedy_cautions(self.kb, self.kb.causes[name])),
        )

    def _options(self, check: Check) -> Mapping[str, str]:
        return options_of(check, self.grower.setup.role == "help_desk")

    def _says(self, check: Check, branch: Branch) -> str:
        """The answers of a branch in words, with what else must hold for it."""
        if safe := safe_words(self.kb, check):
            values = [self._options(check)[word] for word in safe]
        elif check.kind == "quantity":
            asked = [a.check for t in (branch.node.threads if branch.node else ()) for a in t.answers]
            values = [self.wording.reading(check, branch.state, tuple(c for c in asked if c != check.id))]
        else:
            values = [self._options(check).get(str(v), str(v)) for v in branch.values]
        given = [
            either(self._options(self.kb.checks[c]).get(v, v) for v in said)
            for c, said in branch.given
            if c != check.id
        ]
        return " / ".join(values) + (f" [{'; '.join(given)}]" if given else "")


def opened_for(kb: KnowledgeBase, node: Node) -> Access | None:
    """What must be opened first for the check of a step, where it is still shut on this path."""
    access = kb.checks[node.check].access
    return kb.access[access] if access and access not in open_groups(kb, node.threads[0].answers) else None


def check_minutes(kb: KnowledgeBase, node: Node) -> float:
    """Minutes of a step on its path: the check, and opening what is still shut."""
    access = opened_for(kb, node)
    return kb.checks[node.check].minutes + (access.minutes if access else 0.0)


def raised_at(node: Node) -> tuple[str, ...]:
    """Cautions that rules have brought up so far."""
    return tuple(dict.fromkeys(c for t in node.threads for c in t.conclusion.after.cautions))


def brief(steps: Sequence[str]) -> str:
    """The first steps, whole, as far as there is room; says when there are more."""
    said = steps[0].rstrip(".") + "."
    for step in steps[1:]:
        if len(said) + len(step) > LONGEST_REMEDY:
            return f"{said} {MORE_STEPS}"
        said += f" {step.rstrip('.')}."
    return said


def _by_cause(branches: Iterable[Branch]) -> list[list[Branch]]:
    """Branches that name the same cause together; every other one by itself."""
    groups: dict[object, list[Branch]] = {}
    for branch in branches:
        if branch.node is not None:
            ends = names_a_cause(branch.node)
            groups.setdefault(branch.node.ranked[0][0] if ends else branch.node.path, []).append(branch)
    return list(groups.values())


def _chance(node: Node, branches: Sequence[Branch]) -> float | None:
    """Share of this step's visits; None where the question is not scored, so that nothing is known of it."""
    if not branches[0].state or not node.share:
        return None
    return sum(b.share for b in branches) / node.share


def letter_of(place: int) -> str:
    """A to Z, then AA, AB ..."""
    first, last = divmod(place, 26)
    return (chr(64 + first) if first else "") + chr(65 + last)
