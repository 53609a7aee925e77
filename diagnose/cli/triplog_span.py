"""Which part of a log is wanted: --from, --to and --leave-out, in the log's own local time."""

import argparse
from dataclasses import dataclass

from diagnose.triplog.records import DAY_S, TripLogError
from diagnose.triplog.stamps import Stamps
from diagnose.words import say

_BETWEEN = ".."


@dataclass(frozen=True, slots=True)
class PartOfLog:
    """Seconds on the log's clock: from `begin` to before `end`, without the stretches `out`."""

    begin: float = float("-inf")
    end: float = float("inf")
    out: tuple[tuple[float, float], ...] = ()


def span_of(args: argparse.Namespace) -> PartOfLog:
    """What the options say. Raises TripLogError."""
    begin = _moment(args.begin, "--from")[0] if args.begin else float("-inf")
    end = _moment(args.end, "--to")[1] if args.end else float("inf")
    if begin >= end:
        raise TripLogError(say("cli.triplog_backwards", first=args.begin, last=args.end))
    return PartOfLog(begin, end, tuple(_stretch(text) for text in args.leave_out))


def _stretch(text: str) -> tuple[float, float]:
    """'2026-03-18' is that whole day, '2026-03-18 10:00..2026-03-18 11:30' what lies between."""
    first, between, last = text.partition(_BETWEEN)
    begin = _moment(first, "--leave-out")[0]
    end = _moment(last if between else first, "--leave-out")[1]
    if begin >= end:
        raise TripLogError(say("cli.triplog_backwards", first=first.strip(), last=last.strip()))
    return begin, end


def _moment(text: str, option: str) -> tuple[float, float]:
    """First and last second that a text means: the same for a time, a whole day for a date."""
    reader, typed = Stamps("ymd"), text.strip()
    if found := reader.read(typed):
        return found[0], found[0]
    day = reader.day(typed)
    if day is None:
        raise TripLogError(say("cli.triplog_moment", option=option, typed=typed))
    return day, day + DAY_S
