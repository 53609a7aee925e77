"""The first lesson as it is shown: a link with its drawing and readings, the same broken, and a question."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.core.reason import Reasoner
from diagnose.kb.picture_words import words_in
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.named import WalkStep, WorkedGate
from diagnose.model.visit import Answer
from diagnose.practice.exercise import Exercise, advance, begin
from diagnose.practice.walk import gate_for, moves_of, standing_at
from diagnose.practice.wording import move_says
from diagnose.present.practice import shown_of
from diagnose.present.strip import Strip, strips_with
from diagnose.session.wording import answer_says
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Seen:
    """A check with what it shows, and how it is done."""

    asked: str
    said: str
    how: str


@dataclass(frozen=True, slots=True)
class WalkPage:
    """One link. `drawing`: what its picture (SVG, '' for none) shows, in words; `right` counts from 1."""

    title: str
    tells: str
    picture: str
    drawing: tuple[str, ...]
    sound: tuple[Seen, ...]
    sound_strips: tuple[Strip, ...]
    breaks: str
    broken: tuple[Seen, ...]
    broken_strips: tuple[Strip, ...]
    ask: str
    answers: tuple[str, ...]
    right: int
    because: str


@dataclass(frozen=True, slots=True)
class WorkedStep:
    """One step done for the trainee: why, what was done, what it showed."""

    why: str
    did: str
    found: tuple[str, ...]


def walk_pages(kb: KnowledgeBase) -> tuple[WalkPage, ...]:
    """The walk along the chain, link by link."""
    return tuple(_page(kb, number, step) for number, step in enumerate(kb.walk.values(), start=1))


def _page(kb: KnowledgeBase, number: int, step: WalkStep) -> WalkPage:
    picture = kb.pictures.get(step.picture, "")
    sound, broken = (strips_with(kb, standing_at(kb, step, broken)) for broken in (False, True))
    return WalkPage(
        title=say("practice.walk_title", number=number, of=len(kb.walk), link=kb.links[step.link].says),
        tells=step.tells,
        picture=picture,
        drawing=words_in(picture)[:2] if picture else (),
        sound=_seen(kb, step.sound),
        sound_strips=sound,
        breaks=step.breaks,
        broken=_seen(kb, step.broken),
        broken_strips=broken,
        ask=step.ask,
        answers=step.answers,
        right=step.right,
        because=step.because,
    )


def _seen(kb: KnowledgeBase, shows: Mapping[str, str | float]) -> tuple[Seen, ...]:
    checks = [(kb.checks[name], value) for name, value in shows.items()]
    values = ((check, value if isinstance(value, str) else float(value)) for check, value in checks)
    return tuple(Seen(c.ask, answer_says(c, Answer(c.id, value), "technician"), c.help) for c, value in values)


def heading_of(kb: KnowledgeBase, example: WorkedGate) -> str:
    """The complaint of an example, with the words it was told in."""
    return say("practice.example_told", complaint=kb.complaints[example.complaint].says, words=example.words)


def worked_steps(reasoner: Reasoner, example: WorkedGate) -> tuple[tuple[WorkedStep, ...], Exercise]:
    """What is done for the trainee, and the exercise as it stands then."""
    exercise, steps = begin(reasoner, gate_for(reasoner, example)), list[WorkedStep]()
    for move, why in moves_of(example):
        before, exercise = exercise, advance(reasoner, exercise, move)
        steps.append(WorkedStep(why, move_says(reasoner.kb, move), _found(reasoner.kb, before, exercise)))
    return tuple(steps), exercise


def _found(kb: KnowledgeBase, before: Exercise, after: Exercise) -> tuple[str, ...]:
    return tuple(
        say("present.answered", asked=s.asked, said=s.said) if s.beside else s.said
        for s in shown_of(kb, before, after)
    )
