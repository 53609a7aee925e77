"""Everything `diagnose simulate` finds out, in the order it is run."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Protocol, TypeVar

from diagnose.core.compile import compile_network
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.measure.alarm import Fit
from diagnose.measure.conditions import AS_WRITTEN, CONDITIONS
from diagnose.measure.inference import CASES, Stated, stated
from diagnose.measure.policies import POLICIES
from diagnose.measure.runs import TOOL, SimulationTask, run, run_fits, seeds
from diagnose.measure.simulate import SimulatedVisit, at_face_value
from diagnose.measure.small import Excess, corners, excesses
from diagnose.measure.words import condition_says, way_says
from diagnose.measure.worth import CauseNeed, CheckWorth, cause_needs, check_worths, most_asked, tasks_without
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.words import say

Item = TypeVar("Item")


class Progressing(Protocol):
    """What is done, how many, and the work -> the same work, with its progress shown."""

    def __call__(self, says: str, many: int, work: Iterator[Item], /) -> Iterator[Item]: ...


@dataclass(frozen=True, slots=True)
class WantedFigures:
    """What to run: `cases` visits of every kind. `without`: how many of the most asked scored checks to do
    without, one at a time. `corners`: how many small problems to solve exactly. `stated`:
    how many posteriors to check for calibration.
    """

    setup: Setup
    cases: int
    seed: int = 1
    processes: int = 1
    policies: tuple[str, ...] = tuple(POLICIES)
    robustness: bool = False
    without: int = 0
    corners: int = 20
    stated: int = CASES


@dataclass(frozen=True, slots=True)
class Measured:
    """`policies` and `conditions` hold outcomes on the same hidden faults; what was not run is empty."""

    kb: KnowledgeBase
    wanted: WantedFigures
    policies: Mapping[str, Sequence[SimulatedVisit]]
    conditions: Mapping[str, Sequence[SimulatedVisit]] = field(default_factory=dict)
    excesses: Mapping[str, Excess] = field(default_factory=dict)
    checks: Sequence[CheckWorth] = ()
    causes: Sequence[CauseNeed] = ()
    fits: Sequence[Fit] = ()
    inference: Sequence[Stated] = ()

    @property
    def tool(self) -> Sequence[SimulatedVisit]:
        return self.policies[TOOL]


def collect(kb: KnowledgeBase, wanted: WantedFigures, track: Progressing) -> Measured:
    """Run everything that is wanted."""
    kb, many = at_face_value(kb), wanted.cases

    def done(says: str, tasks: Sequence[SimulationTask]) -> list[SimulatedVisit]:
        return list(track(says, len(tasks), run(kb, tasks, wanted.processes)))

    policies = {p: done(way_says(p), _tasks(wanted, policy=p)) for p in dict.fromkeys((TOOL, *wanted.policies))}
    plain, tool = _tasks(wanted), policies[TOOL]
    conditions, fits, pure = {}, list[Fit](), list[Stated]()
    if wanted.robustness:
        others = [c for c in CONDITIONS if c != AS_WRITTEN]
        conditions = {AS_WRITTEN: tool, **{c: done(condition_says(c), _tasks(wanted, condition=c)) for c in others}}
        fits = list(track(say("measure.spoilt_answers"), many, run_fits(kb, plain, tool, wanted.processes)))
        network = compile_network(kb, wanted.setup.devices)
        pure = list(
            track(say("measure.random_answers"), wanted.stated, stated(kb, network, wanted.seed, wanted.stated))
        )
    dropped = [c for c in most_asked(tool) if kb.checks[c].finding][: wanted.without]
    without = {c: done(say("measure.without", check=c), tasks_without(plain, tool, c)) for c in dropped}
    return Measured(
        kb,
        wanted,
        policies,
        conditions,
        _excesses(kb, wanted),
        check_worths(tool, without),
        _needs(kb, wanted, tool),
        fits,
        pure,
    )


def _tasks(wanted: WantedFigures, policy: str = TOOL, condition: str = AS_WRITTEN) -> list[SimulationTask]:
    return [SimulationTask(s, wanted.setup, policy, condition) for s in seeds(wanted.cases, wanted.seed)]


def _excesses(kb: KnowledgeBase, wanted: WantedFigures) -> Mapping[str, Excess]:
    network = compile_network(kb, wanted.setup.devices)
    drawn = corners(kb, network, wanted.setup, wanted.corners, wanted.seed)
    return excesses(kb, drawn, wanted.seed) if drawn else {}


def _needs(kb: KnowledgeBase, wanted: WantedFigures, tool: Sequence[SimulatedVisit]) -> list[CauseNeed]:
    return cause_needs(Reasoner(kb, partial(fixpoint, kb)), wanted.setup.devices, tool)
