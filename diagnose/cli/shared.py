"""What several commands need: the knowledge, a reasoner, a screen, a visit, as the options have them."""

import argparse
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

from diagnose.core.reason import Reasoner
from diagnose.errors import KnowledgeError, VisitError
from diagnose.kb.cache import load_knowledge
from diagnose.kb.files import shipped_folder
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.notices import own_says
from diagnose.session.session import salvage
from diagnose.session.state import Session
from diagnose.store import learned_place, visits
from diagnose.store.journal import Journal
from diagnose.store.photos import keep
from diagnose.store.recover import Recovered
from diagnose.terminal.reader import Reader
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit
from diagnose.words import say


def folder_of(args: argparse.Namespace) -> Path:
    """The folder of the knowledge that is used. Raises KnowledgeError."""
    folder = Path(args.knowledge) if args.knowledge else shipped_folder("knowledge")
    if not folder.is_dir():
        raise KnowledgeError(say("cli.no_knowledge", folder=folder))
    return folder


def knowledge_of(args: argparse.Namespace) -> KnowledgeBase:
    """Raises KnowledgeError with every problem."""
    return load_knowledge(folder_of(args))


def reasoner_of(args: argparse.Namespace) -> Reasoner:
    """Reasons with learned frequencies where they were switched on; says so when they do not fit the knowledge."""
    kb, weights = knowledge_of(args), None
    if learned_place.switched_on():
        from diagnose.store.learned import Overlay  # needs pydantic, which no other start does

        try:
            weights = Overlay().weights(kb)
        except VisitError as error:
            print(say("cli.experts_frequencies", why=error), file=sys.stderr)
    return Reasoner(kb, weights=weights)


def screen_of(args: argparse.Namespace) -> Screen:
    """The terminal, as wide and as plain as wanted."""
    return Screen(width=args.width or None, plain=args.plain)


def sensors_of(args: argparse.Namespace) -> tuple[str, ...]:
    """The sensor kinds of --sensors, by comma or blank, as they were typed."""
    return tuple((args.sensors or "").replace(",", " ").split())


def visits_of(args: argparse.Namespace) -> Path:
    """The folder of visits."""
    return visits.visits_folder(args.visits)


def visit_of(args: argparse.Namespace) -> Path:
    """The file of the visit that is named. Raises VisitError."""
    return visits.find(visits_of(args), args.name)


def salvaged(
    reasoner: Reasoner, path: Path, found: Recovered, tell: Callable[[str], None]
) -> tuple[Reasoner, Session]:
    """The session of a visit file, with the reasoner for its gate.

    Says what is damaged or missing in the file, when the knowledge has changed since, and what no longer fits it.
    """
    if not found.events:
        raise VisitError(found.says(path.name) or say("cli.nothing_saved", path=path))
    if says := found.says(path.name):
        tell(says)
    session, told = salvage(reasoner.kb, found.events)
    if session.digest != reasoner.kb.digest:
        tell(say("present.knowledge_changed"))
    for sentence in told:
        tell(sentence)
    return reasoner.at(session.setup.gear), session


def carry_on(reasoner: Reasoner, session: Session, journal: Journal, screen: Screen, reader: Reader) -> None:
    """Ask and answer until the person leaves; every event is on disk before the next question."""
    if says := own_says(reasoner.kb):
        screen.line(says, "bold")
    visit = Visit(reasoner, session, screen, reader, journal.append)
    visit.keep = partial(keep, journal.path)
    visit.run()
    screen.line(say("cli.visit", name=journal.path.stem))
