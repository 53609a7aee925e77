"""One function per command; each returns an exit code."""

import argparse
import io
import json
import sys
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from diagnose.core.reason import Reasoner
from diagnose.errors import KnowledgeError, VisitError, printable
from diagnose.kb.cache import load_knowledge
from diagnose.kb.files import shipped_folder
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup, Value
from diagnose.present.answers import answers_of
from diagnose.present.notices import orders_of
from diagnose.session.events import Begin
from diagnose.session.plain import as_plain
from diagnose.session.session import conclude, require_devices, salvage, step
from diagnose.session.state import Session
from diagnose.store import visits
from diagnose.store.journal import Journal, Recovered, read
from diagnose.terminal.ask import Asker, Leave
from diagnose.terminal.begin import ask_begin
from diagnose.terminal.draw import draw_answers, draw_orders
from diagnose.terminal.reader import Reader, choose_reader, on_terminal, wait_for_enter
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit
from diagnose.words import say

EARLIER = 3  # visits to the same site that are shown when one begins
TOUR = "ghost_in_rain.yaml"


def folder_of(args: argparse.Namespace) -> Path:
    folder = Path(args.knowledge) if args.knowledge else shipped_folder("knowledge")
    if not folder.is_dir():
        raise KnowledgeError(f"there is no knowledge folder {folder}")
    return folder


def knowledge_of(args: argparse.Namespace) -> KnowledgeBase:
    return load_knowledge(folder_of(args))


def reasoner_of(args: argparse.Namespace) -> Reasoner:
    """Reasons with learned frequencies where they were switched on; says so when they do not fit the knowledge."""
    from diagnose.store import learned_place

    kb, weights = knowledge_of(args), None
    if learned_place.switched_on():
        from diagnose.store.learned import Overlay

        try:
            weights = Overlay().weights(kb)
        except VisitError as error:
            print(f"going on with the expert's frequencies: {error}", file=sys.stderr)
    return Reasoner(kb, weights=weights)


def screen_of(args: argparse.Namespace) -> Screen:
    return Screen(width=args.width or None, plain=args.plain)


def start(args: argparse.Namespace) -> int:
    """A new visit. The file is made once the opening questions are answered."""
    reader, screen = choose_reader(args.plain), screen_of(args)
    reasoner = reasoner_of(args)
    folder = visits.visits_folder(args.visits)
    asker, new_here = Asker(screen, reader), not folder.is_dir()
    draft = Begin(_setup(args, reasoner.kb), "", "", args.name or "", reasoner.kb.digest, str(uuid4()))
    require_devices(reasoner.kb, draft.setup.devices)
    visits.require_writable(folder)
    try:
        if new_here and on_terminal() and asker.agreed("First time here. Watch an invented visit first?"):
            return _tour(reasoner, screen, reader)
        screen.line(say("terminal.welcome"))
        begin = ask_begin(reasoner.kb, draft, _known(args), asker)
    except Leave:
        print("left before the visit began; nothing was saved", file=sys.stderr)
        return 2
    session = step(reasoner.kb, None, begin)
    _had_before(reasoner, folder, begin.site, screen)
    with Journal.create(folder, datetime.now()) as journal:
        journal.append(begin)
        Visit(reasoner, session, screen, reader, journal.append).run()
        screen.line(f"Visit: {journal.path.stem}")
    return 0


def _tour(reasoner: Reasoner, screen: Screen, reader: Reader) -> int:
    """An invented visit, answered by its script, at the reader's own pace."""
    from diagnose.replays import played  # needs YAML and pydantic, which no other start does

    played(reasoner, shipped_folder("transcripts_demo") / TOUR, screen, lambda: wait_for_enter(reader))
    screen.line("End of the invented visit. 'diagnose' starts one of your own.")
    return 0


def _had_before(reasoner: Reasoner, folder: Path, site: str, screen: Screen) -> None:
    """What earlier visits to this site found, newest first."""
    causes, complaints = reasoner.kb.causes, reasoner.kb.complaints
    for visit in visits.at_site(folder, site)[:EARLIER]:
        found = ", ".join(causes[c].says for c in visit.mended if c in causes) or "nothing proved"
        complaint = complaints[visit.complaint].says if visit.complaint in complaints else visit.complaint
        screen.hanging("BEFORE  ", f"This site had on {visit.began[:10]}: {complaint} - {found} ({visit.name})")


def _known(args: argparse.Namespace) -> list[str]:
    role = args.help_desk or args.technician or args.electrician
    return [name for name, given in (("role", role), ("devices", args.sensors is not None)) if given]


def _setup(args: argparse.Namespace, kb: KnowledgeBase) -> Setup:
    profile = _profile(args)
    devices = sensors_of(args)
    missing = (args.without or "").replace(",", " ").split()
    tools = frozenset(kb.tools) - set(missing) if missing else None
    if unknown := [t for t in missing if t not in kb.tools]:
        raise VisitError(f"unknown tool {unknown[0]!r}; known: {', '.join(kb.tools)}")
    return Setup("help_desk" if args.help_desk else "technician", args.electrician, tools, devices, profile)


def sensors_of(args: argparse.Namespace) -> tuple[str, ...]:
    """The sensor kinds of --sensors, by comma or blank, as they were typed."""
    return tuple((args.sensors or "").replace(",", " ").split())


def _profile(args: argparse.Namespace) -> Mapping[str, Value]:
    given = [name for name in (args.device, args.site) if name]
    if not given:
        return {}
    from diagnose.store.profiles import profile_facts  # needs YAML

    return profile_facts(given)


def resume(args: argparse.Namespace) -> int:
    """Go on with a visit; a damaged end is cut off after a copy was kept."""
    screen, reasoner = screen_of(args), reasoner_of(args)
    path = visits.find(visits.visits_folder(args.visits), args.name)
    opened, found = Journal.reopen(path)
    with opened as journal:
        if found.damage:
            screen.line(f"{path.name}: {found.damage}. A copy of the damaged file lies beside it.", "bold")
        session = salvaged(reasoner, path, found, screen.line)
        draw_answers(screen, answers_of(reasoner.kb, session, conclude(reasoner, session)))
        Visit(reasoner, session, screen, choose_reader(args.plain), journal.append).run()
        screen.line(f"Visit: {journal.path.stem}")
    return 0


def salvaged(reasoner: Reasoner, path: Path, found: Recovered, say: Callable[[str], None]) -> Session:
    """The session of a visit file; says when the knowledge has changed since, and what no longer fits it."""
    if not found.events:
        raise VisitError(f"nothing was saved in {path}; 'diagnose' starts a new visit")
    session, told = salvage(reasoner.kb, found.events)
    if session.digest != reasoner.kb.digest:
        say("The knowledge has changed since this visit began; conclusions are drawn from the present one.")
    for sentence in told:
        say(sentence)
    return session


def list_visits(args: argparse.Namespace) -> int:
    """Visits, newest first."""
    screen, folder = screen_of(args), visits.visits_folder(args.visits)
    empty = True
    for visit in visits.listing(folder):
        empty = False
        state = "concluded" if visit.concluded else "open"
        complaint = visit.complaint.replace("_", " ")
        what = ", ".join(filter(None, (visit.site, complaint, f"{visit.answers} answers", state)))
        screen.hanging(f"{visit.name}  ", what + (f" - {visit.damage}" if visit.damage else ""))
    if empty:
        screen.line(f"No visits yet in {folder}.")
    return 0


def show(args: argparse.Namespace) -> int:
    """One visit: answers and what follows from them."""
    path = visits.find(visits.visits_folder(args.visits), args.name)
    return _show(reasoner_of(args), path, args.json, screen_of(args))


def _show(reasoner: Reasoner, path: Path, as_json: bool, screen: Screen) -> int:
    found = read(path)
    if found.damage:
        print(f"{printable(path.name)}: {found.damage}", file=sys.stderr)
    session = salvaged(reasoner, path, found, lambda text: print(text, file=sys.stderr))
    conclusion = conclude(reasoner, session)
    if as_json:
        print(json.dumps(as_plain(reasoner, session, conclusion), indent=1))
        return 0
    from diagnose.present.conclusion import result_of  # no question needs these
    from diagnose.terminal.result import draw_whole

    draw_answers(screen, answers_of(reasoner.kb, session, conclusion))
    draw_orders(screen, orders_of(reasoner.kb, conclusion))
    draw_whole(screen, result_of(reasoner, session, conclusion))
    return 0


def replay(args: argparse.Namespace) -> int:
    """Play scripts or visit files again; optionally compare with, or write, the transcript beside each script."""
    from diagnose.replays import differs, played, transcript

    reasoner, differing = Reasoner(knowledge_of(args)), 0
    for path in args.files:
        if path.suffix == ".visit":
            _show(reasoner, path, args.json, screen_of(args))
        elif args.refresh:
            _write(path.with_suffix(".txt"), transcript(reasoner, path))
        elif args.verify:
            differing += differs(reasoner, path)
        elif args.json:
            print(json.dumps(as_plain(reasoner, *played(reasoner, path, Screen(io.StringIO(), 80))), indent=1))
        else:
            played(reasoner, path, screen_of(args))
    return 1 if differing else 0


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, "utf-8")
    except OSError as error:
        raise VisitError(f"cannot write {path}: {error.strerror}") from error


def calculators(_: argparse.Namespace) -> int:
    """What the knowledge may compute."""
    from diagnose.calc.registry import CALCULATORS

    for name, calculator in CALCULATORS.items():
        given = ", ".join([*calculator.required, *(f"{o}?" for o in calculator.optional)])
        print(f"{name}: {calculator.says}\n    ({given}) -> {', '.join(calculator.words)}")
    return 0


def calc(args: argparse.Namespace) -> int:
    """The calculators for use by hand."""
    from diagnose.terminal import calculate

    return calculate.run(args.words, screen_of(args), choose_reader(args.plain))


def paths(args: argparse.Namespace) -> int:
    """Where things lie."""
    print(f"visits:    {visits.visits_folder(args.visits)}")
    print(f"knowledge: {args.knowledge or shipped_folder('knowledge')}")
    return 0
