"""A conclusion and what comes after it as plain values: causes, remedies, proof, return to service, dispatch."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.session.checklist import checklist, open_items, touched_protection
from diagnose.session.dispatch import dispatch
from diagnose.session.events import Repaired
from diagnose.session.law import doers, endings, refusal
from diagnose.session.state import Session
from diagnose.session.summary import NOTICEABLE_DECIBANS, STANDS_OUT, Ranked, Summary, summarise
from diagnose.session.wording import ending_says, likely_says, state_says, who_says, why_says

MOST_WEIGHTS = 4
MOST_STEPS = 4


@dataclass(frozen=True, slots=True)
class Evidence:
    says: str
    decibans: float


@dataclass(frozen=True, slots=True)
class Suspect:
    """One cause of the ranked list. `rival` is what its evidence is weighed against."""

    cause: str
    says: str
    words: str
    probability: float
    explain: str
    evidence: tuple[Evidence, ...]
    rival: str
    test: str
    cautions: tuple[str, ...]
    minutes: float
    who: str
    access: str
    steps: tuple[str, ...]
    parts: tuple[str, ...]
    tools: tuple[str, ...]
    afterwards: tuple[str, ...]
    proof: str
    proof_minutes: float
    hides_fault: bool
    source: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A remedy. `by`: who may have carried it out, '' whoever has the visit; `refused`: why nobody may have."""

    cause: str
    says: str
    by: str
    refused: str


@dataclass(frozen=True, slots=True)
class Result:
    """A conclusion. `endings`: how the visit may end, '' or why not."""

    why: str
    asked_for: bool
    outside: bool
    designed: bool
    stands_out: bool
    suspects: tuple[Suspect, ...]
    pairs: tuple[tuple[str, float], ...]
    order: tuple[tuple[str, float], ...]
    candidates: tuple[Candidate, ...]
    endings: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Owed:
    """The proof of the last repair."""

    says: str
    proof: str
    minutes: float


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the return-to-service checklist. `done` is pass, fail, na or ''."""

    item: str
    says: str
    why: str
    protective: bool
    done: str
    reading: str
    open: bool


@dataclass(frozen=True, slots=True)
class Ending:
    says: str
    reason: str
    tag: str
    still_open: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What whoever is sent needs."""

    stop_work: tuple[tuple[str, str], ...]  # (order, tag)
    causes: tuple[tuple[str, float], ...]
    bring: tuple[tuple[str, str, float], ...]
    first_checks: tuple[str, ...]
    access: tuple[str, ...]
    cautions: tuple[str, ...]


def result_of(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> Result:
    kb, summary = reasoner.kb, summarise(reasoner, session, conclusion)
    more = bool(conclusion.next.check)
    return Result(
        why=why_says(conclusion.next.why),
        asked_for=more,
        outside=summary.outside,
        designed=summary.designed,
        stands_out=summary.ranked[0].probability >= STANDS_OUT,
        suspects=tuple(_suspect(kb, ranked) for ranked in summary.ranked),
        pairs=tuple((" AND ".join(kb.causes[c].says for c in both), p) for both, p in summary.pairs[:2]),
        order=tuple((kb.causes[c].says, _minutes(kb.causes[c])) for c in summary.order[:MOST_STEPS]),
        candidates=_candidates(kb, session, summary),
        endings=endings(kb, session),
    )


def _minutes(cause: Cause) -> float:
    return cause.remedy.minutes + cause.proof_minutes


def _candidates(kb: KnowledgeBase, session: Session, summary: Summary) -> tuple[Candidate, ...]:
    named = dict.fromkeys((*summary.order, *(r.cause.id for r in summary.ranked)))
    return tuple(_candidate(kb, session, kb.causes[c]) for c in named if c != kb.settings.outside_cause)


def _candidate(kb: KnowledgeBase, session: Session, cause: Cause) -> Candidate:
    may, no = doers(kb, session, cause.id), refusal(kb, session, Repaired(cause.id))
    return Candidate(cause.id, cause.says, may[0] if may else "", no.says if no and not may else "")


def _suspect(kb: KnowledgeBase, ranked: Ranked) -> Suspect:
    cause, remedy = ranked.cause, ranked.cause.remedy
    access = kb.access.get(remedy.access)
    cautions = dict.fromkeys((*(access.cautions if access else ()), *cause.cautions, *remedy.cautions))
    return Suspect(
        cause=cause.id,
        says=cause.says,
        words=likely_says(ranked.probability),
        probability=ranked.probability,
        explain=cause.explain,
        evidence=_evidence(kb, ranked),
        rival=kb.causes[ranked.rival].says,
        test=cause.test,
        cautions=tuple(kb.cautions[c].says for c in cautions),
        minutes=remedy.minutes,
        who=who_says(remedy.who),
        access=access.says if access else "",
        steps=remedy.steps,
        parts=remedy.parts,
        tools=tuple(kb.tools[t] for t in remedy.tools),
        afterwards=tuple(kb.proofs[t] for t in remedy.touches),
        proof=cause.proof,
        proof_minutes=cause.proof_minutes,
        hides_fault=remedy.hides_fault,
        source=kb.sources[cause.source].cite,
    )


def _evidence(kb: KnowledgeBase, ranked: Ranked) -> tuple[Evidence, ...]:
    """The strongest for and against, as many of each as are worth a line."""
    noticed = [w for w in ranked.evidence if abs(w.decibans) >= NOTICEABLE_DECIBANS]
    both = [w for sign in (1, -1) for w in [w for w in noticed if w.decibans * sign > 0][:MOST_WEIGHTS]]
    return tuple(
        Evidence(f"{kb.findings[w.finding].says}: {state_says(kb, w.finding, w.state)}", w.decibans) for w in both
    )


def owed_of(kb: KnowledgeBase, session: Session) -> Owed | None:
    if session.pending is None:
        return None
    cause = kb.causes[session.pending.cause]
    return Owed(cause.says, cause.proof, cause.proof_minutes)


def proved_of(kb: KnowledgeBase, session: Session) -> str:
    """The cause whose repair was proved good last, unless another fault has been looked for since; or ''."""
    return kb.causes[session.mended.cause].says if session.mended else ""


def lines_of(kb: KnowledgeBase, session: Session) -> tuple[Line, ...]:
    ticks, left = {t.item: t for t in session.ticks}, {item.id for item in open_items(kb, session)}
    lines = []
    for item in checklist(kb, session):
        tick = ticks.get(item.id)
        done, reading = (tick.result, tick.reading) if tick else ("", "")
        lines.append(Line(item.id, item.says, item.why, item.protective, done, reading, item.id in left))
    return tuple(lines)


def ending_of(kb: KnowledgeBase, session: Session) -> Ending:
    out = session.outcome == "left_out"
    tag = f"OUT OF SERVICE - {session.reason} (date, name, phone). Do not switch to automatic." if out else ""
    still = tuple(item.says for item in open_items(kb, session)) if out else ()
    return Ending(ending_says(session.outcome), session.reason, tag, still)


def sheet_of(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> Sheet:
    kb, sheet = reasoner.kb, dispatch(reasoner, session, conclusion)
    people = ("a licensed electrician",) if sheet.electrician else ()
    return Sheet(
        tuple((kb.cautions[o].says, kb.cautions[o].tag) for o in sheet.stop_work),
        tuple((kb.causes[c].says, p) for c, p in sheet.causes),
        tuple((b.says, "part" if b.part else "tool", b.wanted) for b in sheet.bring),
        tuple(kb.checks[c].ask for c in sheet.first_checks),
        (*(kb.access[g].says for g in sheet.access), *people),
        tuple(kb.cautions[c].says for c in sheet.cautions),
    )


def must_name_prover(kb: KnowledgeBase, session: Session) -> bool:
    """Whether a call can only end as solved when somebody on site proves a protective function."""
    return touched_protection(kb, session)
