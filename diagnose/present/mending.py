"""What comes after a conclusion: who repaired what, the proof that is owed, return to service, how the visit ends."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.present.figures import minutes
from diagnose.session.caller import proof_of
from diagnose.session.checklist import checklist, open_items, touched_protection
from diagnose.session.events import Repaired
from diagnose.session.law import doers, endings, may_follow, refusal
from diagnose.session.state import Session, Tick
from diagnose.session.summary import summarise
from diagnose.session.wording import done_by_says, ending_says
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
    """What may come after a conclusion. `endings`: how it may end, '' or why not; `follow` the same for events.

    `proved` is the cause whose repair was proved good last, '' while none was; `prover` asks who proves the
    protective function on site, '' where nobody has to be named.
    """

    candidates: tuple[Candidate, ...]
    lines: tuple[Line, ...]
    endings: Mapping[str, str]
    follow: Mapping[str, str]
    proved: str
    prover: str

    @property
    def doers(self) -> tuple[ShownDoer, ...]:
        """Everybody who may have carried one of the remedies out."""
        return tuple(dict.fromkeys(doer for candidate in self.candidates for doer in candidate.doers))

    @property
    def still_open(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.open)


@dataclass(frozen=True, slots=True)
class Ending:
    """How the visit ended; `tag` and `still_open` where the gate stays out of service."""

    outcome: str
    says: str
    reason: str
    tag: str
    still_open: tuple[str, ...]


def next_of(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> NextStep:
    """What may come after a conclusion."""
    kb, mended = reasoner.kb, session.mended
    return NextStep(
        candidates=candidates_of(reasoner, session, conclusion),
        lines=lines_of(kb, session),
        endings=endings(kb, session),
        follow=may_follow(kb, session),
        proved=kb.causes[mended.cause].says if mended else "",
        prover=prover_of(kb, session),
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


def prover_of(kb: KnowledgeBase, session: Session) -> str:
    """Asks who proves the protective function on site; '' where nobody has to be named."""
    return say("present.who_proves") if touched_protection(kb, session) else ""


def owed_of(kb: KnowledgeBase, session: Session) -> Owed | None:
    """The proof that is owed, if one is."""
    if session.pending is None:
        return None
    cause = kb.causes[session.pending.cause]
    proof, takes = proof_of(cause, session.pending.by)
    return Owed(cause.says, proof, minutes(takes))


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


def ending_of(kb: KnowledgeBase, session: Session) -> Ending:
    """How the visit ended."""
    out = session.outcome == "left_out"
    tag = say("present.out_of_service_tag", reason=session.reason) if out else ""
    still = tuple(item.says for item in open_items(kb, session)) if out else ()
    return Ending(session.outcome, ending_says(session.outcome), session.reason, tag, still)
