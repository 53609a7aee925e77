"""Commands over kept visits: record, history, learning, hand-over. Each returns an exit code."""

import argparse
from datetime import datetime
from itertools import zip_longest
from pathlib import Path

from diagnose.commands import knowledge_of, reasoner_of, salvaged, screen_of
from diagnose.errors import VisitError
from diagnose.model.visit import Setup
from diagnose.present.answers import answers_of
from diagnose.session.events import TakeOver
from diagnose.session.session import conclude, step
from diagnose.store import visits
from diagnose.store.atomic import SHARED, give_file, replace_file
from diagnose.store.journal import Journal, read
from diagnose.store.kept import kept_records
from diagnose.terminal.ask import Asker, Leave
from diagnose.terminal.draw import draw_answers
from diagnose.terminal.reader import choose_reader
from diagnose.terminal.visit import Visit


def record(args: argparse.Namespace) -> int:
    """Write the record of a visit: customer and full version, as HTML and JSON unless told otherwise."""
    from diagnose.report import html, pdf, plain
    from diagnose.report.build import records
    from diagnose.report.times import times_of
    from diagnose.store.records import write

    screen, reasoner = screen_of(args), reasoner_of(args)
    path = visits.find(visits.visits_folder(args.visits), args.name)
    found = read(path)
    session = salvaged(reasoner, path, found, screen.line)
    customer, full = records(reasoner, session, conclude(reasoner, session), times_of(found.events, found.times))
    drawers = {"html": html.render, "pdf": pdf.render, "json": plain.render}
    wanted = [ending for ending in drawers if getattr(args, ending)] or ["html", "json"]
    formats = {ending: drawers[ending] for ending in wanted}
    for written in write(customer, None if args.customer else full, Path(args.output), path.stem, formats):
        screen.line(str(written))
    return 0


def history(args: argparse.Namespace) -> int:
    """Search earlier visits; the visits in the folder are taken in first."""
    from diagnose.store.history.history import History
    from diagnose.terminal.history_commands import history as run

    kb = knowledge_of(args)
    with History(args.database) as kept:
        for visit in kept_records(kb, visits.visits_folder(args.visits).glob("*.visit")):
            kept.save(visit)
        return run(args, screen_of(args), kb, kept)


def learn(args: argparse.Namespace) -> int:
    """What confirmed visits teach about how common each cause is; switched on and off deliberately."""
    from diagnose.store.history.history import History
    from diagnose.store.learned import Overlay
    from diagnose.terminal.history_commands import learn_command, learn_off

    if args.off:
        return learn_off(screen_of(args), Overlay())
    kb = knowledge_of(args)
    with History(args.database) as kept:
        for visit in kept_records(kb, visits.visits_folder(args.visits).glob("*.visit")):
            kept.save(visit)
        return learn_command(args, screen_of(args), kb, kept, Overlay())


def hand_over(args: argparse.Namespace) -> int:
    """Copy a visit file for somebody else."""
    path = visits.find(visits.visits_folder(args.visits), args.name)
    if damage := read(path).damage:
        raise VisitError(f"{path.name}: {damage}; 'diagnose resume {path.stem}' mends it first")
    target = Path(args.output) if args.output else Path(path.name)
    target = target / path.name if target.is_dir() else target
    try:
        if target.exists() and target.samefile(path):
            raise VisitError(f"{target} is the visit itself; choose another place with -o FILE")
        replace_file(target, path.read_bytes(), SHARED)
    except OSError as error:
        raise VisitError(f"cannot write {target}: {error.strerror}; choose another place with -o FILE") from error
    screen_of(args).line(f"{target}: 'diagnose takeover {target.name}' opens it on another machine.")
    return 0


def take_over(args: argparse.Namespace) -> int:
    """Open a visit file that somebody handed over, in one's own role, with every answer to confirm or correct."""
    screen, reasoner = screen_of(args), reasoner_of(args)
    found = read(args.file)
    before = salvaged(reasoner, args.file, found, screen.line)
    setup = Setup("technician", args.electrician, None, before.setup.devices, before.setup.profile)
    event = TakeOver(setup, args.by)
    session = step(reasoner.kb, before, event)
    when = map(datetime.fromisoformat, found.times)
    copied = zip_longest((*found.events, event), when)
    with Journal.copied(visits.visits_folder(args.visits), datetime.now(), copied) as journal:
        draw_answers(screen, answers_of(reasoner.kb, session, conclude(reasoner, session)))
        screen.line("These answers came with the visit. Look for yourself; 'change 3' corrects one, with a trace.")
        Visit(reasoner, session, screen, choose_reader(args.plain), journal.append).run()
        screen.line(f"Visit: {journal.path.stem}")
    return 0


def profile(args: argparse.Namespace) -> int:
    """Make a device or site profile by asking."""
    from diagnose.terminal.profile_form import ask_profile

    screen, target = screen_of(args), Path(args.output or f"{args.kind}.yaml")
    if target.exists():
        raise VisitError(f"{target} exists already; choose another name with -o FILE")
    try:
        text = ask_profile(args.kind, screen, Asker(screen, choose_reader(args.plain)))
    except Leave:
        screen.line("Left; no profile was written.")
        return 2
    give_file(target, text.encode(), "-o FILE")
    screen.line(f"{target}: use it with 'diagnose --{args.kind} {target}'.")
    return 0
