"""Several looks at one place in one go: all as it should be, or the numbers of what is not."""

import re
from collections.abc import Iterable
from typing import Protocol

from diagnose.core.looks import normal
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Check
from diagnose.present.looks import LookRound, looks_of
from diagnose.session.events import Event, Reply
from diagnose.session.parse import spoken_for
from diagnose.session.state import Session
from diagnose.terminal import draw
from diagnose.terminal.ask import Asker, GoBack
from diagnose.terminal.commands import COMMANDS, EVERY, command_in, word, words
from diagnose.terminal.hearing import hear, hears_nothing
from diagnose.terminal.reader import ROUND
from diagnose.terminal.screen import Screen
from diagnose.words import say


class LookingRound(Protocol):
    """The visit on which one looks round."""

    reasoner: Reasoner
    session: Session
    screen: Screen
    asker: Asker
    singly: bool

    def send(self, event: Event) -> bool:
        """Whether the event was put on disk; the session has moved on then."""

    def command(self, command: str, rest: str, conclusion: Conclusion, topic: str = "") -> bool:
        """Carry out a command that may be typed at any time; True when the session changed."""

    def told_before(self, check: Check, opened: bool = False) -> object:
        """Tell what comes before a check, its cautions above all."""

    def ask_alone(self, check: Check, conclusion: Conclusion) -> None:
        """Ask one check by itself until it is answered."""


def look_round(visit: LookingRound, conclusion: Conclusion) -> bool:
    """Ask the next check and those beside it in one go. False: one at a time, from now on. Raises Leave."""
    found = looks_of(visit.reasoner.kb, visit.session, conclusion)
    if found is None or visit.singly:
        return False
    checks = [visit.reasoner.kb.checks[look.question.check] for look in found.looks]
    _draw(visit, found)
    while True:
        typed = visit.asker.line([*words(("ok", "one")), *words(EVERY)], topic=ROUND)
        if is_word(typed, "one"):
            visit.singly = True
            return False
        if (wrong := _numbers(typed, len(checks))) is not None:
            _take(visit, checks, wrong, conclusion)
            return True
        if other(visit, typed, conclusion, _how(), _unheard()):
            return True


def _draw(visit: LookingRound, found: LookRound) -> None:
    tell_before(visit, [look.question.check for look in found.looks])
    visit.screen.line(say("terminal.look_round", minutes=found.minutes), "bold")
    if found.stand:
        visit.screen.line(found.stand)
    visit.screen.numbered(say("terminal.look_line", asked=k.question.asked, well=k.well) for k in found.looks)
    visit.screen.line(_how())


def tell_before(visit: LookingRound, checks: Iterable[str]) -> None:
    """What comes before each; all of them stand behind one cover."""
    visit.screen.line()
    for number, check in enumerate(checks):
        visit.told_before(visit.reasoner.kb.checks[check], number > 0)


def _how() -> str:
    return say("terminal.look_round_how", ok=word("ok"), one=word("one"))


def is_word(typed: str, command: str) -> bool:
    """Whether that word of a round was typed."""
    return typed.strip().casefold() in spoken_for(f"terminal.words_{command}")


def _numbers(typed: str, most: int) -> frozenset[int] | None:
    """The numbers of what is not as it should be; None where the line says something else."""
    if is_word(typed, "ok"):
        return frozenset()
    parts = [part for part in re.split(r"[\s,;]+", typed.strip()) if part]
    numbers = [int(part) for part in parts if part.isascii() and part.isdigit() and len(part) < 3]
    fits = bool(parts) and len(numbers) == len(parts) and all(1 <= n <= most for n in numbers)
    return frozenset(numbers) if fits else None


def _take(visit: LookingRound, checks: list[Check], wrong: frozenset[int], conclusion: Conclusion) -> None:
    """What is as it should be is answered at once; the others are asked one by one."""
    for number, check in enumerate(checks, start=1):
        if number not in wrong and not visit.send(Reply(check.id, normal(check))):
            return
    for number in sorted(wrong):
        visit.ask_alone(checks[number - 1], conclusion)


def _unheard() -> str:
    return say("terminal.round_heard_nothing", ok=word("ok"), one=word("one"))


def other(visit: LookingRound, typed: str, conclusion: Conclusion, how: str, unheard: str) -> bool:
    """A command, or words in which something is heard; whether that changed the visit. `how`: what can be typed;
    `unheard`: the same, for words that answer nothing."""
    command, rest = command_in(typed, COMMANDS)
    try:
        if command == "help":
            draw.draw_commands(visit.screen)
        elif command:
            return visit.command(command, rest, conclusion)
        elif typed and hear(visit, typed):
            return True
        elif typed and hears_nothing(visit, typed):
            visit.screen.line(unheard)
            return False
    except GoBack:
        visit.screen.line(say("terminal.went_back"))
    visit.screen.line(how)
    return False
