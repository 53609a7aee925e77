"""What every page of a visit shows: the presenter's records, with the name and the number that its forms carry."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.answers import About, Answers, about, answers_of
from diagnose.present.cautions import SaidCaution, of_visit, raised_last, told_before
from diagnose.present.minutes import time_says
from diagnose.present.notices import Doubt, Order, doubts_of, orders_of, own_says
from diagnose.present.photos import ShownPhoto, photos_of
from diagnose.present.reasons import Likely, likely_of
from diagnose.present.strip import Strip, known_of
from diagnose.session.law import may_follow
from diagnose.web.visits import Opened
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Page:
    """`number` of events, so that a stale form is known; `trouble` with the file; `raised` by the last answer;
    `cautions` of the whole visit, to be read again; `follow`: what may come next, '' or why not;
    `lacking`: names of pictures that are not here; `by`: who has the visit."""

    name: str
    number: int
    about: About
    outcome: str
    trouble: tuple[str, ...]
    orders: tuple[Order, ...]
    raised: tuple[SaidCaution, ...]
    cautions: tuple[SaidCaution, ...]
    doubts: tuple[Doubt, ...]
    answers: Answers
    likely: tuple[Likely, ...]
    strips: tuple[Strip, ...]
    time: str
    follow: Mapping[str, str]
    photos: tuple[ShownPhoto, ...]
    lacking: frozenset[str]
    by: str

    @property
    def alarming(self) -> bool:
        """Whether a warning at the top has to be seen before anything below it."""
        return bool(self.raised) or not all(order.confirmed for order in self.orders)


def page_of(reasoner: Reasoner, opened: Opened, conclusion: Conclusion) -> Page:
    kb, session = reasoner.kb, opened.session
    told = dict.fromkeys((*told_before(kb, session), *conclusion.after.cautions))
    return Page(
        name=opened.name,
        number=opened.number,
        about=about(kb, session),
        outcome=session.outcome,
        trouble=_trouble(kb, opened),
        orders=orders_of(kb, conclusion),
        raised=raised_last(reasoner, session, conclusion),
        cautions=of_visit(kb, told),
        doubts=doubts_of(kb, session, conclusion),
        answers=answers_of(kb, session, conclusion, opened.looked_at),
        likely=likely_of(kb, conclusion),
        strips=known_of(kb, session, conclusion),
        time=time_says(kb, session, conclusion),
        follow=may_follow(kb, session),
        photos=photos_of(kb, session),
        lacking=opened.lacking,
        by=session.by,
    )


def _trouble(kb: KnowledgeBase, opened: Opened) -> tuple[str, ...]:
    """What is wrong with the file, and what the present knowledge does not allow any more."""
    damage = opened.found.says(f"{opened.name}.visit")
    return (
        *([damage] if damage else []),
        *([own_says(kb)] if kb.own else []),
        *([say("present.knowledge_changed")] if opened.session.digest != kb.digest else []),
        *opened.told,
    )
