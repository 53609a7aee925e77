"""Which files a trip log has, and what the options say of each of them."""

import argparse
from collections.abc import Callable, Mapping, Sequence

from diagnose.cli.shared import visits_of
from diagnose.cli.triplog_place import place_of
from diagnose.cli.triplog_span import span_of
from diagnose.model.visit import Value
from diagnose.store.log_words import remembered
from diagnose.terminal.triplog_asked import WHOSE, WHOSE_LOGS, ZONE, LogFiles, names_of
from diagnose.triplog.records import TripLogError
from diagnose.triplog.words import KINDS
from diagnose.words import say

COLUMNS = ("time", "event", "sensor")
Own = dict[str, str]


def files_of(args: argparse.Namespace, facts: Mapping[str, Value], site: str = "") -> LogFiles:
    """What the options say of the files. Raises TripLogError."""
    first, *more = args.file
    names, own = names_of(args.file), Own()
    columns = {c: v for c in COLUMNS if (v := _general(getattr(args, f"{c}_column"), c, names, own))}
    dates, zone = _general(args.dates, "dates", names, own), _general(args.zone, ZONE, names, own)
    own |= _whose(args.log_is, names[1:])
    span = span_of(args)
    return LogFiles(
        first,
        args.moves,
        args.passes,
        args.weather,
        zone=zone,
        words=_words(args.word, names, own),
        columns=columns,
        dates={"dates": dates} if dates else {},
        units=_pairs(args.unit, "unit"),
        place=place_of(args, facts),
        remembered=remembered(visits_of(args), site),
        begin=span.begin,
        end=span.end,
        out=span.out,
        keep=tuple(args.keep),
        more=tuple(more),
        own=own,
    )


def _apart(text: str, names: Sequence[str]) -> tuple[str, str]:
    """'b.csv:UTC' -> ('b.csv', 'UTC') where there is such a log; else ('', the text)."""
    name = next((name for name in names if text.startswith(f"{name}:")), "")
    return name, text.removeprefix(f"{name}:") if name else text


def _general(given: Sequence[str], key: str, names: Sequence[str], own: Own) -> str:
    """What holds for all logs, the last winning; what names a log is put into `own`."""
    general = ""
    for text in given:
        name, value = _apart(text, names)
        if name:
            own[f"{name}:{key}"] = value
        else:
            general = value
    return general


def _words(given: Sequence[str], names: Sequence[str], own: Own) -> dict[str, str]:
    apart = [_apart(text, names) for text in given]
    for name, text in apart:
        own |= {f"{name}:{key}": kind for key, kind in _pairs([text], "word", str.casefold).items() if name}
    return _pairs([text for name, text in apart if not name], "word", str.casefold)


def _whose(given: Sequence[str], names: Sequence[str]) -> Own:
    """'--log-is b.csv=lane' as answers. Raises TripLogError."""
    found = {name: whose for name, _, whose in (text.rpartition("=") for text in given)}
    for name, whose in found.items():
        if name not in names or whose not in WHOSE_LOGS:
            known = f"{'|'.join(names)}={'|'.join(WHOSE_LOGS)}"
            raise TripLogError(say("cli.triplog_log_is_wrong", typed=f"{name}={whose}", known=known))
    return {f"{name}:{WHOSE}": whose for name, whose in found.items()}


def _pairs(given: Sequence[str], prefix: str, tidy: Callable[[str], str] = str) -> dict[str, str]:
    """'WORD=MEANING' options as answers to questions."""
    pairs = [text.rpartition("=") for text in given]
    if wrong := [text for text, (word, _, means) in zip(given, pairs, strict=True) if not word or not means]:
        raise TripLogError(say("cli.triplog_pair", option=f"--{prefix}", typed=wrong[0]))
    if prefix == "word" and (wrong := [means for _, _, means in pairs if means not in KINDS]):
        raise TripLogError(say("cli.triplog_kinds", kinds=", ".join(KINDS), typed=wrong[0]))
    return {f"{prefix} {tidy(word)}": means for word, _, means in pairs}
