"""A check as it is asked now: the question, what comes before it, how it is done."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from diagnose.calc.unit_table import BASES, RESISTANCE
from diagnose.core.asking import open_groups
from diagnose.model.gear import key_of, plain
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.present.cautions import Cautions, before_check, told_before
from diagnose.present.figures import minutes
from diagnose.present.profile import lamp_says
from diagnose.session.law import barred_now
from diagnose.session.parse import options_of
from diagnose.session.profile_facts import LAMP
from diagnose.session.state import Session
from diagnose.session.wording import answer_says, ask_text
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Reading:
    """What a quantity is asked in: 'a voltage', with an example, and both in one sentence.

    `keys`: what a phone should offer: 'decimal' where a bare number says it all, else 'text', which has a minus and
    letters: for kilo and mega, and for a meter that shows an open line.
    """

    wanted: str
    example: str
    says: str
    keys: Literal["decimal", "text"]


@dataclass(frozen=True, slots=True)
class Question:
    """A check as it is asked, with the number of its answer. `now` is what is changed; `reading` None for a choice.

    `first` is what has to be opened for it, `stand` where a caller stands; `costs` minutes and tools;
    `barred` why it may not be answered now, other than with 'don't know'.
    """

    check: str
    number: int
    asked: str
    first: str
    cautions: Cautions
    stand: str
    costs: tuple[str, ...]
    options: Mapping[str, str]
    reading: Reading | None
    now: str
    barred: str


@dataclass(frozen=True, slots=True)
class Help:
    """How a check is done. `lamps`: what each lamp of this very device looks like, (name, words); SVG `picture`."""

    says: str
    good: str
    bad: str
    cautions: tuple[str, ...]
    lamps: tuple[tuple[str, str], ...]
    source: str
    picture: str


def question_of(kb: KnowledgeBase, session: Session, check: Check, told: Collection[str] | None = None) -> Question:
    """A check as it is asked now, new or to be changed. `told`: cautions said before, by default with others."""
    group, answer = kb.access.get(check.access), session.answer(check.id)
    shut = group and group.id not in open_groups(kb, session.given)
    said = told_with_others(kb, session, check) if told is None else told
    by_phone = session.setup.role == "help_desk"
    return Question(
        check=check.id,
        number=session.number(check.id),
        asked=ask_text(check, session.setup.role),
        first=say("present.first", opening=group.says, minutes=minutes(group.minutes)) if group and shut else "",
        cautions=before_check(kb, check, said),
        stand=say("present.stand", where=check.stand) if by_phone and check.stand else "",
        costs=(minutes(check.minutes), *(kb.tools[t] for t in check.tools)),
        options=options_of(check, by_phone),
        reading=_reading(check) if check.kind == "quantity" else None,
        now=answer_says(check, answer, session.setup.role) if answer else "",
        barred=barred_now(kb, session, check.id),
    )


def told_with_others(kb: KnowledgeBase, session: Session, check: Check) -> tuple[str, ...]:
    """Cautions that came before other checks; before this one they come again whenever it is asked."""
    others = tuple(a for a in session.given if a.check != check.id)
    return told_before(kb, replace(session, carried=(), answers=others))


def _reading(check: Check) -> Reading:
    base = BASES[check.unit]
    says = say("present.reading", wanted=base.wanted, example=base.example)
    bare = check.hard is not None and check.hard[0] >= 0 and base.kind is not RESISTANCE
    return Reading(base.wanted, base.example, says, "decimal" if bare else "text")


def help_of(kb: KnowledgeBase, session: Session, check: Check) -> Help:
    """How to do the check, what good and bad look like, its cautions, this device's lamps and the source."""
    cautions = before_check(kb, check, ())
    return Help(
        says=check.help,
        good=check.good,
        bad=check.bad,
        cautions=tuple(c.says for c in (*cautions.special, *cautions.general)),
        lamps=lamps_of(session, check),
        source=kb.sources[check.source].cite,
        picture=kb.pictures[check.picture] if check.picture else "",
    )


def lamps_of(session: Session, check: Check) -> tuple[tuple[str, str], ...]:
    """What the lamps of the device that the check is about mean, where its profile says so."""
    here = ((n, says) for n, says in session.setup.facts.items() if key_of(n) == key_of(check.id))
    lamps = ((plain(name).removeprefix(LAMP), str(says)) for name, says in here if name.startswith(LAMP))
    return tuple((say("present.lamp", name=lamp_says(lamp)), says) for lamp, says in lamps)
