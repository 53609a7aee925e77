"""The sheet for whoever is sent: what is likely, what to bring, what to check first, whom and what else it takes."""

from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.answers import About, about
from diagnose.present.figures import percent
from diagnose.present.photos import photos_of
from diagnose.present.strip import Strip, known_of
from diagnose.session.caller import his_own, meanwhile
from diagnose.session.dispatch import Bring, dispatch
from diagnose.session.state import Session
from diagnose.session.summary import summarise
from diagnose.session.wording import answer_says, ask_text
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Sheet:
    """`orders`: stop-work that stands, (order, tag); `reason` why somebody goes; `answers` what is known, `photos`
    the pictures beside the visit, `strips` how the signal chain stands; `own` what the caller may have done,
    `meanwhile` what he was told."""

    about: About
    reason: str
    orders: tuple[tuple[str, str], ...]
    answers: tuple[str, ...]
    photos: tuple[str, ...]
    causes: tuple[str, ...]
    strips: tuple[Strip, ...]
    bring: tuple[str, ...]
    own: tuple[str, ...]
    meanwhile: tuple[str, ...]
    first_checks: tuple[str, ...]
    access: tuple[str, ...]
    cautions: tuple[str, ...]


def sheet_of(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> Sheet:
    kb, found = reasoner.kb, dispatch(reasoner, session, conclusion)
    people = (say("present.an_electrician"),) if found.electrician else ()
    return Sheet(
        about=about(kb, session),
        reason=session.reason,
        orders=tuple((kb.cautions[o].says, kb.cautions[o].tag) for o in found.stop_work),
        answers=_answered(kb, session),
        photos=tuple(photo.line for photo in photos_of(kb, session)),
        causes=tuple(f"{kb.causes[c].says} ({percent(p)})" for c, p in found.causes),
        strips=known_of(kb, session, conclusion),
        bring=tuple(map(_bring, found.bring)),
        own=tuple(r.cause.says for r, _ in his_own(session, conclusion, summarise(reasoner, session, conclusion))),
        meanwhile=meanwhile(kb, session, conclusion),
        first_checks=tuple(kb.checks[c].ask for c in found.first_checks),
        access=(*(kb.access[g].says for g in found.access), *people),
        cautions=tuple(kb.cautions[c].says for c in found.cautions),
    )


def _answered(kb: KnowledgeBase, session: Session) -> tuple[str, ...]:
    role, given = session.setup.role, [a for a in session.given if a.worth_showing]
    told = [(kb.checks[a.check], a) for a in given]
    return tuple(say("present.answered", asked=ask_text(c, role), said=answer_says(c, a, role)) for c, a in told)


def _bring(item: Bring) -> str:
    key = "present.bring_part" if item.part else "present.bring_tool"
    return say(key, says=item.says, percent=percent(item.wanted))
