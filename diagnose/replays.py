"""Scripts played through the terminal's own question loop, and the transcripts kept beside them."""

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import DiagnoseError, VisitError
from diagnose.present.answers import answers_of
from diagnose.session.events import Event, Reply, TakeOver
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.store.scripts import Part, load_script
from diagnose.terminal.draw import draw_answers
from diagnose.terminal.reader import ScriptReader
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit

TRANSCRIPT_WIDTH = 80
Pause = Callable[[], None] | None


def played(reasoner: Reasoner, path: Path, screen: Screen, pause: Pause = None) -> tuple[Session, Conclusion]:
    """Play a script to its end, over a hand-over where it has one. Raises VisitError."""
    script, kb = load_script(path), reasoner.kb
    try:
        session = step(kb, None, script.begin(kb.digest))
        for check, value in script.first.items():
            session = step(kb, session, Reply(check, value))
    except DiagnoseError as error:
        raise VisitError(f"{path.name}: {error}") from error
    screen.line(script.title, "bold")
    if script.invented:
        screen.line("(An invented site, device and visit.)")
    if script.words:
        screen.line(f'In the site\'s words: "{script.words}"')
    screen.line(f"Complaint: {kb.complaints[session.complaint].says}")
    session = _part(reasoner, session, Part(answers=script.answers, at_end=script.at_end), screen, pause)
    if script.taken_over:
        session = _taken_over(reasoner, session, script.taken_over, screen, pause)
    return session, conclude(reasoner, session)


def _part(reasoner: Reasoner, session: Session, part: Part, screen: Screen, pause: Pause) -> Session:
    reader = ScriptReader(part.answers, part.at_end, screen.line, pause)
    return Visit(reasoner, session, screen, reader, _unsaved).run()


def _taken_over(reasoner: Reasoner, session: Session, part: Part, screen: Screen, pause: Pause) -> Session:
    """The visit file goes to a technician, who starts where the call ended."""
    setup = replace(session.setup, role="technician", electrician=part.electrician)
    following = step(reasoner.kb, session, TakeOver(setup, "technician in the van"))
    screen.heading("Taken over by a technician at the gate")
    draw_answers(screen, answers_of(reasoner.kb, following, conclude(reasoner, following)))
    return _part(reasoner, following, part, screen, pause)


def _unsaved(event: Event) -> None:
    """A replay leaves nothing on disk."""


def transcript(reasoner: Reasoner, path: Path) -> str:
    """The rendered transcript of a script: fixed width, no colour."""
    text = io.StringIO()
    played(reasoner, path, Screen(text, TRANSCRIPT_WIDTH, plain=True))
    return text.getvalue()


def differs(reasoner: Reasoner, path: Path) -> int:
    """1 when the transcript beside the script is not what it gives now; says so either way."""
    beside = path.with_suffix(".txt")
    kept = beside.read_text("utf-8", "replace") if beside.is_file() else ""
    if transcript(reasoner, path) == kept:
        print(f"same: {path.name}")
        return 0
    print(f"DIFFERS: {path.name} from {beside.name}; 'diagnose replay --refresh {path}' writes it anew")
    return 1
