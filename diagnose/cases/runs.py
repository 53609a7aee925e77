"""Many cases, played on several processes, each the same whatever is played beside it."""

from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from diagnose.cases.model import FieldCase
from diagnose.cases.play import CasePlayer, Spoil
from diagnose.cases.result import CaseResult, result_of
from diagnose.cases.ways import TOOL, WAYS
from diagnose.core.ground import ground
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.kb.domain import answers_of
from diagnose.measure.streams import stream
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Value

AS_IT_IS, PLANTED, BOTCHED, ALL_BOTCHED = "as_it_is", "one_wrong", "few_botched", "all_botched"
BOTCHED_SHARE: Mapping[str, float] = {BOTCHED: 0.05, ALL_BOTCHED: 1.0}


@dataclass(frozen=True, slots=True)
class CaseRun:
    """One visit. `wrong`: answers planted over the true ones."""

    case: FieldCase
    seed: int = 1
    way: str = TOOL
    spoil: Spoil = field(default_factory=Spoil)


_READY: dict[str, Reasoner] = {}


def start_worker(kb: KnowledgeBase) -> None:
    """What every process needs once."""
    _READY["reasoner"] = Reasoner(kb, partial(fixpoint, kb))


def played(task: CaseRun) -> CaseResult:
    """One visit; needs a started worker."""
    reasoner = _READY["reasoner"].at(task.case.named)
    pick = WAYS[task.way](reasoner.kb.settings.conclude_at)
    return result_of(reasoner.kb, CasePlayer(reasoner, task.case, task.seed, pick, task.spoil).play())


def run(kb: KnowledgeBase, tasks: Sequence[CaseRun], processes: int) -> Iterator[CaseResult]:
    """Results in the order of the tasks."""
    if processes == 1:
        start_worker(kb)
        yield from map(played, tasks)
        return
    with ProcessPoolExecutor(processes, initializer=start_worker, initargs=(kb,)) as pool:
        yield from pool.map(played, tasks, chunksize=2)


def planted(kb: KnowledgeBase, task: CaseRun, clean: CaseResult) -> CaseRun | None:
    """The same visit with one of its answers wrong: another option of a scored choice, drawn by the seed."""
    kb, rng = ground(kb, task.case.named), stream(task.seed, clean.id, "planted")
    asked = [t for t in clean.told[: clean.concluded.questions] if _can_be_wrong(kb, t.check, t.source)]
    if not asked:
        return None
    told = asked[int(rng.integers(len(asked)))]
    return CaseRun(task.case, task.seed, task.way, Spoil({told.check: _another(kb, told.check, told.value, rng)}))


def _can_be_wrong(kb: KnowledgeBase, check: str, source: str) -> bool:
    return (
        source in ("encoded", "healthy")
        and kb.checks[check].finding is not None
        and bool(answers_of(kb.checks[check]))
    )


def _another(kb: KnowledgeBase, check: str, value: Value, rng: np.random.Generator) -> Value:
    """An answer that means another state than the true one."""
    finding = kb.checks[check].finding
    assert finding
    others = [v for values in finding.states.values() if value not in values for v in values]
    fitting = sorted(set(others) & answers_of(kb.checks[check])) or sorted(
        answers_of(kb.checks[check]) - {str(value)}
    )
    return fitting[int(rng.integers(len(fitting)))]
