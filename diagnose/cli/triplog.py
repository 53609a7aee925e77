"""`diagnose triplog`: reads a trip log, asks what the file does not say, judges it, and adds it to a visit."""

import argparse
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from diagnose.cli.parser import force_option
from diagnose.cli.shared import knowledge_of, reasoner_of, salvaged, screen_of, visits_of
from diagnose.cli.triplog_files import COLUMNS, files_of
from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError, SessionError, VisitError
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.model.visit import Value
from diagnose.present.reasons import Likely, likely_of
from diagnose.session.events import Reply
from diagnose.session.law import may_follow, refusal
from diagnose.session.session import conclude, step
from diagnose.store.atomic import give_file, require_free
from diagnose.store.journal import Journal, read
from diagnose.store.log_words import remember
from diagnose.store.visits import find
from diagnose.terminal import triplog as terminal
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.draw import draw_likely
from diagnose.terminal.reader import choose_reader, on_terminal
from diagnose.terminal.screen import Screen
from diagnose.terminal.triplog_asked import WHOSE_LOGS, LogFiles
from diagnose.terminal.triplog_files import Understood, load
from diagnose.triplog.aside import REASONS
from diagnose.triplog.episodes import GAP_S
from diagnose.triplog.grid import make_grid
from diagnose.triplog.judge import LogVerdict, judge
from diagnose.triplog.meaning import LogAnswer, answers, causes_of
from diagnose.triplog.neighbour import Beside, beside
from diagnose.triplog.neighbour_says import lines_of
from diagnose.triplog.records import Log, TripLogError
from diagnose.triplog.sources import lags
from diagnose.triplog.words import KINDS
from diagnose.words import say

__all__ = ["add_options", "files_of", "run"]

BY = "trip_log"
_SHORTEST_GAP_S = 1.0


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, nargs="+", help=say("cli.triplog_file"))
    for flag, text in (
        ("--moves", "cli.triplog_moves"),
        ("--passes", "cli.triplog_passes"),
        ("--weather", "cli.triplog_weather"),
        ("--html", "cli.page_with_plots"),
    ):
        parser.add_argument(flag, type=Path, default=None, metavar="FILE", help=say(text))
    for flag, metavar, text in (
        ("--zone", "ZONE", "cli.triplog_zone"),
        ("--dates", "ORDER", "cli.triplog_dates"),
        ("--log-is", f"FILE={'|'.join(WHOSE_LOGS)}", "cli.triplog_log_is"),
    ):
        parser.add_argument(flag, action="append", default=[], metavar=metavar, help=say(text))
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
    for column in COLUMNS:
        flag, text = f"--{column}-column", f"cli.triplog_{column}_column"
        parser.add_argument(flag, action="append", default=[], metavar="NAME", help=say(text))
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
    notes = _keep_words(args, site, files, told)
    with terminal.bar(say("cli.triplog_tests")) as done:
        verdict = judge(log, gap, lambda _: done(0.5))
    found = [beside(log, other) for other in told.neighbours]
    # a pipe that closes early loses nothing: page and visit are on disk before anything is shown
    if args.html:
        causes = [causes_of(pattern, kb, devices) for pattern in verdict.patterns]
        _write_page(args, log, verdict, told, found, causes)
    taken = _taken_by(args, verdict) if args.into else None
    for note in notes:
        screen.line(note)
    _draw(screen, kb, log, told, verdict, found, devices)
    if args.html:
        screen.line(say("cli.triplog_page", path=args.html))
    if isinstance(taken, DiagnoseError):
        raise taken
    if taken:
        _draw_taken(screen, taken)
    return 0


def _draw(
    screen: Screen,
    kb: KnowledgeBase,
    log: Log,
    told: Understood,
    verdict: LogVerdict,
    found: list[Beside],
    devices: tuple[str, ...],
) -> None:
    terminal.draw_read(screen, told.lines, told.bad)
    terminal.draw_aside(screen, log)
    terminal.draw_verdict(screen, kb, verdict, lines_of(log, verdict, found), devices)
    terminal.draw_beside(screen, found)
    terminal.draw_plots(screen, log, make_grid(log, verdict.gap_s).episodes, lags(log, verdict.gap_s))
    terminal.draw_tests(screen, verdict)


def _write_page(
    args: argparse.Namespace,
    log: Log,
    verdict: LogVerdict,
    told: Understood,
    found: list[Beside],
    causes: list[list[Cause]],
) -> None:
    from diagnose.report.triplog_page import page  # the pages' machinery is wanted only then

    said = [*told.lines, *(aside.says for aside in log.aside)]
    give_file(args.html, page(log, verdict, said, told.bad, found, causes), "--html FILE", args.force)


def _keep_words(args: argparse.Namespace, site: str, files: LogFiles, told: Understood) -> list[str]:
    """What was answered is kept for the next log of this site, and what was answered before is said; what could not
    be kept is returned as lines to show."""
    used = {w.removeprefix("word "): k for w, k in files.remembered.items() if w.startswith("word ")}
    if used:
        words = ", ".join(f"{word} = {kind}" for word, kind in used.items())
        told.lines.append(say("triplog.as_remembered", site=site, words=words))
    new = {k: v for k, v in told.answers.items() if files.remembered.get(k) != v}
    if not new:
        return []
    if not site and not told.asked:
        return []
    if not site:
        told.lines.append(say("triplog.name_the_site"))
        return []
    try:
        remember(visits_of(args), site, new)
        told.lines.append(say("triplog.now_remembered", site=site))
    except VisitError as error:
        return [str(error)]
    return []


def _visit_facts(args: argparse.Namespace) -> tuple[Mapping[str, Value], tuple[str, ...], str]:
    """Profile and sensor kinds of the visit that the log goes into, and the name of the site."""
    if not args.into:
        return {}, (), args.site
    path = find(visits_of(args), args.into)
    _, session = salvaged(reasoner_of(args), path, read(path), lambda _: None)
    return session.setup.profile, session.setup.devices, args.site or session.site


@dataclass(frozen=True, slots=True)
class Taken:
    """What a visit took of a log: sentences on the way, the answers, and what is likely now."""

    reasoner: Reasoner
    says: list[str]
    added: list[LogAnswer]
    visit: str
    likely: tuple[Likely, ...]


def _taken_by(args: argparse.Namespace, verdict: LogVerdict) -> Taken | DiagnoseError:
    """What the visit took, or why it takes nothing: that is said once the log has been shown."""
    try:
        return _into_visit(args, verdict)
    except DiagnoseError as error:
        return error


def _into_visit(args: argparse.Namespace, verdict: LogVerdict) -> Taken:
    """Answer what the log answers; every answer is on disk before the next, and all before anything is shown."""
    said, reasoner = list[str](), reasoner_of(args)
    opened, found = Journal.reopen(find(visits_of(args), args.into))
    with opened as journal:
        reasoner, session = salvaged(reasoner, journal.path, found, said.append)
        if why := may_follow(reasoner.kb, session)["reply"]:
            raise SessionError(why)
        given = {a.check: a.value for a in session.given if a.by != BY or a.check != reasoner.kb.trip_log.when}
        added = []
        for answer in answers(verdict, reasoner.kb, given):
            event = Reply(answer.check, answer.value, answer.sure, BY, answer.note)
            if no := refusal(reasoner.kb, session, event):
                said.append(say("session.left_out", says=no.says))
                continue
            session = step(reasoner.kb, session, event)
            journal.append(event)
            added.append(answer)
        likely = likely_of(reasoner.kb, conclude(reasoner, session))
        return Taken(reasoner, said, added, journal.path.stem, likely)


def _draw_taken(screen: Screen, taken: Taken) -> None:
    for line in taken.says:
        screen.line(line)
    terminal.draw_answers_added(screen, taken.reasoner.kb, taken.added, taken.visit)
    draw_likely(screen, taken.likely)
    screen.line(say("cli.goes_on"))
