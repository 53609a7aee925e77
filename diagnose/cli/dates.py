"""--from and --to: days of the person's own calendar, as the history's times."""

import argparse
from datetime import UTC, date, datetime, time, timedelta

from diagnose.store.history.history import Span
from diagnose.words import say


def date_options(parser: argparse.ArgumentParser) -> None:
    for flag, dest in (("--from", "since"), ("--to", "until")):
        parser.add_argument(flag, dest=dest, type=_day, default=None, metavar="DAY", help=say(f"cli.dates_{dest}"))


def span_of(args: argparse.Namespace) -> Span:
    """Both days belong to it."""
    return Span(
        _moment(args.since) if args.since else "",
        _moment(args.until + timedelta(days=1)) if args.until else "",
    )


def _day(typed: str) -> date:
    try:
        day = date.fromisoformat(typed)
    except ValueError as error:
        raise argparse.ArgumentTypeError(say("cli.dates_wrong", typed=typed)) from error
    if not 1970 <= day.year <= 2999:  # further out no clock of a zone can be worked out
        raise argparse.ArgumentTypeError(say("cli.dates_wrong", typed=typed))
    return day


def _moment(day: date) -> str:
    """Where that day begins here, in UTC."""
    return datetime.combine(day, time()).astimezone().astimezone(UTC).isoformat(timespec="seconds")
