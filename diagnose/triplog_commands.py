"""`diagnose triplog`: reads a trip log, asks what the file does not say, judges it, and adds it to a visit."""

import argparse
from collections.abc import Mapping
from pathlib import Path

from diagnose.commands import knowledge_of, reasoner_of, salvaged, screen_of
from diagnose.errors import SessionError
from diagnose.model.visit import Value
from diagnose.present.reasons import likely_of
from diagnose.session.events import Reply
from diagnose.session.law import may_follow, refusal
from diagnose.session.session import conclude, step
from diagnose.store import visits
from diagnose.store.atomic import SHARED, replace_file
from diagnose.store.journal import Journal, read
from diagnose.terminal import triplog as terminal
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.draw import draw_likely
from diagnose.terminal.reader import choose_reader, on_terminal
from diagnose.terminal.screen import Screen
from diagnose.triplog.episodes import GAP_S
from diagnose.triplog.grid import make_grid
from diagnose.triplog.judge import Verdict, judge
from diagnose.triplog.meaning import WHEN, answers
from diagnose.triplog.records import Log, TripLogError
from diagnose.triplog.sources import lags
from diagnose.triplog_files import Told, load
from diagnose.words import say

BY = "trip log"
_SHORTEST_GAP_S = 1.0


def triplog(args: argparse.Namespace) -> int:
    """Find the pattern; 0 also when there is none."""
    screen = screen_of(args)
    asker = Asker(screen, choose_reader(args.plain)) if on_terminal() else None
    kb, gap = knowledge_of(args), GAP_S if args.gap is None else args.gap
    if not gap >= _SHORTEST_GAP_S:
        raise TripLogError(f"--gap must be at least {_SHORTEST_GAP_S:g} second")
    facts, devices = _visit_facts(args)
    try:
        log, told = load(args, asker, facts)
    except (Leave, GoBack) as error:
        raise TripLogError("left before the log was read") from error
    with terminal.bar("tests") as done:
        verdict = judge(log, gap, lambda _: done(0.5))
    terminal.draw_read(screen, told.lines, told.bad)
    terminal.draw_verdict(screen, kb, verdict, devices)
    terminal.draw_plots(screen, log, make_grid(log, gap).episodes, lags(log, gap))
    terminal.draw_tests(screen, verdict)
    if args.html:
        _write_page(args.html, screen, log, verdict, told)
    return _into_visit(args, screen, verdict) if args.into else 0


def _visit_facts(args: argparse.Namespace) -> tuple[Mapping[str, Value], tuple[str, ...]]:
    """Profile and sensor kinds of the visit that the log goes into."""
    if not args.into:
        return {}, ()
    path = visits.find(visits.visits_folder(args.visits), args.into)
    session = salvaged(reasoner_of(args), path, read(path), lambda _: None)
    return session.setup.profile, session.setup.devices


def _into_visit(args: argparse.Namespace, screen: Screen, verdict: Verdict) -> int:
    """Answer what the log answers; every answer is on disk before the next."""
    reasoner = reasoner_of(args)
    opened, found = Journal.reopen(visits.find(visits.visits_folder(args.visits), args.into))
    with opened as journal:
        session = salvaged(reasoner, journal.path, found, screen.line)
        if why := may_follow(reasoner.kb, session)["reply"]:
            raise SessionError(why)
        given = {a.check: a.value for a in session.given if a.by != BY or a.check != WHEN}
        added = []
        for answer in answers(verdict, reasoner.kb, given):
            event = Reply(answer.check, answer.value, answer.sure, BY, answer.note)
            if no := refusal(reasoner.kb, session, event):
                screen.line(say("session.left_out", says=no.says))
                continue
            session = step(reasoner.kb, session, event)
            journal.append(event)
            added.append(answer)
        terminal.draw_answers_added(screen, reasoner.kb, added, journal.path.stem)
        draw_likely(screen, likely_of(reasoner.kb, conclude(reasoner, session)))
    screen.line("'diagnose resume' goes on with the visit.")
    return 0


def _write_page(path: Path, screen: Screen, log: Log, verdict: Verdict, told: Told) -> None:
    from diagnose.report.triplog_page import page

    try:
        replace_file(path, page(log, verdict, told.lines, told.bad), SHARED)
    except OSError as error:
        raise TripLogError(f"cannot write {path}: {error.strerror}; choose another place with --html FILE") from error
    screen.line(f"{path}: open it in a browser.")
