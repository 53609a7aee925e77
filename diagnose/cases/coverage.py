"""The coverage list: faults of the trade, listed without sight of the knowledge, with the entries that mend them."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from diagnose.cases.figures import Share
from diagnose.cases.read import text_of
from diagnose.kb.schema import build
from diagnose.kb.text import Document, Problem, parse
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.named import Words
from diagnose.words import say

FILE = Path("coverage") / "faults.yaml"
MAX_BYTES = 400_000


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeFault:
    """`link` of the chain it breaks; `lists`: how many of the independent lists name it; `mended_by`: the entries
    whose remedy mends it, none where the knowledge has none."""

    says: str
    devices: Words
    link: str
    remedy: str
    lists: int = 1
    mended_by: Words = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageList:
    faults: tuple[TradeFault, ...]


def read_coverage(knowledge: Path) -> tuple[CoverageList, Document, list[Problem]]:
    """The list beside a knowledge folder, with its problems of form; empty where there is none."""
    path = knowledge / FILE
    if not path.exists():
        return CoverageList(faults=()), Document(FILE.as_posix()), []
    document = parse(text_of(path, MAX_BYTES), FILE.as_posix())
    found, problems = (None, []) if document.problems else build(CoverageList, document.value, (), document)
    return found or CoverageList(faults=()), document, [*document.problems, *problems]


def coverage_problems(kb: KnowledgeBase, listed: CoverageList, document: Document) -> Iterator[Problem]:
    """Entries and devices that the knowledge does not have."""
    for i, fault in enumerate(listed.faults):
        for cause in fault.mended_by:
            if cause not in kb.causes:
                yield document.problem(("faults", i, "mended_by"), say("cases.unknown_cause", cause=cause))
        for device in fault.devices:
            if device not in (*kb.devices, "any"):
                yield document.problem(("faults", i, "devices"), say("cases.unknown_device", device=device))


def covered(listed: CoverageList, least_lists: int = 1) -> Share:
    """Share of the faults that at least so many of the lists name and some entry mends."""
    wanted = [f for f in listed.faults if f.lists >= least_lists]
    return Share(sum(bool(f.mended_by) for f in wanted), len(wanted))
