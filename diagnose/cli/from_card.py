"""`diagnose --from-card NUMBER`: a visit opened with the answers that a card's number stands for."""

import argparse
from datetime import datetime
from functools import partial
from uuid import uuid4

from diagnose.cards.numbers import DecodedNumber, events_of, open_leaf
from diagnose.cli.shared import carry_on, reasoner_of, screen_of, visits_of
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.answers import answers_of
from diagnose.session.session import conclude, replay
from diagnose.session.wording import ask_text
from diagnose.store.journal import Journal
from diagnose.store.profiles import profile_facts
from diagnose.store.visits import require_writable
from diagnose.terminal.draw import draw_answers
from diagnose.terminal.reader import choose_reader
from diagnose.terminal.screen import Screen
from diagnose.words import say


def run(args: argparse.Namespace) -> int:
    """A new visit that goes on where the card ended."""
    screen, reasoner = screen_of(args), reasoner_of(args)
    profile = profile_facts(filter(None, (args.device, args.site)))
    opened = open_leaf(Reasoner(reasoner.kb, partial(fixpoint, reasoner.kb)), args.from_card, profile)
    events = events_of(opened, reasoner.kb.digest, args.name or "", str(uuid4()))
    session = replay(reasoner.kb, events)
    folder = visits_of(args)
    require_writable(folder)
    with Journal.create(folder, datetime.now()) as journal:
        for event in events:
            journal.append(event)
        draw_answers(screen, answers_of(reasoner.kb, session, conclude(reasoner, session)))
        _ask_again(screen, reasoner.kb, opened)
        carry_on(reasoner, session, journal, screen, choose_reader(args.plain))
    return 0


def _ask_again(screen: Screen, kb: KnowledgeBase, opened: DecodedNumber) -> None:
    """What the number cannot carry, to be asked and corrected first."""
    checks = [a.check for a in opened.answers]
    for name in opened.ask:
        number = checks.index(name) + 1
        question = ask_text(kb.checks[name], opened.setup.role)
        screen.line(say("cli.ask_again", question=question, number=number), "bold")
