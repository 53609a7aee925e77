"""`diagnose triplog` on a terminal: what was read, the patterns, every test, and small plots of characters."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from math import isinf

import numpy as np
from rich.console import Console
from rich.markup import escape
from rich.progress import Progress

from diagnose.model.knowledge import KnowledgeBase
from diagnose.terminal.screen import Screen, clean
from diagnose.triplog.judge import FALSE_DISCOVERY, POWER, Verdict
from diagnose.triplog.meaning import LogAnswer, because, causes_of, meaning_of, strength
from diagnose.triplog.records import DAY_S, Floats, Log, Tested
from diagnose.triplog.rows import Bad

RAMP = " .:-=+*#%@"
_CLUMPED_AT = 0.001


@contextmanager
def bar(label: str) -> Iterator[Callable[[float], None]]:
    """A progress bar beside the output; told the share that is done."""
    console = Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as progress:
        task = progress.add_task(escape(clean(label)), total=1.0)
        yield lambda share: progress.update(task, completed=share)


def draw_read(screen: Screen, lines: Sequence[str], bad: Sequence[tuple[str, Bad]]) -> None:
    """What was understood of the files, and every reason why rows could not be used."""
    screen.heading("What was read")
    for line in lines:
        screen.hanging("- ", line)
    for name, rows in bad:
        for reason, times in rows.counts.items():
            screen.hanging("! ", f"{name}: rows not used: {times}, {reason}", "bold")
            for number, text in rows.shown[reason]:
                screen.hanging("    ", f"line {number}: {text}")


def draw_verdict(screen: Screen, kb: KnowledgeBase, verdict: Verdict, devices: tuple[str, ...] = ()) -> None:
    """The patterns with what they mean, or 'no pattern' with what would have been seen."""
    rule = f"{verdict.trips} trips in {verdict.days:.1f} days make {verdict.episodes} episodes"
    screen.line()
    screen.line(f"{rule}: a trip within {verdict.gap_s:g} s of the one before belongs to the same episode.")
    if verdict.traffic:
        screen.line(f"Exposure is clock time blended with traffic ({verdict.traffic.split(', by ')[-1]}).")
    if not verdict.enough:
        screen.line("Too few episodes to look for a pattern; let the log run on.", "bold")
        return
    for number, (pattern, sensor) in enumerate(zip(verdict.patterns, verdict.leans, strict=True), start=1):
        _draw_pattern(screen, kb, pattern, number, devices)
        if sensor:
            screen.pair("Mostly on", sensor)
    if not verdict.patterns:
        _draw_none(screen, kb, verdict)


def _draw_pattern(screen: Screen, kb: KnowledgeBase, pattern: Tested, number: int, devices: tuple[str, ...]) -> None:
    meaning = meaning_of(kb, pattern.name)
    screen.heading(f"{number}. {meaning.says}: {pattern.count.detail}")
    screen.line(f"{because(pattern)}.".capitalize())
    screen.line(f"{strength(pattern)}.".capitalize())
    screen.pair("Next", meaning.then)
    for cause in causes_of(pattern, kb, devices):
        screen.hanging("  - ", f"{cause.says}. Test: {cause.test}")


def _draw_none(screen: Screen, kb: KnowledgeBase, verdict: Verdict) -> None:
    screen.heading("No pattern found")
    screen.line(
        f"An even rate explains the log. A pattern of the following size would have been found in {POWER:.0%} of "
        "such logs; a smaller one may be there all the same."
    )
    if verdict.clumped_p < _CLUMPED_AT:
        screen.line("Yet the episodes come in clumps that no test explains; try a longer --gap.", "bold")
    for test, ratio in verdict.seen:
        size = "none, however large" if isinf(ratio) else f"{ratio:.2g} times the rate or more"
        screen.hanging("  - ", f"{meaning_of(kb, test.name).says}: {size}")


def draw_tests(screen: Screen, verdict: Verdict) -> None:
    """Every test, strongest first."""
    screen.heading(f"All tests (a pattern: false-discovery rate to {FALSE_DISCOVERY:.0%})")
    for test, rate in sorted(verdict.tests, key=lambda t: -t[0].log_bayes):
        name = test.name.replace("_", " ")
        times = f"x {test.ratio:.2f} ({test.low:.2f} to {test.high:.2f})"
        screen.hanging("  ", f"{name}, {test.count.detail}: {times}, false-discovery rate {rate:.2g}")


def draw_plots(screen: Screen, log: Log, episodes: Floats, lags: Floats) -> None:
    """Episodes over the hours of the day, the days of the log, and the seconds after a movement."""
    local = log.clock.local(episodes)
    screen.heading("Episodes by hour of the day (0 to 23)")
    _row(screen, np.bincount(((local % DAY_S) // 3600).astype(int), minlength=24))
    days = max(1, int(np.ceil((log.end - log.begin) / DAY_S)))
    parts = min(days, screen.width - 12)
    screen.heading(f"Episodes over the {days} days of the log")
    _row(screen, np.histogram(episodes, parts, (log.begin, log.end))[0])
    if len(log.moves):
        screen.heading("Episodes in the 60 s after a movement, in steps of 2 s")
        _row(screen, np.histogram(lags[lags < 60], 30, (0, 60))[0])


def _row(screen: Screen, counts: Sequence[int] | np.ndarray) -> None:
    most = max(1, int(max(counts)))
    steps = [0 if c == 0 else max(1, round(c / most * (len(RAMP) - 1))) for c in counts]
    screen.line("|" + "".join(RAMP[s] for s in steps).replace(" ", "_") + f"| {RAMP[-1]} = {most}")


def draw_answers_added(screen: Screen, kb: KnowledgeBase, added: Sequence[LogAnswer], visit: str) -> None:
    """What went into the visit."""
    screen.heading(f"Added to visit {visit}")
    if not added:
        screen.line("Nothing: the log answers no check of the visit.")
    for answer in added:
        check = kb.checks[answer.check]
        said = check.options.get(str(answer.value), "passed over")
        screen.hanging("- ", f"{check.ask} {said}{'' if answer.sure else ' (not sure)'}. {answer.note}")
