"""A trip log as one self-contained page: patterns, plots as inline SVG, every test, and what was not used."""

from collections.abc import Callable, Sequence
from functools import partial
from itertools import repeat

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from diagnose.model.knowledge import Cause
from diagnose.present.clean import clean
from diagnose.report import triplog_plots as plots
from diagnose.report.svg import DESK, PHONE, Width
from diagnose.triplog.grid import make_grid
from diagnose.triplog.judge import FALSE_DISCOVERY, POWER, LogVerdict
from diagnose.triplog.meaning import (
    because,
    episodes_says,
    means,
    sentence,
    share,
    size_says,
    strength,
    then,
)
from diagnose.triplog.neighbour import Beside
from diagnose.triplog.neighbour_says import heading, lines_of, sentences
from diagnose.triplog.records import Log, Tested
from diagnose.triplog.rows import Bad
from diagnose.triplog.sky import DARK_DEG
from diagnose.triplog.sources import expected_per_second, lags
from diagnose.triplog.traffic import follow_traffic
from diagnose.words import say, spoken


def page(
    log: Log,
    verdict: LogVerdict,
    read: Sequence[str],
    bad: Sequence[tuple[str, Bad]],
    found: Sequence[Beside] = (),
    causes: Sequence[Sequence[Cause]] = (),
) -> bytes:
    """UTF-8 HTML; it asks for nothing from outside and runs no script."""
    environment = Environment(
        loader=PackageLoader("diagnose.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    told = zip(verdict.patterns, verdict.leans, lines_of(log, verdict, found), causes or repeat(()), strict=False)
    text = environment.get_template("triplog.html").render(
        say=say, language=spoken().language, verdict=verdict, counted=episodes_says(verdict),
        patterns=[_pattern(*one) for one in told],
        tests=_tests(verdict), seen=_seen(verdict), plots=_plots(log, verdict), read=[clean(line) for line in read],
        bad=_bad(bad), discovery=share(FALSE_DISCOVERY), power=share(POWER),
        beside=[(clean(heading(one)), [clean(line) for line in sentences(one)]) for one in found],
    )  # fmt: skip
    return text.encode()


def _pattern(test: Tested, sensor: str, story: Sequence[str], causes: Sequence[Cause]) -> dict[str, str | list[str]]:
    return {
        "title": f"{means(test)}: {clean(test.count.detail)}",
        "numbers": sentence(because(test)),
        "strength": sentence(strength(test)),
        "then": then(test),
        "story": [clean(line) for line in story],
        "sensor": clean(sensor),
        "causes": [say("triplog.cause", cause=cause.says, test=cause.test) for cause in causes],
    }


def _tests(verdict: LogVerdict) -> list[tuple[str, str, str, str]]:
    ordered = sorted(verdict.tests, key=lambda t: -t[0].log_bayes)
    return [
        (
            f"{means(t)}, {clean(t.count.detail)}",
            say("triplog.ratio", ratio=f"{t.ratio:.3g}", low=f"{t.low:.2g}", high=f"{t.high:.3g}"),
            f"{t.p:.2g}",
            f"{rate:.2g}",
        )
        for t, rate in ordered
    ]


def _seen(verdict: LogVerdict) -> list[tuple[str, str]]:
    return [(means(t), size_says(r)) for t, r in verdict.seen]


def _bad(bad: Sequence[tuple[str, Bad]]) -> list[tuple[str, list[tuple[int, str]]]]:
    return [
        (
            say("triplog.not_used", n=times, file=clean(name), reason=clean(reason)),
            [(n, clean(text)) for n, text in rows.shown[reason]],
        )
        for name, rows in bad
        for reason, times in rows.counts.items()
    ]


def _plots(log: Log, verdict: LogVerdict) -> list[tuple[str, str, Markup]]:
    """(title, legend, the picture for a desk and the one for a phone); texts in them are escaped where drawn."""
    grid = follow_traffic(log, make_grid(log, verdict.gap_s))[1]
    drawn: list[tuple[str, str, Callable[[Width], str]]] = [
        (say("triplog.plot_dates"), _legend(log), partial(plots.raster, log, grid)),
        (say("triplog.plot_hours"), say("triplog.legend_bars"), partial(plots.hours, grid)),
    ]
    if log.place:
        path = partial(plots.sun_path, log, grid, log.place)
        drawn.append((say("triplog.plot_sun"), say("triplog.legend_path"), path))
    if len(log.moves):
        even = expected_per_second(log, grid, verdict.gap_s) * plots.LAG_STEP_S * len(grid.episodes)
        after = partial(plots.lag, lags(log, verdict.gap_s), even)
        drawn.append((say("triplog.plot_lag"), say("triplog.legend_bars"), after))
    return [(title, says, Markup(draw(DESK) + draw(PHONE))) for title, says, draw in drawn]


def _legend(log: Log) -> str:
    """What the colours of the picture by date and hour mean."""
    found = [say("triplog.legend_dots")]
    found += [say("triplog.legend_night", degrees=f"{-DARK_DEG:g}")] if log.place else []
    found += [say("triplog.legend_rain")] if log.weather and "rain" in log.weather.values else []
    return " ".join(found + ([say("triplog.legend_sun", degrees=f"{plots.NEAR_DEG:g}")] if log.place else []))
