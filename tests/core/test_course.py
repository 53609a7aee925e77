"""Evidence before and after repairs is one exact likelihood: against enumeration of every mechanism, and by its laws.

Source of the persistence of mechanisms: Breese & Heckerman, Decision-theoretic troubleshooting, UAI 1996.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.core.course import Heard, evidence_weight, told
from diagnose.core.network import FindingTable, Network
from diagnose.core.posterior import Belief, absorb, heard_again, prior, still_failing
from diagnose.model.visit import Observation
from tests.build import network, single_fault, table

SLIP = 0.03
Told = tuple[str, str]  # finding, state
Visit = Sequence[Told | tuple[str, float]]  # an answer; or a cause repaired, with the chance of a botched repair


def played(belief: Belief, visit: Iterable[Told | tuple[str, float]], slip: float = SLIP) -> Belief:
    """The belief after answers and repairs, in the order given."""
    heard: dict[str, list[Heard]] = {}
    repairs = 0
    for name, what in visit:
        if isinstance(what, float):
            belief, repairs = still_failing(belief, name, what), repairs + 1
        else:
            belief = absorb(belief, Observation(name, what), slip, heard.get(name, ()))
            heard.setdefault(name, []).append(Heard(repairs, what, slip))
    return belief


@dataclass(frozen=True)
class Course:
    """The causes present before each repair and after the last."""

    present: tuple[frozenset[str], ...]
    chance: float


def courses(net: Network, visit: Visit) -> Iterator[Course]:
    """Every set at the start with every outcome of the repairs, as far as the trouble is still there."""
    odds = dict(zip(net.causes, net.odds[1:], strict=True))
    repairs = [(cause, botched) for cause, botched in visit if isinstance(botched, float)]
    for size in (1, 2):
        for start in combinations(net.causes, size):
            for outcomes in product((True, False), repeat=len(repairs)):
                yield from _course(frozenset(start), float(np.prod([odds[c] for c in start])), repairs, outcomes)


def _course(
    present: frozenset[str], chance: float, repairs: Sequence[tuple[str, float]], outcomes: Sequence[bool]
) -> Iterator[Course]:
    stages = [present]
    for (cause, botched), removed in zip(repairs, outcomes, strict=True):
        if cause not in present:
            if not removed:
                return  # a repair of what is sound has one outcome
        elif removed:
            present, chance = present - {cause}, chance * (1.0 - botched)
        else:
            chance *= botched
        stages.append(present)
    if chance and all(stages):
        yield Course(tuple(stages), chance)


def likelihood(net: Network, course: Course, finding: str, answers: Sequence[tuple[int, str]]) -> float:
    """Sum over what each cause and the leak show of their own; one look for each state that the finding is in."""
    tab = net.tables[finding]
    size = len(tab.states)
    causes = sorted(course.present[0])
    shown = [np.diff(tab.cumulative[:, net.index(c)], prepend=0.0) for c in causes] + [np.diff(tab.leak, prepend=0.0)]
    total = 0.0
    for own in product(range(size), repeat=len(shown)):
        chance = float(np.prod([p[k] for p, k in zip(shown, own, strict=True)]))
        looks: dict[int, list[Heard]] = {}
        for stage, state in answers:
            there = [k for c, k in zip(causes, own, strict=False) if c in course.present[stage]]
            looks.setdefault(max([*there, own[-1]]), []).append(Heard(0, state, SLIP))
        total += chance * float(np.prod([told(tab, heard)[state] for state, heard in looks.items()]))
    return total


def enumerated(net: Network, visit: Visit) -> Mapping[str, float]:
    """P(cause present now), from every mechanism there can be."""
    answers: dict[str, list[tuple[int, str]]] = {}
    repairs = 0
    for name, what in visit:
        if isinstance(what, float):
            repairs += 1
        else:
            answers.setdefault(name, []).append((repairs, what))
    found = dict.fromkeys(net.causes, 0.0)
    total = 0.0
    for course in courses(net, visit):
        weight = course.chance * float(np.prod([likelihood(net, course, f, said) for f, said in answers.items()]))
        total += weight
        for cause in course.present[-1]:
            found[cause] += weight
    return {cause: weight / total for cause, weight in found.items()}


CAUSES = "abcd"


@st.composite
def nets(draw: st.DrawFn) -> Network:
    """Three or four causes, three findings of two or three states."""
    causes = CAUSES[: draw(st.integers(3, 4))]
    return network(
        {c: draw(st.floats(0.05, 0.9)) for c in causes},
        [_table(draw, f"f{number}", causes) for number in range(3)],
    )


def _table(draw: st.DrawFn, name: str, causes: str) -> FindingTable:
    states = ("no", "some", "much")[: draw(st.integers(2, 3))]

    def shares() -> list[float]:
        raw = np.array([draw(st.floats(0.02, 1.0)) for _ in states])
        return list(map(float, raw / raw.sum()))

    nothing = [1.0, *(0.0 for _ in states[1:])]
    return table(name, states, shares(), [shares() if draw(st.booleans()) else nothing for _ in causes])


@st.composite
def visits(draw: st.DrawFn, net: Network) -> Visit:
    """Up to two answers, a repair, more answers, perhaps another repair and more; findings may come again."""
    found: list[Told | tuple[str, float]] = []
    for stage in range(draw(st.integers(2, 3))):
        if stage:
            found.append((draw(st.sampled_from(net.causes)), draw(st.sampled_from([0.05, 0.3]))))
        for name in draw(st.permutations(list(net.tables)))[: draw(st.integers(0, 3))]:
            found.append((name, draw(st.sampled_from(net.tables[name].states))))
    return found


@given(st.data())
def test_the_belief_after_repairs_is_that_of_full_enumeration(data: st.DataObject) -> None:
    net = data.draw(nets())
    visit = data.draw(visits(net))
    belief = played(prior(net), visit)
    assert dict(belief.ranked()) == pytest.approx(enumerated(net, visit), abs=1e-9)


@given(st.data())
def test_within_a_stage_the_order_does_not_matter_and_a_repeated_answer_changes_nothing(data: st.DataObject) -> None:
    net = data.draw(nets())
    cause = data.draw(st.sampled_from(net.causes))
    said = [(name, data.draw(st.sampled_from(t.states))) for name, t in net.tables.items()]
    after = [played(prior(net), [said[0], (cause, 0.05), *order]) for order in permutations(said[1:])]
    for other in after[1:]:
        assert dict(other.ranked()) == pytest.approx(dict(after[0].ranked()), abs=1e-12)
    within = played(prior(net), [*said, said[0]])
    assert dict(within.ranked()) == pytest.approx(dict(played(prior(net), said).ranked()))


@given(st.data())
def test_what_a_repair_cannot_change_tells_nothing_when_it_is_heard_again(data: st.DataObject) -> None:
    net = data.draw(nets())
    repaired = data.draw(st.sampled_from(net.causes))
    at = net.index(repaired)
    name, state = data.draw(st.sampled_from([(f, s) for f, t in net.tables.items() for s in t.states]))
    untouched = bool((net.tables[name].cumulative[:, at] == 1.0).all())
    visit: Visit = [(name, state), (repaired, 0.1)]
    once, twice = played(prior(net), visit), played(prior(net), [*visit, (name, state)])
    if untouched:
        assert dict(twice.ranked()) == pytest.approx(dict(once.ranked()), abs=1e-12)


@given(st.data())
def test_still_the_same_trouble_lowers_the_repaired_cause_and_keeps_the_others_in_proportion(
    data: st.DataObject,
) -> None:
    net = data.draw(nets())
    said = [(name, data.draw(st.sampled_from(t.states))) for name, t in net.tables.items()]
    before = played(prior(net), said)
    cause = data.draw(st.sampled_from(net.causes))
    after = still_failing(before, cause, 0.05)
    others = [c for c in net.causes if c != cause]
    factors = [after.probability(c) / before.probability(c) for c in others]
    assert after.probability(cause) < before.probability(cause)
    assert factors == pytest.approx([factors[0]] * len(others))


def test_the_worked_example_of_a_repair_that_may_have_gone_wrong() -> None:
    """Causes 0.6 and 0.4, a finding shown by 0.9 and 0.2, seen: odds 0.6 x 0.9 x 0.05 : 0.4 x 0.2 = 0.027 : 0.08."""
    net = network({"a": 0.6, "b": 0.4}, [table("f", ("no", "yes"), (1.0, 0.0), [(0.1, 0.9), (0.8, 0.2)])])
    sure = 1e-9
    seen: Visit = [("f", "yes"), ("a", 0.05)]
    once = played(single_fault(net), seen, sure)
    assert once.probability("a") == pytest.approx(0.027 / 0.107, abs=1e-6)
    again = played(single_fault(net), [*seen, ("f", "yes")], sure)
    assert again.probability("a") == pytest.approx(once.probability("a"), abs=1e-12)


@given(st.data())
def test_what_a_second_look_promises_adds_up_to_the_belief(data: st.DataObject) -> None:
    net = data.draw(nets())
    visit = data.draw(visits(net))
    belief = played(prior(net), visit)
    name = data.draw(st.sampled_from(list(net.tables)))
    repairs, heard = 0, []
    for what, said in visit:
        repairs += isinstance(said, float)
        if what == name and isinstance(said, str):
            heard.append(Heard(repairs, said, SLIP))
    if not heard or belief.course is None:
        return
    rows = heard_again(belief, net.tables[name], heard, SLIP)
    assert rows.sum() == pytest.approx(2.0)
    assert rows.sum(axis=0) == pytest.approx(belief.columns)


def test_a_second_look_promises_a_change_only_where_the_repair_can_have_changed_it() -> None:
    """By hand: only {a, b} can have become {b}; then b shows 'yes' in 0.1 of the cases in which both did."""
    net = network({"a": 0.5, "b": 0.5}, [table("f", ("no", "yes"), (1.0, 0.0), [(0.2, 0.8), (0.9, 0.1)])])
    sure = 1e-9
    belief = played(prior(net), [("f", "yes"), ("a", 0.5)], sure)
    alone_a, alone_b, both = 0.5 * 0.8 * 0.5, 0.5 * 0.1, 0.25 * 0.82
    total = alone_a + alone_b + both
    still_yes = alone_a + alone_b + 0.5 * both + 0.5 * 0.25 * 0.1
    rows = heard_again(belief, net.tables["f"], [Heard(0, "yes", sure)], sure)
    assert rows.sum(axis=1) / 2.0 == pytest.approx([1.0 - still_yes / total, still_yes / total], abs=1e-6)


def test_a_changed_answer_says_that_the_repair_changed_something() -> None:
    net = network(
        {"a": 0.3, "b": 0.3, "c": 0.3},
        [table("f", ("no", "yes"), (0.95, 0.05), [(0.05, 0.95), (0.9, 0.1), (0.5, 0.5)])],
    )
    failed = played(prior(net), [("f", "yes"), ("a", 0.3)])
    changed = played(prior(net), [("f", "yes"), ("a", 0.3), ("f", "no")])
    same = played(prior(net), [("f", "yes"), ("a", 0.3), ("f", "yes")])
    assert changed.probability("a") < 0.2 * failed.probability("a")
    assert same.probability("a") > failed.probability("a")


def test_two_different_answers_to_one_look_leave_both_open() -> None:
    tab = table("f", ("no", "some", "much"), (0.8, 0.1, 0.1), [(0.2, 0.3, 0.5)])
    found = told(tab, [Heard(0, "no", 0.02), Heard(1, "much", 0.02), Heard(2, "no", 0.2)])
    assert found == pytest.approx(evidence_weight(tab, "no", 0.02) * evidence_weight(tab, "much", 0.02))
