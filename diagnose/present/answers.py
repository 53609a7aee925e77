"""What the visit is about, and everything answered on it so far."""

from collections.abc import Collection
from dataclasses import dataclass, replace

from diagnose.core.reason import Conclusion
from diagnose.model.gear import key_of, plain
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Role, Value
from diagnose.present.reasons import computed_of
from diagnose.session.gear_words import gear_says
from diagnose.session.law import barred_now
from diagnose.session.state import Session
from diagnose.session.wording import answer_says, ask_text, origin_says
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class About:
    """What every screen of a visit tells: where, what is complained of, in whose words, who has the visit."""

    site: str
    complaint: str
    words: str
    role: str
    help_desk: bool
    gear: str = ""  # the devices by name, in a line; '' where none is named


@dataclass(frozen=True, slots=True)
class Given:
    """One answer of the list. `inherited`: it came with a hand-over and nobody has looked again since.

    `said` is the answer in words, `value` as it is kept; `barred`: why whoever has the visit now cannot confirm it.
    """

    check: str
    number: int
    asked: str
    said: str
    value: str
    origin: str
    counted: bool
    inherited: bool
    barred: str


@dataclass(frozen=True, slots=True)
class Answers:
    """Everything answered so far, numbered, with what calculations made of it.

    `aside`: answers about devices that are not named any more, one sentence each.
    """

    complaint: str
    given: tuple[Given, ...]
    computed: tuple[str, ...]
    aside: tuple[str, ...] = ()


def about(kb: KnowledgeBase, session: Session) -> About:
    setup = session.setup
    complaint = kb.complaints[session.complaint].says
    gear = gear_says(kb, setup.gear)
    return About(session.site, complaint, session.words, role_says(session), setup.role == "help_desk", gear)


def role_says(session: Session) -> str:
    """Who the visit is carried on by, in words."""
    if session.setup.electrician:
        return say("present.role_electrician")
    return say(f"present.role_{session.setup.role}")


def answers_of(
    kb: KnowledgeBase, session: Session, conclusion: Conclusion, looked_at: Collection[str] | None = None
) -> Answers:
    """`looked_at`: checks that whoever has the visit now answered or confirmed; None: all of them."""
    return Answers(
        complaint=kb.complaints[session.complaint].says,
        given=tuple(
            _given(kb, session, a, a.check not in conclusion.stale, looked_at)
            for a in sorted(session.given, key=lambda a: session.number(a.check))
        ),
        computed=computed_of(conclusion),
        aside=tuple(_aside(kb.base or kb, a, session.setup.role) for a in session.aside),
    )


def _aside(kb: KnowledgeBase, answer: Answer, role: Role) -> str:
    """An answer about a device that the knowledge of this gate does not have."""
    asked, said = kb.checks.get(plain(answer.check)), replace(answer, value=_plain_value(answer.value))
    device = (key_of(answer.check) or key_of(str(answer.value))).replace("_", " ") or say("present.the_sensor")
    text = f"{ask_text(asked, role)} {answer_says(asked, said, role)}" if asked else f"{answer.check}: {answer.value}"
    return say("present.put_aside", device=device, text=text)


def _plain_value(value: Value) -> Value:
    return plain(value) if isinstance(value, str) else value


def _given(
    kb: KnowledgeBase, session: Session, answer: Answer, counted: bool, looked_at: Collection[str] | None
) -> Given:
    check, role = kb.checks[answer.check], session.setup.role
    inherited = looked_at is not None and answer.check not in looked_at
    return Given(
        check=check.id,
        number=session.number(check.id),
        asked=ask_text(check, role),
        said=answer_says(check, answer, role),
        value=str(answer.value),
        origin=origin_says(check, answer, role),
        counted=counted,
        inherited=inherited,
        barred=barred_now(kb, session, check.id) if inherited else "",
    )
