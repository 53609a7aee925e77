"""What comes after a conclusion: who repaired what, the proof that is owed, return to service."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.present.ending import WayToEnd, ways_to_end
from diagnose.present.figures import minutes
from diagnose.session.caller import proof_of
from diagnose.session.checklist import checklist, open_items
from diagnose.session.events import Repaired
from diagnose.session.law import doers, may_follow, refusal
from diagnose.session.state import Session, Tick
from diagnose.session.summary import summarise
from diagnose.session.wording import done_by_says
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class ShownDoer:
    """Somebody who may have carried a remedy out, and what says so."""

    by: str
    says: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A remedy that may have been carried out.

    `doers`: who may have done it, where it cannot have been whoever has the visit; `refused`: why nobody may have;
    `warning`: it only hides the fault.
    """

    cause: str
    says: str
    doers: tuple[ShownDoer, ...]
    refused: str
    warning: str


@dataclass(frozen=True, slots=True)
class Owed:
    """The proof of the last repair."""

    cause: str
    says: str
    proof: str
    minutes: str


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the return-to-service checklist. `done` is pass, fail, na or ''; `result` the same in words."""

    item: str
    says: str
    why: str
    protective: bool
    done: str
    result: str
    reading: str
    open: bool


@dataclass(frozen=True, slots=True)
class NextStep:
    """What may come after a conclusion. `follow`: per kind of event '' or why not; `ways` in which it may end.

    `proved` is the cause whose repair was proved good last, '' while none was.
    """

    candidates: tuple[Candidate, ...]
    lines: tuple[Line, ...]
    follow: Mapping[str, str]
    proved: str
    ways: tuple[WayToEnd, ...]

    @property
    def doers(self) -> tuple[ShownDoer, ...]:
        """Everybody who may have carried one of the remedies out."""
        return tuple(dict.fromkeys(doer for candidate in self.candidates for doer in candidate.doers))

    @property
    def still_open(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.open)


def next_of(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> NextStep:
    """What may come after a conclusion."""
    kb, mended = reasoner.kb, session.mended
    return NextStep(
        candidates=candidates_of(reasoner, session, conclusion),
        lines=lines_of(kb, session),
        follow=may_follow(kb, session),
        proved=kb.causes[mended.cause].says if mended else "",
        ways=ways_to_end(kb, session),
    )


def candidates_of(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> tuple[Candidate, ...]:
    """The remedies worth naming, in the order they are worth trying."""
    kb, summary = reasoner.kb, summarise(reasoner, session, conclusion)
    named = dict.fromkeys((*summary.order, *(r.cause.id for r in summary.ranked)))
    return tuple(_candidate(kb, session, kb.causes[c]) for c in named if c != kb.settings.outside_cause)


def _candidate(kb: KnowledgeBase, session: Session, cause: Cause) -> Candidate:
    may, no = doers(kb, session, cause.id), refusal(kb, session, Repaired(cause.id))
    named = () if "" in may else tuple(ShownDoer(by, done_by_says(by)) for by in may)
    warning = say("present.hides_fault_note") if cause.remedy.hides_fault else ""
    return Candidate(cause.id, cause.says, named, no.says if no and not may else "", warning)


def owed_of(kb: KnowledgeBase, session: Session) -> Owed | None:
    """The proof that is owed, if one is."""
    if session.pending is None:
        return None
    cause = kb.causes[session.pending.cause]
    proof, takes = proof_of(cause, session.pending.by)
    return Owed(cause.id, cause.says, proof, minutes(takes))


def lines_of(kb: KnowledgeBase, session: Session) -> tuple[Line, ...]:
    """The whole checklist, protective lines first."""
    ticks, left = {t.item: t for t in session.ticks}, {item.id for item in open_items(kb, session)}
    none = Tick("", "na")
    lines = []
    for item in checklist(kb, session):
        tick = ticks.get(item.id, none)
        done = tick.result if tick.item else ""
        result = say(f"present.ticked_{done or 'open'}")
        lines.append(Line(item.id, item.says, item.why, item.protective, done, result, tick.reading, item.id in left))
    return tuple(lines)
