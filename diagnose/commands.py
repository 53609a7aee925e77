"""One function per command; each returns an exit code."""

import argparse
import io
import json
import sys
from datetime import datetime
from pathlib import Path

from diagnose.core.reason import Reasoner
from diagnose.errors import VisitError
from diagnose.kb.cache import load_knowledge
from diagnose.kb.files import shipped_folder
from diagnose.model.visit import Setup, Value
from diagnose.session.events import Event, Reply
from diagnose.session.plain import as_plain
from diagnose.session.session import Session, conclude, step
from diagnose.session.session import replay as fold
from diagnose.store import visits
from diagnose.store.journal import Journal, read
from diagnose.store.profiles import load_profile
from diagnose.terminal.begin import ask_begin
from diagnose.terminal.draw import draw_answers
from diagnose.terminal.reader import Reader, ScriptReader, choose_reader
from diagnose.terminal.result import draw_conclusion
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit

TRANSCRIPT_WIDTH = 80


def _reasoner(args: argparse.Namespace) -> Reasoner:
    folder = Path(args.knowledge) if args.knowledge else shipped_folder("knowledge")
    return Reasoner(load_knowledge(folder))


def _screen(args: argparse.Namespace) -> Screen:
    return Screen(width=args.width or None, plain=args.plain)


def start(args: argparse.Namespace) -> int:
    """A new visit."""
    reader, screen = choose_reader(args.plain), _screen(args)
    reasoner = _reasoner(args)
    folder = visits.visits_folder(args.visits)
    if _offer_tour(folder, screen, reader):
        return _replay_on(reasoner, shipped_folder("transcripts_demo") / "ghost_in_rain.yaml", screen)
    known = [word for word in ("devices",) if args.sensors is not None]
    known += ["role"] if args.help_desk or args.technician or args.electrician else []
    known += ["electrician"] if args.help_desk or args.technician or args.electrician else []
    screen.line("Vehicle-sensor troubleshooting. At any prompt: help, why, likely, ?, back, change, done, leave.")
    try:
        begin = ask_begin(reasoner.kb, _setup(args), args.name or "", known, screen, reader)
    except EOFError:
        print("no visit begun: the input ended before the complaint", file=sys.stderr)
        return 2
    journal = Journal.create(folder, datetime.now())
    return _go_on(reasoner, journal, [begin], screen, reader)


def _setup(args: argparse.Namespace) -> Setup:
    profile: dict[str, Value] = {}
    for name in filter(None, (args.device, args.site)):
        profile |= load_profile(name).facts
    devices = tuple(d for d in (args.sensors or "").replace(",", " ").split() if d)
    return Setup("help_desk" if args.help_desk else "technician", args.electrician, None, devices, profile)


def _offer_tour(folder: Path, screen: Screen, reader: Reader) -> bool:
    """On the very first run on a terminal: offer to watch an invented visit."""
    if not sys.stdin.isatty() or folder.is_dir():
        return False
    screen.line("First time here. Watch an invented visit first? (yes/no)")
    try:
        return reader.read("> ", ["yes", "no"]).casefold() in ("y", "yes")
    finally:
        folder.mkdir(parents=True, exist_ok=True)


def _go_on(reasoner: Reasoner, journal: Journal, events: list[Event], screen: Screen, reader: Reader) -> int:
    """Run a visit whose opening events are given; they are saved first when the file is new."""
    session: Session | None = None
    for event in events:
        session = step(reasoner.kb, session, event)
        journal.append(event)
    if session is None:
        raise VisitError("the visit has no events; start a new one")
    Visit(reasoner, session, screen, reader, journal.append).run()
    screen.line(f"Visit: {journal.path}")
    journal.close()
    return 0


def resume(args: argparse.Namespace) -> int:
    """Go on with a visit; a damaged end is cut off after a copy was kept."""
    screen, reasoner = _screen(args), _reasoner(args)
    path = visits.find(visits.visits_folder(args.visits), args.name)
    journal, found = Journal.reopen(path)
    if found.damage:
        screen.line(f"{path.name}: {found.damage}. A copy of the damaged file lies beside it.", "bold")
    session = fold(reasoner.kb, found.events)
    if session.digest != reasoner.kb.digest:
        screen.line("The knowledge has changed since this visit began; conclusions are drawn from the present one.")
    draw_answers(screen, reasoner.kb, session, conclude(reasoner, session))
    Visit(reasoner, session, screen, choose_reader(args.plain), journal.append).run()
    journal.close()
    return 0


def list_visits(args: argparse.Namespace) -> int:
    """Visits, newest first."""
    screen, folder = _screen(args), visits.visits_folder(args.visits)
    empty = True
    for visit in visits.listing(folder):
        empty = False
        state = "concluded" if visit.concluded else "open"
        what = ", ".join(filter(None, (visit.site, visit.complaint, f"{visit.answers} answers", state)))
        screen.hanging(f"{visit.name}  ", what + (f" - {visit.damage}" if visit.damage else ""))
    if empty:
        screen.line(f"No visits yet in {folder}.")
    return 0


def show(args: argparse.Namespace) -> int:
    """One visit: answers and what follows from them."""
    path = visits.find(visits.visits_folder(args.visits), args.name)
    return _show(_reasoner(args), path, args.json, _screen(args))


def _show(reasoner: Reasoner, path: Path, as_json: bool, screen: Screen) -> int:
    found = read(path)
    if found.damage:
        print(f"{path.name}: {found.damage}", file=sys.stderr)
    session = fold(reasoner.kb, found.events)
    conclusion = conclude(reasoner, session)
    if as_json:
        print(json.dumps(as_plain(reasoner, session, conclusion), indent=1))
        return 0
    draw_answers(screen, reasoner.kb, session, conclusion)
    draw_conclusion(screen, reasoner, session, conclusion)
    return 0


def replay(args: argparse.Namespace) -> int:
    """Play scripts or visit files again; optionally compare with, or write, the transcript beside each script."""
    reasoner, differing = _reasoner(args), 0
    for path in args.files:
        if path.suffix == ".visit":
            _show(reasoner, path, args.json, _screen(args))
        elif args.refresh:
            path.with_suffix(".txt").write_text(transcript(reasoner, path), "utf-8")
        elif args.verify:
            differing += _differs(reasoner, path)
        elif args.json:
            print(json.dumps(as_plain(reasoner, *_played(reasoner, path, Screen(io.StringIO(), 80))), indent=1))
        else:
            _replay_on(reasoner, path, _screen(args))
    return 1 if differing else 0


def _played(reasoner: Reasoner, path: Path, screen: Screen):  # type: ignore[no-untyped-def]
    from diagnose.store.scripts import load_script

    script = load_script(path)
    session = step(reasoner.kb, None, script.begin(reasoner.kb.digest))
    for check, value in script.first.items():
        session = step(reasoner.kb, session, Reply(check, value))
    screen.line(script.title, "bold")
    if script.invented:
        screen.line("(An invented site, device and visit.)")
    if script.words:
        screen.line(f'In the site\'s words: "{script.words}"')
    screen.line(f"Complaint: {reasoner.kb.complaints[session.complaint].says}")
    session = Visit(
        reasoner, session, screen, ScriptReader(script.answers, script.at_end, screen.line), _unsaved
    ).run()
    return session, conclude(reasoner, session)


def _unsaved(event: Event) -> None:
    """A replay leaves nothing on disk."""


def _replay_on(reasoner: Reasoner, path: Path, screen: Screen) -> int:
    _played(reasoner, path, screen)
    return 0


def transcript(reasoner: Reasoner, path: Path) -> str:
    """The rendered transcript of a script: fixed width, no colour."""
    text = io.StringIO()
    _played(reasoner, path, Screen(text, TRANSCRIPT_WIDTH, plain=True))
    return text.getvalue()


def _differs(reasoner: Reasoner, path: Path) -> int:
    beside = path.with_suffix(".txt")
    kept = beside.read_text("utf-8") if beside.is_file() else ""
    if transcript(reasoner, path) == kept:
        print(f"same: {path.name}")
        return 0
    print(f"DIFFERS: {path.name} from {beside.name}; 'diagnose replay --refresh {path}' writes it anew")
    return 1


def check(args: argparse.Namespace) -> int:
    """The knowledge check."""
    from diagnose.kb.check import main as check_folder

    return check_folder(args.folder or args.knowledge or str(shipped_folder("knowledge")))


def calculators() -> int:
    """What the knowledge may compute."""
    from diagnose.calc.registry import CALCULATORS

    for name, calculator in CALCULATORS.items():
        given = ", ".join([*calculator.required, *(f"{o}?" for o in calculator.optional)])
        print(f"{name}: {calculator.says}\n    ({given}) -> {', '.join(calculator.words)}")
    return 0


def paths(args: argparse.Namespace) -> int:
    """Where things lie."""
    print(f"visits:    {visits.visits_folder(args.visits)}")
    print(f"knowledge: {args.knowledge or shipped_folder('knowledge')}")
    return 0
