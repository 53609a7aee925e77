"""A trip log as one self-contained page: patterns, plots as inline SVG, every test, and what was not used."""

from collections.abc import Sequence
from math import isinf

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.clean import clean
from diagnose.report import triplog_plots as plots
from diagnose.triplog.grid import follow_traffic, make_grid
from diagnose.triplog.judge import FALSE_DISCOVERY, POWER, Verdict
from diagnose.triplog.meaning import because, meaning_of, strength
from diagnose.triplog.records import Log, Tested
from diagnose.triplog.rows import Bad
from diagnose.triplog.sources import expected_per_second, lags


def page(kb: KnowledgeBase, log: Log, verdict: Verdict, read: Sequence[str], bad: Sequence[tuple[str, Bad]]) -> bytes:
    """UTF-8 HTML; it asks for nothing from outside and runs no script."""
    environment = Environment(
        loader=PackageLoader("diagnose.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found = [_pattern(kb, p, sensor) for p, sensor in zip(verdict.patterns, verdict.leans, strict=True)]
    text = environment.get_template("triplog.html").render(
        verdict=verdict, patterns=found, tests=_tests(verdict), seen=_seen(kb, verdict), plots=_plots(log, verdict),
        read=[clean(line) for line in read], bad=_bad(bad), discovery=FALSE_DISCOVERY, power=POWER,
    )  # fmt: skip
    return text.encode()


def _pattern(kb: KnowledgeBase, test: Tested, sensor: str) -> dict[str, str]:
    meaning = meaning_of(kb, test.name)
    numbers = because(test)
    return {
        "title": f"{meaning.says}: {clean(test.count.detail)}",
        "numbers": numbers[:1].upper() + numbers[1:],
        "strength": strength(test)[:1].upper() + strength(test)[1:],
        "then": meaning.then,
        "sensor": clean(sensor),
    }


def _tests(verdict: Verdict) -> list[tuple[str, str, str, str]]:
    ordered = sorted(verdict.tests, key=lambda t: -t[0].log_bayes)
    return [
        (
            f"{t.name.replace('_', ' ')}, {clean(t.count.detail)}",
            f"{t.ratio:.3g} ({t.low:.2g} to {t.high:.3g})",
            f"{t.p:.2g}",
            f"{rate:.2g}",
        )
        for t, rate in ordered
    ]


def _seen(kb: KnowledgeBase, verdict: Verdict) -> list[tuple[str, str]]:
    return [(meaning_of(kb, t.name).says, "none" if isinf(r) else f"{r:.2g} times") for t, r in verdict.seen]


def _bad(bad: Sequence[tuple[str, Bad]]) -> list[tuple[str, list[tuple[int, str]]]]:
    return [
        (f"{clean(name)}: {times} rows, {clean(reason)}", [(n, clean(text)) for n, text in rows.shown[reason]])
        for name, rows in bad
        for reason, times in rows.counts.items()
    ]


def _plots(log: Log, verdict: Verdict) -> list[tuple[str, str, Markup]]:
    """(title, legend, SVG); every text in the SVG is escaped where it is drawn."""
    grid = follow_traffic(log, make_grid(log, verdict.gap_s))[1]
    legend = "Each dot is an episode."
    legend += " Blue: rain." if log.weather and "rain" in log.weather.values else ""
    legend += f" Yellow: the sun or its image within {plots.NEAR_DEG:g}° of a look." if log.place else ""
    drawn = [
        ("Date and time of day", legend, plots.raster(log, grid)),
        ("Hours of the day", "Bars: counted. Line: what the exposure would give.", plots.hours(grid)),
    ]
    if log.place:
        says = (
            "Dots: the sun at each episode. Lines: first, middle and last day. Rings: 5°, 10°, 15° about each look."
        )
        drawn.append(("The sun", says, plots.sun_path(log, grid, log.place)))
    if len(log.moves):
        even = expected_per_second(log, grid, verdict.gap_s) * plots.LAG_STEP_S * len(grid.episodes)
        says = "Bars: counted. Line: what the exposure would give."
        drawn.append(("After a movement of the gate", says, plots.lag(lags(log, verdict.gap_s), even)))
    return [(title, says, Markup(svg)) for title, says, svg in drawn]
