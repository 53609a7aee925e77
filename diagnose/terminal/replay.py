"""Scripts played through the terminal's own question loop: for a reader, for a transcript, for their events."""

import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.present.answers import answers_of
from diagnose.session.events import Event, Reply, TakeOver
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.store.scripts import Script, TakeOverScript, load_script
from diagnose.terminal.draw import draw_answers
from diagnose.terminal.reader import ROUND, ScriptReader
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit
from diagnose.words import say

TRANSCRIPT_WIDTH = 80


def _nothing(*_: object) -> None:
    """A replay leaves nothing on disk, and waits for nobody."""


@dataclass(frozen=True, slots=True)
class ScriptPlayer:
    """Who sees a script played. `pause` runs after every line, `keep` takes every event."""

    reasoner: Reasoner
    screen: Screen
    pause: Callable[[], None] = _nothing
    keep: Callable[[Event], None] = _nothing

    def play(self, path: Path) -> tuple[Session, Conclusion]:
        """Play a script to its end, over a hand-over where it has one. Raises VisitError."""
        script = load_script(path)
        try:
            session = self._begun(script)
        except DiagnoseError as error:
            raise VisitError(f"{path.name}: {error}") from error
        self._introduce(script, session)
        session = self._part(session, TakeOverScript(answers=script.answers, at_end=script.at_end))
        if script.taken_over:
            session = self._taken_over(session, script.taken_over)
        return session, conclude(self.reasoner, session)

    def _begun(self, script: Script) -> Session:
        session = self._sent(None, script.begin(self.reasoner.kb.digest))
        for check, value in script.first.items():
            session = self._sent(session, Reply(check, value))
        return session

    def _sent(self, session: Session | None, event: Event) -> Session:
        following = step(self.reasoner.kb, session, event)
        self.keep(event)
        return following

    def _introduce(self, script: Script, session: Session) -> None:
        self.screen.line(script.title, "bold")
        if script.invented:
            self.screen.line(say("terminal.invented"))
        if script.words:
            self.screen.line(say("terminal.in_their_words", words=script.words))
        self.screen.pair(say("present.complaint"), self.reasoner.kb.complaints[session.complaint].says)

    def _part(self, session: Session, part: TakeOverScript) -> Session:
        reader = ScriptReader(part.answers, part.at_end, self.screen.line, self.pause)
        visit = Visit(self.reasoner, session, self.screen, reader, self.keep)
        visit.singly = ROUND not in part.answers
        return visit.run()

    def _taken_over(self, session: Session, part: TakeOverScript) -> Session:
        """The visit file goes to a technician, who starts where the call ended."""
        setup = replace(session.setup, role="technician", electrician=part.electrician)
        following = self._sent(session, TakeOver(setup, say("terminal.in_the_van")))
        self.screen.heading(say("terminal.taken_over"))
        kb = self.reasoner.at(following.setup.gear).kb
        draw_answers(self.screen, answers_of(kb, following, conclude(self.reasoner, following)))
        return self._part(following, part)


def _paper() -> tuple[Screen, io.StringIO]:
    """A screen of fixed width without colour, and what is written on it."""
    text = io.StringIO()
    return Screen(text, TRANSCRIPT_WIDTH, plain=True), text


def played(reasoner: Reasoner, path: Path) -> tuple[Session, Conclusion]:
    """How a script ends, unseen. Raises VisitError."""
    return ScriptPlayer(reasoner, _paper()[0]).play(path)


def script_events(reasoner: Reasoner, path: Path) -> list[Event]:
    """Every event of a script, over a hand-over where it has one. Raises VisitError."""
    events: list[Event] = []
    ScriptPlayer(reasoner, _paper()[0], keep=events.append).play(path)
    return events


def transcript(reasoner: Reasoner, path: Path) -> str:
    """What is shown while a script is played: fixed width, no colour. Raises VisitError."""
    screen, text = _paper()
    ScriptPlayer(reasoner, screen).play(path)
    return text.getvalue()
