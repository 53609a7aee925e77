"""`diagnose triplog` on a terminal: what was read, the patterns, every test, and small plots of characters."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

import numpy as np
from rich.console import Console
from rich.markup import escape
from rich.progress import Progress

from diagnose.model.knowledge import KnowledgeBase
from diagnose.terminal.screen import Screen, clean
from diagnose.triplog.judge import FALSE_DISCOVERY, POWER, LogVerdict
from diagnose.triplog.meaning import (
    LogAnswer,
    because,
    causes_of,
    episodes_says,
    means,
    sentence,
    share,
    size_says,
    strength,
    then,
)
from diagnose.triplog.neighbour import Beside
from diagnose.triplog.neighbour_says import heading, sentences
from diagnose.triplog.records import DAY_S, Floats, Log, Tested
from diagnose.triplog.rows import Bad
from diagnose.words import say

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
    screen.heading(say("triplog.what_was_read"))
    for line in lines:
        screen.hanging("- ", line)
    for name, rows in bad:
        for reason, times in rows.counts.items():
            screen.hanging("! ", say("triplog.not_used", n=times, file=name, reason=reason), "bold")
            for number, text in rows.shown[reason]:
                screen.hanging("    ", say("triplog.line", number=number, text=text))


def draw_aside(screen: Screen, log: Log) -> None:
    """What is explained and no longer counts, in figures."""
    if log.aside:
        screen.heading(say("triplog.set_aside"))
    for aside in log.aside:
        screen.hanging("- ", sentence(aside.says.removesuffix(".")))


def draw_verdict(
    screen: Screen,
    kb: KnowledgeBase,
    verdict: LogVerdict,
    stories: Sequence[Sequence[str]],
    devices: tuple[str, ...] = (),
) -> None:
    """The patterns with what they mean and the lines below each, or 'no pattern' with what would have been seen."""
    screen.line()
    screen.line(episodes_says(verdict))
    if verdict.traffic:
        screen.line(say("triplog.follows_traffic", traffic=verdict.traffic))
    if not verdict.enough:
        screen.line(say("triplog.too_few"), "bold")
        return
    told = zip(verdict.patterns, verdict.leans, stories, strict=True)
    for number, (pattern, sensor, story) in enumerate(told, start=1):
        _draw_pattern(screen, kb, pattern, number, devices, story)
        if sensor:
            screen.line(say("triplog.mostly_on", sensor=sensor))
    if not verdict.patterns:
        _draw_none(screen, verdict)


def _draw_pattern(
    screen: Screen, kb: KnowledgeBase, pattern: Tested, number: int, devices: tuple[str, ...], story: Sequence[str]
) -> None:
    screen.heading(f"{number}. {means(pattern)}: {pattern.count.detail}")
    screen.line(sentence(because(pattern)))
    screen.line(sentence(strength(pattern)))
    for line in story:
        screen.hanging("  - ", line)
    screen.pair(say("triplog.next"), then(pattern))
    for cause in causes_of(pattern, kb, devices):
        screen.hanging("  - ", say("triplog.cause", cause=cause.says, test=cause.test))


def _draw_none(screen: Screen, verdict: LogVerdict) -> None:
    screen.heading(say("triplog.none_found"))
    screen.line(say("triplog.even_rate", share=share(POWER)))
    if verdict.clumped_p < _CLUMPED_AT:
        screen.line(say("triplog.clumps"), "bold")
    for test, ratio in verdict.seen:
        screen.hanging("  - ", f"{means(test)}: {size_says(ratio)}")


def draw_beside(screen: Screen, found: Sequence[Beside]) -> None:
    """What the logs of other sensors tell."""
    for one in found:
        screen.heading(heading(one))
        for line in sentences(one):
            screen.hanging("- ", line)


def draw_tests(screen: Screen, verdict: LogVerdict) -> None:
    """Every test, strongest first."""
    screen.heading(say("triplog.all_tests_to", rate=share(FALSE_DISCOVERY)))
    for test, rate in sorted(verdict.tests, key=lambda t: -t[0].log_bayes):
        says = say(
            "triplog.test",
            means=means(test),
            detail=test.count.detail,
            ratio=f"{test.ratio:.2f}",
            low=f"{test.low:.2f}",
            high=f"{test.high:.2f}",
            rate=f"{rate:.2g}",
        )
        screen.hanging("  ", says)


def draw_plots(screen: Screen, log: Log, episodes: Floats, lags: Floats) -> None:
    """Episodes over the hours of the day, the days of the log, and the seconds after a movement."""
    local = log.clock.local(episodes)
    screen.heading(say("triplog.by_hour"))
    _row(screen, np.bincount(((local % DAY_S) // 3600).astype(int), minlength=24))
    days = max(1, int(np.ceil((log.end - log.begin) / DAY_S)))
    parts = min(days, screen.width - 12)
    screen.heading(say("triplog.by_day", n=days))
    _row(screen, np.histogram(episodes, parts, (log.begin, log.end))[0])
    if len(log.moves):
        screen.heading(say("triplog.by_lag"))
        _row(screen, np.histogram(lags[lags < 60], 30, (0, 60))[0])


def _row(screen: Screen, counts: Sequence[int] | np.ndarray) -> None:
    most = max(1, int(max(counts)))
    steps = [0 if c == 0 else max(1, round(c / most * (len(RAMP) - 1))) for c in counts]
    screen.line("|" + "".join(RAMP[s] for s in steps).replace(" ", "_") + f"| {RAMP[-1]} = {most}")


def draw_answers_added(screen: Screen, kb: KnowledgeBase, added: Sequence[LogAnswer], visit: str) -> None:
    """What went into the visit."""
    screen.heading(say("triplog.added_to", visit=visit))
    if not added:
        screen.line(say("triplog.nothing_added"))
    for answer in added:
        check = kb.checks[answer.check]
        said = check.options.get(str(answer.value), say("triplog.passed_over"))
        key = "triplog.added" if answer.sure else "triplog.added_unsure"
        screen.hanging("- ", say(key, check=check.ask, said=said, note=answer.note))
