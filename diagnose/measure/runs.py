"""Many simulated visits on several processes, each reproducible from its own seed."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache, partial

from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.measure.alarm import Fit, fit_of
from diagnose.measure.conditions import AS_WRITTEN, CONDITIONS, VISITS_PER_DRAW
from diagnose.measure.perturb import perturbed
from diagnose.measure.policies import POLICIES
from diagnose.measure.simulate import SimulatedVisit, draw_case, work
from diagnose.measure.streams import stream
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup

TOOL = next(iter(POLICIES))
_APART = 1_000_000  # seeds of one run never meet those of the next


@dataclass(frozen=True, slots=True)
class SimulationTask:
    """One visit to simulate. Tasks with the same seed meet the same fault and complaint, whatever else differs."""

    seed: int
    setup: Setup
    policy: str = TOOL
    condition: str = AS_WRITTEN
    missing: tuple[str, ...] = ()


_KNOWLEDGE: dict[str, KnowledgeBase] = {}


def start_worker(kb: KnowledgeBase) -> None:
    """What every process needs once; a later call takes the place of the one before."""
    _KNOWLEDGE["as_written"] = kb
    _reasoner.cache_clear()


@lru_cache(maxsize=2)
def _reasoner(condition: str, draw: int) -> Reasoner:
    """What the tool reasons with under the condition, in its `draw`."""
    kb, disturb = _KNOWLEDGE["as_written"], CONDITIONS[condition].disturb
    if disturb:
        kb = perturbed(kb, disturb(kb, stream(draw, condition)))
    return Reasoner(kb, partial(fixpoint, kb))


def simulated(task: SimulationTask) -> SimulatedVisit:
    """One visit; needs a started worker."""
    truth = _reasoner(AS_WRITTEN, 0)
    trouble = CONDITIONS[task.condition].trouble
    case = draw_case(truth.network(task.setup.devices), truth.kb, task.seed, trouble)
    disturbed = CONDITIONS[task.condition].disturb is not None
    tool = _reasoner(task.condition, task.seed // VISITS_PER_DRAW) if disturbed else truth
    return work(tool, case, task.setup, POLICIES[task.policy], task.missing)


def seeds(cases: int, seed: int) -> range:
    """The seeds of the visits of one run."""
    return range(seed * _APART, seed * _APART + cases)


def run(kb: KnowledgeBase, tasks: Sequence[SimulationTask], processes: int = 1) -> Iterator[SimulatedVisit]:
    """Outcomes in the order of the tasks."""
    with ProcessPoolExecutor(processes, initializer=start_worker, initargs=(kb,)) as pool:
        yield from pool.map(simulated, tasks, chunksize=4)


def run_fits(
    kb: KnowledgeBase, tasks: Sequence[SimulationTask], outcomes: Sequence[SimulatedVisit], processes: int = 1
) -> Iterator[Fit]:
    """How well the answers of finished visits fit together, as they were and spoilt on purpose."""
    with ProcessPoolExecutor(processes, initializer=start_worker, initargs=(kb,)) as pool:
        yield from pool.map(fitted, tasks, outcomes, chunksize=4)


def fitted(task: SimulationTask, outcome: SimulatedVisit) -> Fit:
    """One finished visit; needs a started worker."""
    return fit_of(_reasoner(AS_WRITTEN, 0), task.setup, outcome, task.seed)
