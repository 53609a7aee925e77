"""A visit played from typed lines, and everything the screen showed."""

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from diagnose.errors import VisitError
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Event, Reply
from diagnose.session.session import replay, step
from diagnose.session.state import Session
from diagnose.terminal.commands import word
from diagnose.terminal.reader import ROUND
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit
from tests.shipped import begun, knowledge, reasoner

Line = str | type[BaseException]


class Typed:
    """A reader of prepared lines; an exception class among them is raised. The input ends with the lines."""

    def __init__(self, *lines: Line) -> None:
        self.lines = list(lines)
        self.topics: list[str] = []
        self.rounds = False  # otherwise looks are asked one at a time

    def read(
        self, prompt: str, words: Sequence[str] = (), check: Callable[[str], object] | None = None, topic: str = ""
    ) -> str:
        del prompt, words, check
        if topic == ROUND and not self.rounds:
            return word("one")
        self.topics.append(topic)
        line = self.lines.pop(0) if self.lines else EOFError
        if isinstance(line, str):
            return line.strip()
        raise line


@dataclass
class Played:
    """What came of it. `saved` holds the events in the order they were saved, the opening not included."""

    session: Session
    text: str
    saved: list[Event] = field(default_factory=list)
    left: int = 0

    def flat(self) -> str:
        """The text with every run of white space as one space, so that wrapping does not matter."""
        return " ".join(self.text.split())


def play(
    *lines: Line, session: Session | None = None, width: int = 80, full_disk_at: int = -1, rounds: bool = False
) -> Played:
    """Type the lines into a visit. `full_disk_at` makes that save fail once; `rounds`: not one look at a time."""
    out, saved, failed = io.StringIO(), list[Event](), list[int]()

    def save(event: Event) -> None:
        if len(saved) == full_disk_at and not failed:
            failed.append(1)
            raise VisitError("this could not be saved: no space; free some space")
        saved.append(event)

    start, reader = session or begun(), Typed(*lines)
    reader.rounds = rounds
    ended = Visit(reasoner(), start, Screen(out, width, plain=True), reader, save).run()
    assert ended == resumed(start, saved)
    return Played(ended, out.getvalue(), saved, len(reader.lines))


def opened(setup: Setup | None = None) -> Session:
    """A visit whose opening questions are answered: nobody touched, safe, in the wet."""
    session, kb = begun(setup=setup), knowledge()
    given = {"anyone_touched": "nobody", kb.settings.made_safe_check: "safe", "when_it_happens": "wet"}
    for check in kb.settings.opening:
        session = step(kb, session, Reply(check, given.get(check) or next(iter(kb.checks[check].options))))
    return session


def resumed(start: Session, events: Sequence[Event]) -> Session:
    """What a later 'resume' makes of the saved events."""
    if start.answers:
        session = start
        for event in events:
            session = step(knowledge(), session, event)
        return session
    opening = Begin(start.setup, start.complaint, start.words, start.site, start.digest)
    return replay(knowledge(), [opening, *events])
