"""Draws faulty gates from the knowledge base's own model and lets a policy work them.

The figures say how well the tool does if the knowledge is right; they are no claim about real gates. The gate may be
drawn from one knowledge base and worked with another, which shows what wrong knowledge costs.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.core.asking import open_groups, repair_minutes
from diagnose.core.explain import repair_order
from diagnose.core.facts import fact_name
from diagnose.core.network import FindingTable, Floats, Network
from diagnose.core.posterior import Belief, prior
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.kb.domain import answers_of
from diagnose.measure.streams import Name, drawn, share, stream
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Answer, Setup, Value

Picker = Callable[[Conclusion, np.random.Generator], str]  # the check to do next, '' to stop
MOST_CHECKS = 60
CONCLUDE_AT = 0.90  # at face value


@dataclass(frozen=True, slots=True)
class Trouble:
    """What goes wrong with answers: `slip` the share that is wrong (None: what the knowledge says), `unknown` the
    share nobody can answer although it was looked at, `barred` the share of checks that cannot be done here.
    """

    slip: float | None = None
    unknown: float = 0.0
    barred: float = 0.0


@dataclass(frozen=True, slots=True)
class SimulatedGate:
    """A hidden truth and what every check would show; `wrong` are the findings that show something untrue.

    What is not drawn yet hangs on the `seed`.
    """

    truth: tuple[str, ...]
    complaint: str
    states: Mapping[str, str]
    wrong: frozenset[str] = frozenset()
    unknown: frozenset[str] = frozenset()
    barred: frozenset[str] = frozenset()
    seed: Name = 0


@dataclass(frozen=True, slots=True)
class SimulatedCheck:
    """One check of a visit: what it cost, and what the look-ahead promised when it was chosen (0 if it was not)."""

    check: str
    minutes: float
    saves: float = 0.0
    bits: float = 0.0


@dataclass(frozen=True, slots=True)
class SimulatedVisit:
    """How one simulated visit went. `minutes` includes repairs in the tool's order until the truth is mended."""

    case: SimulatedGate
    ranked: tuple[tuple[str, float], ...]
    bits: float  # entropy of the set of causes: after the complaint, less at the end
    asked: tuple[SimulatedCheck, ...]
    answers: tuple[Answer, ...]
    repair_minutes: float

    @property
    def checks(self) -> tuple[str, ...]:
        return tuple(a.check for a in self.asked)

    @property
    def check_minutes(self) -> float:
        return sum(a.minutes for a in self.asked)

    @property
    def minutes(self) -> float:
        return self.check_minutes + self.repair_minutes

    def first(self, most: int = 1) -> bool:
        """Whether every true cause stands among the first `most` (at least as many as there are)."""
        shown = {c for c, _ in self.ranked[: max(most, len(self.case.truth))]}
        return set(self.case.truth) <= shown


def at_face_value(kb: KnowledgeBase) -> KnowledgeBase:
    """The knowledge without tempering: gates drawn from its own tables are no reason to distrust them."""
    return replace(kb, settings=replace(kb.settings, temper=1.0, conclude_at=CONCLUDE_AT))


def draw_case(
    network: Network, kb: KnowledgeBase, seed: Name, trouble: Trouble | None = None, complaint: str = ""
) -> SimulatedGate:
    """One case from the prior over sets of causes, with what every finding shows.

    A given complaint is what people report; without one, it is drawn too.
    """
    trouble = trouble or Trouble()
    truth = draw_truth(network, prior(network, complaint).weights, seed)
    complaint = complaint or draw_complaint(network, truth, tuple(network.presenting), seed)
    slip = kb.settings.slip if trouble.slip is None else trouble.slip
    shown = draw_shown(network, tuple(draw_ways(network, truth, complaint, seed).values()), slip, seed)
    return SimulatedGate(
        truth=truth,
        complaint=complaint,
        states={f: state for f, (state, _) in shown.items()},
        wrong=frozenset(f for f, (_, wrong) in shown.items() if wrong),
        unknown=_some(network.tables, trouble.unknown, seed, "unknown"),
        barred=_some(network.tables, trouble.barred, seed, "barred"),
        seed=seed,
    )


def draw_truth(network: Network, weights: Floats, seed: Name) -> tuple[str, ...]:
    """One or two causes. `weights` (n+1, n+1) of the sets; of it counts the upper triangle, as in a belief."""
    upper, names = np.triu(network.by_cause(network.by_cause(weights).T).T), ("", *network.causes)
    first = drawn(dict(zip(names, upper.sum(axis=1), strict=True)), seed, "first cause")
    second = drawn(dict(zip(names, upper[names.index(first)], strict=True)), seed, "second cause")
    return tuple(filter(None, (first, second)))


def draw_complaint(network: Network, truth: Sequence[str], among: Sequence[str], seed: Name) -> str:
    """What people report of these causes, out of some complaints."""
    return drawn({c: sum(network.presented(c, cause) for cause in truth) for c in among}, seed, "complaint")


def draw_ways(network: Network, causes: Collection[str], complaint: str, seed: Name) -> dict[str, int]:
    """Cause -> the column of the way in which it shows itself, for one or two causes reported with the complaint.

    Each is drawn once, from numbers of its own: by which of its cause's ways it is, as its column hangs on how many
    other causes there are. A second cause takes a way that goes with the first's.
    """
    weights, taken = prior(network, complaint).weights, dict[str, int]()
    ordered = sorted(causes, key=network.index)
    for cause in ordered:
        at = network.columns(cause)
        others = [taken.get(c, network.columns(c)) for c in ordered if c != cause]
        likely = weights[at, others[0] if others else 0].reshape(at.stop - at.start, -1).sum(axis=1)
        way = drawn({str(i): float(weight) for i, weight in enumerate(likely)}, seed, cause, "way")
        taken[cause] = at.start + int(way)
    return taken


def draw_shown(network: Network, ways: Sequence[int], slip: float, seed: Name) -> dict[str, tuple[str, bool]]:
    """Finding -> the state it shows when causes take these ways, and whether that is wrong, as a share `slip` is."""
    return {t.id: _shown(t, ways, slip, seed) for t in network.tables.values()}


def _shown(table: FindingTable, ways: Sequence[int], slip: float, seed: Name) -> tuple[str, bool]:
    below = table.below(ways)
    true = min(int(np.searchsorted(below, share(seed, table.id, "state"), side="right")), len(table.states) - 1)
    if share(seed, table.id, "slip") >= slip:
        return table.states[true], False
    others = [s for s in table.states if s != table.states[true]]
    return others[int(share(seed, table.id, "wrong") * len(others))], True


def _some(findings: Collection[str], part: float, seed: Name, what: str) -> frozenset[str]:
    return frozenset(f for f in findings if share(seed, f, what) < part)


def work(
    reasoner: Reasoner,
    case: SimulatedGate,
    setup: Setup,
    pick: Picker,
    missing: Collection[str] = (),
) -> SimulatedVisit:
    """Let the policy ask until it concludes, then repair in the tool's order until the truth is mended.

    `missing` are checks known from the start to be out of reach; they cost nothing.
    """
    case = replace(case, barred=case.barred.union(missing))
    answers = [Answer(m, "skip") for m in missing]
    asked: list[SimulatedCheck] = []
    rng = stream(case.seed, "policy")
    conclusion = reasoner.conclude(setup, case.complaint, answers)
    while len(asked) < MOST_CHECKS and (check_id := pick(conclusion, rng)):
        asked.append(_asked(reasoner.kb, reasoner.kb.checks[check_id], case, conclusion, answers))
        answer, conclusion = _answered(reasoner, check_id, setup, case, (conclusion, answers))
        answers.append(answer)
    repairs = _repair_minutes(reasoner, conclusion, case, answers)
    bits = entropy(conclusion.start) - entropy(conclusion.belief)
    return SimulatedVisit(case, tuple(conclusion.belief.ranked()), bits, tuple(asked), tuple(answers), repairs)


def _asked(
    kb: KnowledgeBase, check: Check, case: SimulatedGate, conclusion: Conclusion, answers: Sequence[Answer]
) -> SimulatedCheck:
    """A check that cannot be done costs the asking; every other one its minutes and the cover it opens."""
    shut = check.access and check.access not in open_groups(kb, answers)
    minutes = check.minutes + (kb.access[check.access].minutes if shut else 0.0)
    gain = next((g for g in conclusion.gains if g.option.check == check.id), None)
    spent = kb.settings.asking_minutes if check.id in case.barred else minutes
    return SimulatedCheck(check.id, spent, gain.saves, gain.bits) if gain else SimulatedCheck(check.id, spent)


def _answered(
    reasoner: Reasoner,
    check_id: str,
    setup: Setup,
    case: SimulatedGate,
    before: tuple[Conclusion, Sequence[Answer]],
) -> tuple[Answer, Conclusion]:
    """The answer, and what follows: the first that invents no danger and rules out no true cause."""
    orders, answers = before[0].after.stop_work, before[1]
    tried = _answers(reasoner.kb, reasoner.kb.checks[check_id], case)
    for answer in tried:
        conclusion = concluded(reasoner, setup, case, [*answers, answer])
        if conclusion.after.stop_work == orders and not set(case.truth) & set(conclusion.after.excluded):
            break
    return answer, conclusion


def entropy(belief: Belief) -> float:
    """Bits of uncertainty about the set of causes."""
    p = belief.weights[np.triu_indices_from(belief.weights)]
    p = p[p > 0.0]
    return float(-np.sum(p * np.log2(p)))


def _answers(kb: KnowledgeBase, check: Check, case: SimulatedGate) -> list[Answer]:
    """What the check would be answered with; for unscored context, options to try until one fits.

    It fits when it excludes no true cause and tells of no danger the case does not hold.
    """
    if check.id == kb.settings.made_safe_check:
        return [Answer(check.id, "made_safe")]
    skip = Answer(check.id, "skip")  # a reading: what its calculation would say is given as a fact instead
    if check.id in case.barred | case.unknown:
        return [skip]
    if check.finding and check.finding.fact == fact_name(check):
        return [Answer(check.id, check.finding.states[case.states[check.id]][0])]
    if check.finding or check.kind == "quantity":
        return [skip]
    options = stream(case.seed, check.id).permutation(sorted(answers_of(check)))
    return [*(Answer(check.id, str(o)) for o in options), skip]


def concluded(reasoner: Reasoner, setup: Setup, case: SimulatedGate, answers: Sequence[Answer]) -> Conclusion:
    """Conclusion with the calculated facts of the readings taken so far."""
    kb = reasoner.kb
    computed: dict[str, Value] = {}
    for answer in answers:
        finding = kb.checks[answer.check].finding
        read = answer.check not in case.barred | case.unknown
        if read and finding and finding.fact != fact_name(kb.checks[answer.check]):
            computed[finding.fact] = finding.states[case.states[finding.id]][0]
    taken = Setup(setup.role, setup.electrician, setup.tools, setup.devices, {**setup.profile, **computed})
    return reasoner.conclude(taken, case.complaint, answers)


def _repair_minutes(
    reasoner: Reasoner, conclusion: Conclusion, case: SimulatedGate, answers: Sequence[Answer]
) -> float:
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
