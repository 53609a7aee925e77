"""`diagnose start`, and `diagnose` alone: a new visit."""

import argparse
import sys
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from diagnose.cli.parser import visit_options
from diagnose.cli.shared import carry_on, reasoner_of, screen_of, sensors_of, visits_of
from diagnose.core.reason import Reasoner
from diagnose.errors import VisitError
from diagnose.kb.files import shipped_folder
from diagnose.model.gear import plain
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup, Value
from diagnose.session.events import Begin
from diagnose.session.gear_words import read_gear
from diagnose.session.regear import geared, with_papers
from diagnose.session.session import require_devices, step
from diagnose.store import visits
from diagnose.store.journal import Journal
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.begin import ask_begin
from diagnose.terminal.reader import Reader, choose_reader, on_terminal, wait_for_enter
from diagnose.terminal.screen import Screen
from diagnose.words import say

EARLIER = 3  # visits to the same site that are shown when one begins
TOUR = "ghost_in_rain.yaml"


def add_options(parser: argparse.ArgumentParser) -> None:
    visit_options(parser, again=True)


def run(args: argparse.Namespace) -> int:
    """A new visit, by questions or from the number of a field card."""
    if args.from_card:
        from diagnose.cli.from_card import run as opened  # cards need more than any other start

        return opened(args)
    return _asked(args)


def _asked(args: argparse.Namespace) -> int:
    """The file is made once the opening questions are answered."""
    reader, screen = choose_reader(args.plain), screen_of(args)
    reasoner = reasoner_of(args)
    folder = visits_of(args)
    asker, new_here = Asker(screen, reader), not folder.is_dir()
    draft = Begin(_setup(args, reasoner.kb), "", "", args.name or "", reasoner.kb.digest, str(uuid4()))
    require_devices(reasoner.kb, draft.setup.devices)
    papers = _papers(args)
    visits.require_writable(folder)
    try:
        tour, words = asker.agreed_or_said(say("cli.first_time")) if new_here and on_terminal() else (False, "")
        if tour:
            return _tour(reasoner, screen, reader)
        draft = replace(draft, words=words)
        screen.line(say("terminal.welcome"))
        begin = ask_begin(reasoner.kb, draft, _known(args), asker, visits.gear_at(reasoner.kb, folder, draft.site))
        begin = replace(begin, setup=with_papers(begin.setup, *papers))
    except (Leave, GoBack):
        print(say("cli.left_before"), file=sys.stderr)
        return 2
    session = step(reasoner.kb, None, begin)
    _had_before(reasoner, folder, begin.site, screen)
    with Journal.create(folder, datetime.now()) as journal:
        journal.append(begin)
        carry_on(reasoner, session, journal, screen, reader)
    return 0


def _tour(reasoner: Reasoner, screen: Screen, reader: Reader) -> int:
    """An invented visit, answered by its script, at the reader's own pace."""
    from diagnose.terminal.replay import ScriptPlayer  # needs YAML and pydantic, which no other start does

    ScriptPlayer(reasoner, screen, lambda: wait_for_enter(reader)).play(shipped_folder("transcripts_demo") / TOUR)
    screen.line(say("cli.tour_ended"))
    return 0


def _had_before(reasoner: Reasoner, folder: Path, site: str, screen: Screen) -> None:
    """What earlier visits to this site found, newest first."""
    causes, complaints = reasoner.kb.causes, reasoner.kb.complaints
    for visit in visits.at_site(folder, site)[:EARLIER]:
        mended = [causes[c].says for c in map(plain, visit.mended) if c in causes]
        found = ", ".join(mended) or say("cli.nothing_proved")
        complaint = complaints[visit.complaint].says if visit.complaint in complaints else visit.complaint
        screen.line(say("cli.had_before", day=visit.began[:10], complaint=complaint, found=found, name=visit.name))


def _known(args: argparse.Namespace) -> list[str]:
    role = args.help_desk or args.technician or args.electrician
    sensors = args.sensors is not None or args.gear is not None
    return [name for name, given in (("role", role), ("devices", sensors)) if given]


def _setup(args: argparse.Namespace, kb: KnowledgeBase) -> Setup:
    profile = _profile(args)
    devices = sensors_of(args)
    missing = (args.without or "").replace(",", " ").split()
    tools = frozenset(kb.tools) - set(missing) if missing else None
    if unknown := [t for t in missing if t not in kb.tools]:
        raise VisitError(say("cli.unknown_tool", name=unknown[0], known=", ".join(kb.tools)))
    setup = Setup("help_desk" if args.help_desk else "technician", args.electrician, tools, devices, profile)
    return geared(setup, read_gear(kb, args.gear or ""))


def _papers(args: argparse.Namespace) -> tuple[str, Mapping[str, Value]]:
    """The kind of sensor of --device, and the facts of its profile."""
    if not args.device:
        return "", {}
    from diagnose.store.profiles import load_profile, profile_facts  # needs YAML

    return load_profile(args.device).sensor, profile_facts([args.device])


def _profile(args: argparse.Namespace) -> Mapping[str, Value]:
    given = [name for name in (args.site,) if name]
    if not given:
        return {}
    from diagnose.store.profiles import profile_facts  # needs YAML

    return profile_facts(given)
