"""Everything `diagnose cases` finds out, in the order it is run."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from diagnose.cases.model import FieldCase, Half
from diagnose.cases.play import Spoil
from diagnose.cases.result import CaseResult
from diagnose.cases.runs import AS_IT_IS, BOTCHED_SHARE, PLANTED, CaseRun, planted, run
from diagnose.cases.ways import TOOL, WAYS
from diagnose.measure.collect import Progressing
from diagnose.model.knowledge import KnowledgeBase

HALVES: tuple[Half, ...] = ("learning", "judging")


@dataclass(frozen=True, slots=True)
class WantedRuns:
    """What to run. `spoilt`: also with a wrong answer planted and with botched repairs; `compared`: also with the
    simpler ways of asking."""

    cases: Sequence[FieldCase]
    seed: int = 1
    processes: int = 2
    spoilt: bool = True
    compared: bool = True


@dataclass(frozen=True, slots=True)
class Collected:
    """`runs` by name: the tool as it is, then with things spoilt, then the simpler ways. `wrong`: case -> the check
    that was answered wrongly in the planted run."""

    wanted: WantedRuns
    kb: KnowledgeBase
    runs: Mapping[str, Sequence[CaseResult]]
    wrong: Mapping[str, str] = field(default_factory=dict)

    @property
    def tool(self) -> Sequence[CaseResult]:
        return self.runs[AS_IT_IS]

    def of(self, name: str, half: Half) -> list[CaseResult]:
        """The results of one run in one half."""
        return [r for r in self.runs.get(name, ()) if r.half == half]

    @property
    def open(self) -> list[CaseResult]:
        """The learning half's results that may be looked at one by one."""
        return [r for r in self.of(AS_IT_IS, "learning") if not r.fitting]


def encoded(cases: Sequence[FieldCase]) -> list[FieldCase]:
    """Those that can be played."""
    return [c for c in cases if c.encoded]


def collect(kb: KnowledgeBase, wanted: WantedRuns, track: Progressing) -> Collected:
    """Run it all."""
    tasks = [CaseRun(case, wanted.seed) for case in encoded(wanted.cases)]

    def done(name: str, tasks: Sequence[CaseRun]) -> Sequence[CaseResult]:
        return tuple(track(name, len(tasks), run(kb, tasks, wanted.processes)))

    runs = {AS_IT_IS: done(AS_IT_IS, tasks)}
    wrong: dict[str, str] = {}
    if wanted.spoilt:
        spoilt = list(_planted(kb, tasks, runs[AS_IT_IS]))
        wrong = {t.case.id: next(iter(t.spoil.wrong)) for t in spoilt}
        runs[PLANTED] = done(PLANTED, spoilt)
        for name, share in BOTCHED_SHARE.items():
            runs[name] = done(name, [replace(t, spoil=Spoil(botched=share)) for t in tasks])
    if wanted.compared:
        runs |= {way: done(way, [replace(t, way=way) for t in tasks]) for way in WAYS if way != TOOL}
    return Collected(wanted, kb, runs, wrong)


def _planted(kb: KnowledgeBase, tasks: Sequence[CaseRun], clean: Sequence[CaseResult]) -> Iterator[CaseRun]:
    for task, result in zip(tasks, clean, strict=True):
        if spoilt := planted(kb, task, result):
            yield spoilt
