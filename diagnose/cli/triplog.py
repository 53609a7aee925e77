"""`diagnose triplog`: reads a trip log, asks what the file does not say, judges it, and adds it to a visit."""

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path

from diagnose.calc.sun import Direction
from diagnose.cli.parser import force_option
from diagnose.cli.shared import knowledge_of, reasoner_of, salvaged, screen_of, visits_of
from diagnose.errors import SessionError
from diagnose.model.visit import Value
from diagnose.present.reasons import likely_of
from diagnose.session.events import Reply
from diagnose.session.law import may_follow, refusal
from diagnose.session.session import conclude, step
from diagnose.store.atomic import give_file, require_free
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
from diagnose.triplog.judge import LogVerdict, judge
from diagnose.triplog.meaning import answers
from diagnose.triplog.records import LookDirection, Place, TripLogError
from diagnose.triplog.sources import lags
from diagnose.triplog.words import KINDS
from diagnose.words import say

BY = "trip_log"
_SHORTEST_GAP_S = 1.0


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help=say("cli.triplog_file"))
    for flag, text in (
        ("--moves", "cli.triplog_moves"),
        ("--passes", "cli.triplog_passes"),
        ("--weather", "cli.triplog_weather"),
        ("--html", "cli.page_with_plots"),
    ):
        parser.add_argument(flag, type=Path, default=None, metavar="FILE", help=say(text))
    parser.add_argument("--zone", default="", help=say("cli.triplog_zone"))
    parser.add_argument("--dates", default="", metavar="ORDER", help=say("cli.triplog_dates"))
    for column in ("time", "event", "sensor"):
        parser.add_argument(
            f"--{column}-column", default="", metavar="NAME", help=say(f"cli.triplog_{column}_column")
        )
    parser.add_argument("--word", action="append", default=[], metavar="WORD=trip|move|pass|ignore")
    parser.add_argument("--unit", action="append", default=[], metavar="READING=UNIT", help=say("cli.triplog_unit"))
    parser.add_argument("--gap", type=float, default=None, metavar="SECONDS", help=say("cli.triplog_gap"))
    parser.add_argument("--site", default="", metavar="PROFILE", help=say("cli.triplog_site"))
    parser.add_argument("--device", default="", metavar="PROFILE", help=say("cli.triplog_device"))
    parser.add_argument("--position", default="", metavar="LATITUDE,LONGITUDE", help=say("cli.triplog_position"))
    parser.add_argument(
        "--look", action="append", default=[], metavar="AZIMUTH[,ELEVATION]",
        help=say("cli.triplog_look"),
    )  # fmt: skip
    force_option(parser)
    parser.add_argument(
        "--into", nargs="?", const="last", default="", metavar="VISIT",
        help=say("cli.triplog_into"),
    )  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Find the pattern; 0 also when there is none."""
    screen = screen_of(args)
    asker = Asker(screen, choose_reader(args.plain)) if on_terminal() else None
    kb, gap = knowledge_of(args), GAP_S if args.gap is None else args.gap
    if not gap >= _SHORTEST_GAP_S:
        raise TripLogError(say("cli.triplog_short_gap", least=f"{_SHORTEST_GAP_S:g}"))
    if args.html:
        require_free(args.html, "--html FILE", args.force)
    facts, devices = _visit_facts(args)
    try:
        log, told = load(files_of(args, facts), asker)
    except (Leave, GoBack) as error:
        raise TripLogError(say("cli.triplog_left")) from error
    with terminal.bar(say("cli.triplog_tests")) as done:
        verdict = judge(log, gap, lambda _: done(0.5))
    terminal.draw_read(screen, told.lines, told.bad)
    terminal.draw_verdict(screen, kb, verdict, devices)
    terminal.draw_plots(screen, log, make_grid(log, gap).episodes, lags(log, gap))
    terminal.draw_tests(screen, verdict)
    if args.html:
        from diagnose.report.triplog_page import page  # the pages' machinery is wanted only then

        give_file(args.html, page(log, verdict, told.lines, told.bad), "--html FILE", args.force)
        screen.line(say("cli.triplog_page", path=args.html))
    return _into_visit(args, screen, verdict) if args.into else 0


def _visit_facts(args: argparse.Namespace) -> tuple[Mapping[str, Value], tuple[str, ...]]:
    """Profile and sensor kinds of the visit that the log goes into."""
    if not args.into:
        return {}, ()
    path = find(visits_of(args), args.into)
    _, session = salvaged(reasoner_of(args), path, read(path), lambda _: None)
    return session.setup.profile, session.setup.devices


def _into_visit(args: argparse.Namespace, screen: Screen, verdict: LogVerdict) -> int:
    """Answer what the log answers; every answer is on disk before the next."""
    reasoner = reasoner_of(args)
    opened, found = Journal.reopen(find(visits_of(args), args.into))
    with opened as journal:
        reasoner, session = salvaged(reasoner, journal.path, found, screen.line)
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
    screen.line(say("cli.goes_on"))
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
        raise TripLogError(say("cli.triplog_pair", option=f"--{prefix}", typed=wrong[0]))
    if prefix == "word" and (wrong := [means for _, _, means in pairs if means not in KINDS]):
        raise TripLogError(say("cli.triplog_kinds", kinds=", ".join(KINDS), typed=wrong[0]))
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
            raise TripLogError(say("cli.triplog_look_where"))
        return None
    if not (-90 <= north <= 90 and -180 <= east <= 180):
        raise TripLogError(say("cli.triplog_degrees"))
    looks = tuple(
        LookDirection(_look_name(i, len(directions)), Direction(d[1], d[0])) for i, d in enumerate(directions)
    )
    return Place(float(north), float(east), looks)


def _look_name(number: int, of: int) -> str:
    return say("cli.the_device") if of == 1 else say("cli.device_number", number=number + 1)


def _numbers(text: str, most: int, option: str) -> list[float]:
    """Numbers between commas, the missing last ones 0; nothing for no text."""
    try:
        found = [float(part) for part in text.split(",")] if text else []
    except ValueError as error:
        raise TripLogError(say("cli.triplog_numbers", option=option, typed=text)) from error
    if len(found) > most or (found and option == "--position" and len(found) < most):
        raise TripLogError(say("cli.triplog_many_numbers", option=option, most=most, typed=text))
    return found + [0.0] * (most - len(found)) if found else []
