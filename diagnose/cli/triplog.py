"""`diagnose triplog`: reads a trip log, asks what the file does not say, judges it, and adds it to a visit."""

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path

from diagnose.cli.parser import force_option
from diagnose.cli.shared import knowledge_of, reasoner_of, salvaged, screen_of, visits_of
from diagnose.cli.triplog_place import place_of
from diagnose.cli.triplog_span import span_of
from diagnose.errors import SessionError, VisitError
from diagnose.model.visit import Value
from diagnose.present.reasons import likely_of
from diagnose.session.events import Reply
from diagnose.session.law import may_follow, refusal
from diagnose.session.session import conclude, step
from diagnose.store.atomic import give_file, require_free
from diagnose.store.journal import Journal, read
from diagnose.store.log_words import remember, remembered
from diagnose.store.visits import find
from diagnose.terminal import triplog as terminal
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.draw import draw_likely
from diagnose.terminal.reader import choose_reader, on_terminal
from diagnose.terminal.screen import Screen
from diagnose.terminal.triplog_files import LogFiles, Understood, load
from diagnose.triplog.aside import REASONS
from diagnose.triplog.episodes import GAP_S
from diagnose.triplog.grid import make_grid
from diagnose.triplog.judge import LogVerdict, judge
from diagnose.triplog.meaning import answers
from diagnose.triplog.records import Log, TripLogError
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
    _meaning_options(parser)
    for flag, name in (("--from", "begin"), ("--to", "end")):
        parser.add_argument(flag, dest=name, default="", metavar="TIME", help=say(f"cli.triplog_{name}"))
    parser.add_argument(
        "--leave-out", action="append", default=[], metavar="TIME..TIME", help=say("cli.triplog_leave_out")
    )
    parser.add_argument("--keep", action="append", default=[], choices=REASONS, help=say("cli.triplog_keep"))
    parser.add_argument("--gap", type=float, default=None, metavar="SECONDS", help=say("cli.triplog_gap"))
    _place_options(parser)
    force_option(parser)
    parser.add_argument(
        "--into", nargs="?", const="last", default="", metavar="VISIT",
        help=say("cli.triplog_into"),
    )  # fmt: skip


def _meaning_options(parser: argparse.ArgumentParser) -> None:
    """What columns, words and numbers of the log mean."""
    for column in ("time", "event", "sensor"):
        parser.add_argument(
            f"--{column}-column", default="", metavar="NAME", help=say(f"cli.triplog_{column}_column")
        )
    parser.add_argument(
        "--word",
        action="append",
        default=[],
        metavar="WORD=MEANING",
        help=say("cli.triplog_word", kinds="|".join(KINDS)),
    )
    parser.add_argument("--unit", action="append", default=[], metavar="READING=UNIT", help=say("cli.triplog_unit"))


def _place_options(parser: argparse.ArgumentParser) -> None:
    """Where the gate stands and where its devices look."""
    parser.add_argument("--site", default="", metavar="PROFILE", help=say("cli.triplog_site"))
    parser.add_argument("--device", default="", metavar="PROFILE", help=say("cli.triplog_device"))
    parser.add_argument("--position", default="", metavar="LATITUDE,LONGITUDE", help=say("cli.triplog_position"))
    parser.add_argument(
        "--look", action="append", default=[], metavar="AZIMUTH[,ELEVATION]",
        help=say("cli.triplog_look"),
    )  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Find the pattern; 0 also when there is none."""
    screen = screen_of(args)
    asker = Asker(screen, choose_reader(args.plain)) if on_terminal() else None
    kb, gap = knowledge_of(args), GAP_S if args.gap is None else args.gap
    if not gap >= _SHORTEST_GAP_S:
        raise TripLogError(say("cli.triplog_short_gap", least=f"{_SHORTEST_GAP_S:g}"))
    facts, devices, site = _visit_facts(args)
    files = files_of(args, facts, site)
    if args.html:
        require_free(args.html, "--html FILE", args.force)
    try:
        log, told = load(files, asker)
    except (Leave, GoBack) as error:
        raise TripLogError(say("cli.triplog_left")) from error
    _keep_words(args, screen, site, files, told)
    with terminal.bar(say("cli.triplog_tests")) as done:
        verdict = judge(log, gap, lambda _: done(0.5))
    if args.html:  # before anything is shown: a pipe that closes early must not lose the page
        _write_page(args.html, log, verdict, told, args.force)
    terminal.draw_read(screen, told.lines, told.bad)
    terminal.draw_aside(screen, log)
    terminal.draw_verdict(screen, kb, verdict, devices)
    terminal.draw_plots(screen, log, make_grid(log, gap).episodes, lags(log, gap))
    terminal.draw_tests(screen, verdict)
    if args.html:
        screen.line(say("cli.triplog_page", path=args.html))
    return _into_visit(args, screen, verdict) if args.into else 0


def _write_page(path: Path, log: Log, verdict: LogVerdict, told: Understood, force: bool) -> None:
    from diagnose.report.triplog_page import page  # the pages' machinery is wanted only then

    said = [*told.lines, *(aside.says for aside in log.aside)]
    give_file(path, page(log, verdict, said, told.bad), "--html FILE", force)


def _keep_words(args: argparse.Namespace, screen: Screen, site: str, files: LogFiles, told: Understood) -> None:
    """What was answered is kept for the next log of this site, and what was answered before is said."""
    used = {w.removeprefix("word "): k for w, k in files.remembered.items() if w.startswith("word ")}
    if used:
        words = ", ".join(f"{word} = {kind}" for word, kind in used.items())
        told.lines.append(say("triplog.as_remembered", site=site, words=words))
    new = {k: v for k, v in told.answers.items() if files.remembered.get(k) != v}
    if not new:
        return
    if not site and not told.asked:
        return
    if not site:
        told.lines.append(say("triplog.name_the_site"))
        return
    try:
        remember(visits_of(args), site, new)
        told.lines.append(say("triplog.now_remembered", site=site))
    except VisitError as error:
        screen.line(str(error))


def _visit_facts(args: argparse.Namespace) -> tuple[Mapping[str, Value], tuple[str, ...], str]:
    """Profile and sensor kinds of the visit that the log goes into, and the name of the site."""
    if not args.into:
        return {}, (), args.site
    path = find(visits_of(args), args.into)
    _, session = salvaged(reasoner_of(args), path, read(path), lambda _: None)
    return session.setup.profile, session.setup.devices, args.site or session.site


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


def files_of(args: argparse.Namespace, facts: Mapping[str, Value], site: str = "") -> LogFiles:
    """What the options say of the files. Raises TripLogError."""
    columns = {c: v for c in ("time", "event", "sensor") if (v := getattr(args, f"{c}_column"))}
    span = span_of(args)
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
        place=place_of(args, facts),
        remembered=remembered(visits_of(args), site),
        begin=span.begin,
        end=span.end,
        out=span.out,
        keep=tuple(args.keep),
    )


def _pairs(given: list[str], prefix: str, tidy: Callable[[str], str] = str) -> dict[str, str]:
    """'WORD=MEANING' options as answers to questions."""
    pairs = [text.rpartition("=") for text in given]
    if wrong := [text for text, (word, _, means) in zip(given, pairs, strict=True) if not word or not means]:
        raise TripLogError(say("cli.triplog_pair", option=f"--{prefix}", typed=wrong[0]))
    if prefix == "word" and (wrong := [means for _, _, means in pairs if means not in KINDS]):
        raise TripLogError(say("cli.triplog_kinds", kinds=", ".join(KINDS), typed=wrong[0]))
    return {f"{prefix} {tidy(word)}": means for word, _, means in pairs}
