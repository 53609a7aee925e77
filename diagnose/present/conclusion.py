"""A conclusion that fits one screen, and what unfolds from it: each cause with its evidence and its remedy."""

from collections.abc import Collection
from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.present.caller import ForCaller, for_caller
from diagnose.present.cautions import Cautions, before_remedy, before_test
from diagnose.present.figures import minutes, percent, weight
from diagnose.present.reasons import seen_says
from diagnose.present.strip import Strip, known_of
from diagnose.session.state import Session
from diagnose.session.summary import NOTICEABLE_DECIBANS, Ranked, Summary, summarise
from diagnose.session.wording import likely_says, who_says, why_says
from diagnose.words import say

MOST_WEIGHTS = 4  # for and against a cause each
MOST_STEPS = 4
MOST_PAIRS = 2


@dataclass(frozen=True, slots=True)
class ShownRemedy:
    """What to do about a cause. `facts` are minutes, who may do it and what is opened first; `warning` '' unless it
    only hides the fault."""

    facts: str
    warning: str
    steps: tuple[str, ...]
    parts: tuple[str, ...]
    tools: tuple[str, ...]
    proof: str
    afterwards: tuple[str, ...]
    cautions: Cautions


@dataclass(frozen=True, slots=True)
class Suspect:
    """One cause of the ranked list. `outside` stands for everything that is not on the list, and has no remedy.

    `speaks_for` and `speaks_against` weigh the evidence against `rival`. `plan` says how long mending and proving
    take, and who does it.
    """

    cause: str
    number: int
    says: str
    likely: str
    probability: float
    explain: str
    test: str
    test_cautions: Cautions
    plan: str
    remedy: ShownRemedy | None
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    rival: str
    source: str


@dataclass(frozen=True, slots=True)
class Result:
    """A conclusion. `suspects` most likely first; `notes` what has to be known before acting on it.

    `caller`: on the phone, what is for the caller; `strips`: how the signal chain stands; `together`: two faults at
    once; `order` in which remedies are worth trying. `statement` says what this is not.
    """

    title: str
    why: str
    notes: tuple[str, ...]
    caller: ForCaller | None
    suspects: tuple[Suspect, ...]
    strips: tuple[Strip, ...]
    together: tuple[str, ...]
    order: tuple[str, ...]
    statement: str

    @property
    def leader(self) -> Suspect:
        return self.suspects[0]


def result_of(reasoner: Reasoner, session: Session, conclusion: Conclusion, told: Collection[str] = ()) -> Result:
    """What the visit has come to; `told` are the cautions that were said before."""
    kb, summary = reasoner.kb, summarise(reasoner, session, conclusion)
    unfinished = bool(conclusion.next.check) and not session.concluded
    ranked, caller = enumerate(summary.ranked, start=1), for_caller(kb, session, conclusion, summary)
    own = caller is not None and bool(caller.own)
    return Result(
        title=say("present.so_far") if unfinished else say("present.conclusion"),
        why=_why(conclusion, unfinished),
        notes=(*_notes(session, summary), *(() if own else _handing_over(kb, session, conclusion, summary))),
        caller=caller,
        suspects=tuple(suspect_of(kb, number, r, told, r.cause.id in conclusion.tried) for number, r in ranked),
        strips=known_of(kb, session, conclusion),
        together=tuple(_together(kb, causes, p) for causes, p in summary.pairs[:MOST_PAIRS]),
        order=_order(kb, summary),
        statement=say("present.no_conformity"),
    )


def _why(conclusion: Conclusion, unfinished: bool) -> str:
    if not conclusion.next.check:
        return why_says(conclusion.next.why)
    return say("present.not_concluded") if unfinished else say("present.you_concluded")


def _notes(session: Session, summary: Summary) -> tuple[str, ...]:
    found = {
        "nothing_fits": summary.outside,
        "designed": summary.designed,
        "nothing_stands_out": not summary.stands_out,
        "not_for_caller": session.setup.role == "help_desk",
    }
    return tuple(say(f"present.{name}") for name, holds in found.items() if holds)


def _handing_over(kb: KnowledgeBase, session: Session, conclusion: Conclusion, summary: Summary) -> tuple[str, ...]:
    """What is said when the tool knows no further: what was repaired in vain, and whom to give it to."""
    further = conclusion.next.check or summary.order or summary.outside or summary.designed
    if further and conclusion.next.why != "beyond":
        return ()
    failed = dict.fromkeys(r.cause for r in session.repairs if r.proof == "failed")
    good = [kb.causes[cause].says for cause in failed if cause in conclusion.worked]
    vain = [kb.causes[cause].says for cause in failed if cause not in conclusion.worked]
    tried = {"worked_but": good, "tried_in_vain": vain}
    says = (say(f"present.{key}", causes="; ".join(causes)) for key, causes in tried.items() if causes)
    return (*says, say("present.hand_over"))


def _together(kb: KnowledgeBase, causes: Collection[str], probability: float) -> str:
    both = f" {say('present.and')} ".join(kb.causes[c].says for c in causes)
    return say("present.together", causes=both, percent=percent(probability))


def _order(kb: KnowledgeBase, summary: Summary) -> tuple[str, ...]:
    if len(summary.order) < 2:
        return ()
    causes = [kb.causes[c] for c in summary.order[:MOST_STEPS]]
    steps = [say("present.order_step", cause=c.says, minutes=minutes(_in_all(c))) for c in causes]
    return (*steps, say("present.call_specialist"))


def _in_all(cause: Cause) -> float:
    return cause.remedy.minutes + cause.proof_minutes


def suspect_of(
    kb: KnowledgeBase, number: int, ranked: Ranked, told: Collection[str] = (), tried: bool = False
) -> Suspect:
    """One cause with everything that unfolds from it. `tried`: its repair did not end the trouble."""
    cause, outside = ranked.cause, ranked.cause.id == kb.settings.outside_cause
    return Suspect(
        cause=cause.id,
        number=number,
        says=cause.says,
        likely=likely_says(ranked.probability),
        probability=ranked.probability,
        explain=cause.explain,
        test=cause.test,
        test_cautions=before_test(kb, cause, told),
        plan=say("present.plan_outside") if outside else say("present.plan_tried") if tried else _plan(cause),
        remedy=None if outside else remedy_of(kb, cause, told),
        speaks_for=_evidence(kb, ranked, 1),
        speaks_against=_evidence(kb, ranked, -1),
        rival=say("present.weighed_against", rival=kb.causes[ranked.rival].says),
        source=kb.sources[cause.source].cite,
    )


def _plan(cause: Cause) -> str:
    remedy = cause.remedy
    return say(
        "present.plan", mend=minutes(remedy.minutes), prove=minutes(cause.proof_minutes), who=who_says(remedy.who)
    )


def remedy_of(kb: KnowledgeBase, cause: Cause, told: Collection[str] = ()) -> ShownRemedy:
    """The remedy for a cause, with the cautions before it."""
    remedy, access = cause.remedy, kb.access.get(cause.remedy.access)
    facts = say("present.remedy_facts", minutes=minutes(remedy.minutes), who=who_says(remedy.who))
    return ShownRemedy(
        facts=say("present.after_opening", facts=facts, opening=access.says) if access else facts,
        warning=say("present.hides_fault") if remedy.hides_fault else "",
        steps=remedy.steps,
        parts=remedy.parts,
        tools=tuple(kb.tools[t] for t in remedy.tools),
        proof=say("present.proof_takes", proof=cause.proof, minutes=minutes(cause.proof_minutes)),
        afterwards=tuple(kb.proofs[t].says for t in remedy.touches),
        cautions=before_remedy(kb, cause, told),
    )


def _evidence(kb: KnowledgeBase, ranked: Ranked, sign: int) -> tuple[str, ...]:
    """The strongest for (1) or against (-1), as many as are worth a line."""
    noticed = [w for w in ranked.evidence if w.decibans * sign >= NOTICEABLE_DECIBANS]
    return tuple(
        say("present.weighs", says=seen_says(kb, w.finding, w.state), weight=weight(w.decibans))
        for w in noticed[:MOST_WEIGHTS]
    )
