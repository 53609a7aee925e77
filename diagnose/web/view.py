"""A visit as plain values for a page: the question, what came before it, what follows from it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from diagnose.calc.unit_table import BASES
from diagnose.core.reason import Conclusion, Reasoner, open_groups
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Answer
from diagnose.report.times import role_says
from diagnose.session.doubts import look_again, unfitting
from diagnose.session.law import barred_now, may_follow
from diagnose.session.parse import options_of
from diagnose.session.plain_facts import LAMP
from diagnose.session.session import conclude
from diagnose.session.state import Session
from diagnose.session.summary import cautions_for, shown_cautions, why_this_check
from diagnose.session.wording import answer_says, ask_text, likely_says, origin_says, state_says, why_says
from diagnose.web.visits import Opened
from diagnose.words import say

LEADERS = 5
AFTER_AN_ANSWER = 2  # causes named for each possible answer


@dataclass(frozen=True, slots=True)
class Likely:
    says: str
    probability: float
    words: str


@dataclass(frozen=True, slots=True)
class Given:
    """One answer of the list. `inherited`: it came with a hand-over and nobody has looked again since.

    `barred`: why whoever has the visit now cannot confirm it.
    """

    check: str
    asked: str
    said: str
    value: str
    origin: str
    counted: bool
    inherited: bool
    barred: str


@dataclass(frozen=True, slots=True)
class Order:
    """A stop-work order: in full until it is confirmed, then in short for as long as it stands."""

    says: str
    short: str
    tell: str
    tag: str
    confirmed: bool


@dataclass(frozen=True, slots=True)
class Doubt:
    """What does not fit, with the answers to look at again: (check, question)."""

    says: str
    again: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Prospect:
    says: str
    probability: float
    leaders: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Question:
    """A check as it is asked. `now` is the answer that is being changed; `unit` '' unless it is a reading."""

    check: str
    number: int
    asked: str
    stand: str
    minutes: float
    tools: tuple[str, ...]
    first: str
    cautions: tuple[str, ...]
    options: Mapping[str, str]
    wanted: str
    example: str
    help: str
    good: str
    bad: str
    known_cautions: tuple[str, ...]
    lamps: tuple[tuple[str, str], ...]
    source: str
    now: str
    barred: str  # why it may not be answered now, other than with 'don't know'
    picture: Markup  # a drawing that the knowledge check has found safe to inline


@dataclass(frozen=True, slots=True)
class Why:
    words: str
    minutes: float = 0.0
    saves: float = 0.0
    bits: float = 0.0
    separates: str = ""
    prospects: tuple[Prospect, ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """What every page of a visit shows."""

    name: str
    number: int
    complaint: str
    words: str
    site: str
    role: str
    help_desk: bool
    outcome: str
    trouble: tuple[str, ...]
    orders: tuple[Order, ...]
    cautions: tuple[str, ...]
    cautions_before: tuple[str, ...]
    doubts: tuple[Doubt, ...]
    answers: tuple[Given, ...]
    computed: tuple[str, ...]
    likely: tuple[Likely, ...]
    follow: Mapping[str, str]  # what may come next: '' or why not

    @property
    def alarming(self) -> bool:
        """Whether a warning at the top has to be seen before anything below it."""
        return bool(self.cautions) or not all(order.confirmed for order in self.orders)


def page_of(reasoner: Reasoner, opened: Opened, conclusion: Conclusion) -> Page:
    kb, session = reasoner.kb, opened.session
    cautions, before = _rule_cautions(reasoner, session, conclusion)
    return Page(
        name=opened.name,
        number=opened.number,
        complaint=kb.complaints[session.complaint].says,
        words=session.words,
        site=session.site,
        role=role_says(session),
        help_desk=session.setup.role == "help_desk",
        outcome=session.outcome,
        trouble=_trouble(kb, opened),
        orders=orders_of(kb, conclusion),
        cautions=cautions,
        cautions_before=before,
        doubts=_doubts(kb, session, conclusion),
        answers=answers_of(kb, opened, conclusion),
        computed=tuple(o.says for o in conclusion.known.outcomes.values()),
        likely=likely_of(kb, conclusion),
        follow=may_follow(kb, session),
    )


def question_of(kb: KnowledgeBase, session: Session, check: Check) -> Question:
    """A check as it is asked now, new or to be changed."""
    role, group, before = session.setup.role, kb.access.get(check.access), _cautions_of_others(kb, session, check)
    cautions, answer = cautions_for(kb, check), session.answer(check.id)
    shut = group and group.id not in open_groups(kb, session.given)
    base = BASES[check.unit] if check.kind == "quantity" else None
    asked = [*(a.check for a in session.given), check.id]
    return Question(
        check=check.id,
        number=asked.index(check.id) + 1,
        asked=ask_text(check, role),
        stand=check.stand if role == "help_desk" else "",
        minutes=check.minutes,
        tools=tuple(kb.tools[t] for t in check.tools),
        first=f"{group.says} (about {group.minutes:g} min)" if group and shut else "",
        cautions=tuple(kb.cautions[c].says for c in cautions if c not in before),
        options=options_of(check, role == "help_desk"),
        wanted=base.wanted if base else "",
        example=base.example if base else "",
        help=check.help,
        good=check.good,
        bad=check.bad,
        known_cautions=tuple(kb.cautions[c].says for c in cautions if c in before),
        lamps=_lamps(check, session),
        source=kb.sources[check.source].cite,
        now=answer_says(check, answer, role) if answer else "",
        barred=barred_now(kb, session, check.id),
        picture=Markup(kb.pictures[check.picture]) if check.picture else Markup(),
    )


def _cautions_of_others(kb: KnowledgeBase, session: Session, check: Check) -> frozenset[str]:
    """Cautions that came before other checks; before this one they come again whenever it is asked."""
    others = tuple(a for a in session.given if a.check != check.id)
    return shown_cautions(kb, replace(session, carried=(), answers=others))


def why_of(reasoner: Reasoner, conclusion: Conclusion) -> Why:
    """What the proposed check saves and what each answer would leave."""
    kb, following = reasoner.kb, conclusion.next
    gain = following.gain
    if gain is None:
        return Why(why_says(following.why))
    finding = kb.findings[gain.option.finding]
    prospects = tuple(
        Prospect(
            state_says(kb, finding.id, p.state),
            p.probability,
            tuple((kb.causes[c].says, chance) for c, chance in p.leaders[:AFTER_AN_ANSWER]),
        )
        for p in why_this_check(reasoner, conclusion)
    )
    return Why(why_says(following.why), gain.minutes, gain.saves, gain.bits, finding.says, prospects)


def likely_of(kb: KnowledgeBase, conclusion: Conclusion) -> tuple[Likely, ...]:
    return tuple(Likely(kb.causes[c].says, p, likely_says(p)) for c, p in conclusion.belief.ranked()[:LEADERS])


def answers_of(kb: KnowledgeBase, opened: Opened, conclusion: Conclusion) -> tuple[Given, ...]:
    session, mine = opened.session, opened.looked_at
    return tuple(_given(kb, session, a, a.check not in conclusion.stale, a.check not in mine) for a in session.given)


def _given(kb: KnowledgeBase, session: Session, answer: Answer, counted: bool, inherited: bool) -> Given:
    check, role = kb.checks[answer.check], session.setup.role
    value, origin = str(answer.value), origin_says(check, answer, role)
    said, barred = answer_says(check, answer, role), barred_now(kb, session, check.id) if inherited else ""
    return Given(check.id, ask_text(check, role), said, value, origin, counted, inherited, barred)


def orders_of(kb: KnowledgeBase, conclusion: Conclusion) -> tuple[Order, ...]:
    found = []
    for name in conclusion.stands:
        caution = kb.cautions[name]
        short = caution.short
        found.append(Order(caution.says, short, caution.tell, caution.tag, name not in conclusion.stop_work))
    return tuple(sorted(found, key=lambda order: order.confirmed))


def _trouble(kb: KnowledgeBase, opened: Opened) -> tuple[str, ...]:
    """What is wrong with the file, and what the present knowledge does not allow any more."""
    damage = opened.found.damage
    kept = "When you go on, the damaged end is cut off and a copy of the damaged file is kept beside it."
    changed = "The knowledge has changed since this visit began; conclusions are drawn from the present one."
    return (
        *([f"{damage}. {kept}"] if damage else []),
        *([changed] if opened.session.digest != kb.digest else []),
        *opened.told,
    )


def _rule_cautions(
    reasoner: Reasoner, session: Session, conclusion: Conclusion
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Cautions that rules raised: those that the last answer brought, and those from before."""
    kb, now = reasoner.kb, conclusion.after.cautions
    if not now:
        return (), ()
    earlier = _without_last(session)
    before = conclude(reasoner, earlier).after.cautions if earlier else ()
    told = (tuple(kb.cautions[c].says for c in now if (c in before) is known) for known in (False, True))
    return next(told), next(told)


def _without_last(session: Session) -> Session | None:
    return replace(session, answers=session.answers[:-1]) if session.answers else None


def _doubts(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> tuple[Doubt, ...]:
    """Answers that contradict each other; the most surprising when all fit badly, else the one that fits worst."""
    found = []
    for rule in conclusion.after.contradictions:
        if doubt := kb.rules[rule].then.contradiction:
            found.append(Doubt(doubt.says, _again(kb, session, doubt.recheck)))
    if surprising := unfitting(kb, conclusion):
        found.append(Doubt(say("present.unfitting"), _again(kb, session, [d.check for d in surprising])))
    elif misfit := look_again(kb, conclusion):
        says = f"One answer does not fit the others (wrong with {misfit.wrong:.0%} by the numbers)."
        found.append(Doubt(says, _again(kb, session, (misfit.check,))))
    return tuple(found)


def _again(kb: KnowledgeBase, session: Session, checks: Sequence[str]) -> tuple[tuple[str, str], ...]:
    role = session.setup.role
    return tuple((a.check, ask_text(kb.checks[a.check], role)) for a in session.given if a.check in checks)


def _lamps(check: Check, session: Session) -> tuple[tuple[str, str], ...]:
    """What the lamps of this very device mean, where its profile says so."""
    if "lamp" not in check.ask.casefold():
        return ()
    profile = session.setup.profile.items()
    return tuple((name.removeprefix(LAMP), str(says)) for name, says in profile if name.startswith(LAMP))
