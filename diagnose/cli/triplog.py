"""`diagnose triplog`: reads a trip log, asks what the file does not say, judges it, and adds it to a visit."""

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path

from diagnose.calc.sun import Direction
from diagnose.cli.shared import knowledge_of, reasoner_of, salvaged, screen_of, visits_of
from diagnose.errors import SessionError
from diagnose.model.visit import Value
from diagnose.present.reasons import likely_of
from diagnose.session.events import Reply
from diagnose.session.law import may_follow, refusal
from diagnose.session.session import conclude, step
from diagnose.store.atomic import give_file
from diagnose.store.journal import Journal, read
from diagnose.store.profiles import profile_facts
from diagnose.store.visits import find
from diagnose.terminal import triplog as terminal
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.draw import draw_likely
from diagnose.terminal.reader import choose_reader, on_terminal
from diagnose.terminal.screen import Screen
from diagnose.terminal.triplog_files import LogFiles, load
from diagnose.triplog.episodes import GAP_S
from diagnose.triplog.grid import make_grid
from diagnose.triplog.judge import Verdict, judge
from diagnose.triplog.meaning import answers
from diagnose.triplog.records import Look, Place, TripLogError
from diagnose.triplog.sources import lags
from diagnose.triplog.words import KINDS
from diagnose.words import say

BY = "trip log"
_SHORTEST_GAP_S = 1.0


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help="CSV with a time column, usually an event and a sensor column")
    for flag, text in (
        ("--moves", "CSV where every row is a movement of the gate"),
        ("--passes", "CSV where every row is a vehicle"),
        ("--weather", "CSV with rain, wind, temperature, humidity or visibility"),
        ("--html", "write a page with plots here"),
    ):
        parser.add_argument(flag, type=Path, default=None, metavar="FILE", help=text)
    parser.add_argument("--zone", default="", help="time zone of the clock: +01:00, UTC, or a tz database name")
    parser.add_argument("--dates", default="", metavar="ORDER", help="ymd, dmy or mdy, where the file leaves it open")
    for column in ("time", "event", "sensor"):
        parser.add_argument(
            f"--{column}-column", default="", metavar="NAME", help=f"heading or number of the {column}"
        )
    parser.add_argument("--word", action="append", default=[], metavar="WORD=trip|move|pass|ignore")
    parser.add_argument("--unit", action="append", default=[], metavar="READING=UNIT", help="e.g. wind=km/h")
    parser.add_argument("--gap", type=float, default=None, metavar="SECONDS", help="trips so close are one episode")
    parser.add_argument("--site", default="", metavar="PROFILE", help="site profile: position")
    parser.add_argument("--device", default="", metavar="PROFILE", help="device profile: look direction")
    parser.add_argument("--position", default="", metavar="LATITUDE,LONGITUDE", help="degrees north and east")
    parser.add_argument(
        "--look", action="append", default=[], metavar="AZIMUTH[,ELEVATION]",
        help="where a device looks, degrees from true north and above level; give both units of a pair",
    )  # fmt: skip
    parser.add_argument(
        "--into", nargs="?", const="last", default="", metavar="VISIT",
        help="add what the log says to a visit as answers; without a name: the last",
    )  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Find the pattern; 0 also when there is none."""
    screen = screen_of(args)
    asker = Asker(screen, choose_reader(args.plain)) if on_terminal() else None
    kb, gap = knowledge_of(args), GAP_S if args.gap is None else args.gap
    if not gap >= _SHORTEST_GAP_S:
        raise TripLogError(f"--gap must be at least {_SHORTEST_GAP_S:g} second")
    facts, devices = _visit_facts(args)
    try:
        log, told = load(files_of(args, facts), asker)
    except (Leave, GoBack) as error:
        raise TripLogError("left before the log was read") from error
    with terminal.bar("tests") as done:
        verdict = judge(log, gap, lambda _: done(0.5))
    terminal.draw_read(screen, told.lines, told.bad)
    terminal.draw_verdict(screen, kb, verdict, devices)
    terminal.draw_plots(screen, log, make_grid(log, gap).episodes, lags(log, gap))
    terminal.draw_tests(screen, verdict)
    if args.html:
        from diagnose.report.triplog_page import page  # the pages' machinery is wanted only then

        give_file(args.html, page(kb, log, verdict, told.lines, told.bad), "--html FILE")
        screen.line(f"{args.html}: open it in a browser.")
    return _into_visit(args, screen, verdict) if args.into else 0


def _visit_facts(args: argparse.Namespace) -> tuple[Mapping[str, Value], tuple[str, ...]]:
    """Profile and sensor kinds of the visit that the log goes into."""
    if not args.into:
        return {}, ()
    path = find(visits_of(args), args.into)
    session = salvaged(reasoner_of(args), path, read(path), lambda _: None)
    return session.setup.profile, session.setup.devices


def _into_visit(args: argparse.Namespace, screen: Screen, verdict: Verdict) -> int:
    """Answer what the log answers; every answer is on disk before the next."""
    reasoner = reasoner_of(args)
    opened, found = Journal.reopen(find(visits_of(args), args.into))
    with opened as journal:
        session = salvaged(reasoner, journal.path, found, screen.line)
        if why := may_follow(reasoner.kb, session)["reply"]:
            raise SessionError(why)
        given = {a.check: a.value for a in session.given if a.by != BY or a.check != reasoner.kb.trip_log.when}
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


def files_of(args: argparse.Namespace, facts: Mapping[str, Value]) -> LogFiles:
    """What the options say of the files. Raises TripLogError."""
    columns = {c: v for c in ("time", "event", "sensor") if (v := getattr(args, f"{c}_column"))}
    return LogFiles(
        args.file,
        args.moves,
        args.passes,
        args.weather,
        zone=args.zone,
        words=_pairs(args.word, "word", str.casefold),
        columns=columns,
        dates={"dates": args.dates} if args.dates else {},
        units=_pairs(args.unit, "unit"),
        place=_place(args, facts),
    )


def _pairs(given: list[str], prefix: str, tidy: Callable[[str], str] = str) -> dict[str, str]:
    """'WORD=MEANING' options as answers to questions."""
    pairs = [text.rpartition("=") for text in given]
    if wrong := [text for text, (word, _, means) in zip(given, pairs, strict=True) if not word or not means]:
        raise TripLogError(f"--{prefix} needs NAME=VALUE, not {wrong[0]!r}")
    if prefix == "word" and (wrong := [means for _, _, means in pairs if means not in KINDS]):
        raise TripLogError(f"an event word means one of {', '.join(KINDS)}, not {wrong[0]!r}")
    return {f"{prefix} {tidy(word)}": means for word, _, means in pairs}


def _place(args: argparse.Namespace, facts: Mapping[str, Value]) -> Place | None:
    """The place from options, else from the profiles or the visit; None when the position is not known."""
    known = {**facts, **profile_facts(filter(None, (args.site, args.device)))}
    at = _numbers(args.position, 2, "--position")
    north, east = at or (known.get("site.latitude"), known.get("site.longitude"))
    directions = [_numbers(text, 2, "--look") for text in args.look]
    azimuth = known.get("device.look_azimuth_deg")
    if not directions and isinstance(azimuth, int | float):
        directions = [[float(azimuth), 0.0]]
    if not isinstance(north, int | float) or not isinstance(east, int | float):
        if args.look:
            raise TripLogError("--look needs the position of the gate too: --position LATITUDE,LONGITUDE")
        return None
    if not (-90 <= north <= 90 and -180 <= east <= 180):
        raise TripLogError("latitude runs from -90 to 90 and longitude from -180 to 180 degrees")
    looks = tuple(Look(_look_name(i, len(directions)), Direction(d[1], d[0])) for i, d in enumerate(directions))
    return Place(float(north), float(east), looks)


def _look_name(number: int, of: int) -> str:
    return "the device" if of == 1 else f"device {number + 1}"


def _numbers(text: str, most: int, option: str) -> list[float]:
    """Numbers between commas, the missing last ones 0; nothing for no text."""
    try:
        found = [float(part) for part in text.split(",")] if text else []
    except ValueError as error:
        raise TripLogError(f"{option} needs numbers, not {text!r}") from error
    if len(found) > most or (found and option == "--position" and len(found) < most):
        raise TripLogError(f"{option} needs {most} numbers, not {text!r}")
    return found + [0.0] * (most - len(found)) if found else []
