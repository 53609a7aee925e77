"""Simulated visits as one self-contained page: plots as inline SVG, every table, and the targets."""

from collections.abc import Iterator

from diagnose.measure.alarm import alarms
from diagnose.measure.collect import Measured
from diagnose.measure.conditions import AS_WRITTEN
from diagnose.measure.figures import Mean, confusions, figures
from diagnose.measure.targets import aims, lost_first, percent
from diagnose.measure.words import condition_says, spoilt_says, way_says
from diagnose.present.clean import clean
from diagnose.report import measure_plots as plots
from diagnose.report.figures_page import FiguresSection, figures_page
from diagnose.words import say

WRONG = {"wrong_5": 5.0, "wrong_10": 10.0}  # per cent
NOISE = {"noise_half": 0.5, "noise_full": 1.0}
MOST_ROWS = 25


def page(measured: Measured) -> bytes:
    """UTF-8 HTML; it asks for nothing from outside and runs no script."""
    wanted = measured.wanted
    devices = ", ".join(measured.kb.devices[d] for d in wanted.setup.devices) or say("measure.all_sensor_kinds")
    subtitle = say(
        "measure.page_says", cases=wanted.cases, devices=devices, seed=wanted.seed, digest=measured.kb.digest[:12]
    )
    footer = say("measure.page_foot")
    return figures_page(say("measure.simulated_visits"), subtitle, _sections(measured), footer)


def _sections(measured: Measured) -> Iterator[FiguresSection]:
    yield _targets(measured)
    yield _policies(measured)
    if measured.excesses:
        yield _optimum(measured)
    yield _reliability(measured)
    if measured.conditions:
        yield from _robustness(measured)
    if measured.fits:
        yield _alarm(measured)
    yield _confused(measured)
    yield _checks(measured)
    yield _causes(measured)


def _targets(measured: Measured) -> FiguresSection:
    missed = say("measure.not_reached")
    rows = [
        (a.target, a.says, a.measured, a.wanted, say("measure.reached") if a.reached else missed)
        for a in aims(measured)
    ]
    says = say("measure.targets_say")
    return FiguresSection(
        say("measure.targets"), says, heads=("", *heads("what", "measured", "wanted"), ""), rows=rows, missed=missed
    )


def _policies(measured: Measured) -> FiguresSection:
    found = [(name, figures(outcomes)) for name, outcomes in measured.policies.items()]
    rows = [
        (
            way_says(name),
            _about(f.minutes),
            f"{f.check_minutes.value:.0f}",
            f"{f.checks.value:.1f}",
            *map(_share, (f.first, f.first_three)),
        )
        for name, f in found
    ]
    columns = heads(
        "way_of_asking", "minutes_to_mended", "of_these_checks", "checks", "true_cause_first", "among_three"
    )
    says = say("measure.minutes_say")
    return FiguresSection(say("measure.minutes_and_accuracy"), says, plots.minutes(measured.policies), columns, rows)


def _about(found: Mean) -> str:
    return f"{found.value:.0f} ± {found.margin:.0f}"


def _share(found: Mean) -> str:
    return f"{found.value:.1%} ± {found.margin:.1%}" if found.count else say("measure.none_met")


def _optimum(measured: Measured) -> FiguresSection:
    rows = [
        (way_says(name), f"{e.mean:.1%}", f"{e.p95:.1%}", f"{e.worst:.1%}") for name, e in measured.excesses.items()
    ]
    many = next(iter(measured.excesses.values())).corners
    says = say("measure.optimum_says", many=many)
    return FiguresSection(
        say("measure.over_the_exact_optimum"),
        says,
        heads=heads("way_of_asking", "mean", "95th_percentile", "worst"),
        rows=rows,
    )


def _reliability(measured: Measured) -> FiguresSection:
    held = figures(measured.tool).calibration
    rows = [(f"{b.said:.1%}", f"{b.right:.1%} ± {b.margin:.1%}", f"{b.count}") for b in held.bins]
    says = say(
        "measure.calibration_says",
        error=f"{held.error:.3f}",
        by_chance=f"{held.by_chance:.3f}",
        brier=f"{held.brier:.4f}",
        brier_expected=f"{held.brier_expected:.4f}",
    )
    columns = heads("stated", "came_true", "visits")
    return FiguresSection(say("measure.reliability_title"), says, plots.reliability(held.bins), columns, rows)


def _robustness(measured: Measured) -> Iterator[FiguresSection]:
    conditions = measured.conditions
    says = say("measure.robustness_says")
    yield FiguresSection(
        say("measure.wrong_answers"),
        says,
        plots.falling(conditions, WRONG, say("measure.per_cent_of_answers_wrong"), 100 * measured.kb.settings.slip),
    )
    yield FiguresSection(
        say("measure.wrong_knowledge"), says, plots.falling(conditions, NOISE, say("measure.noise_deviation"), 0)
    )
    rows = []
    for name, outcomes in conditions.items():
        found, lost = figures(outcomes), lost_first(conditions[AS_WRITTEN], outcomes)
        fall = "" if name == AS_WRITTEN else f"{100 * lost.value:+.1f} ± {100 * lost.margin:.1f}"
        error = f"{found.calibration.error:.3f}"
        rows.append(
            (
                condition_says(name),
                _share(found.first),
                _share(found.first_three),
                fall,
                f"{found.minutes.value:.0f}",
                error,
            )
        )
    columns = heads("condition", "true_cause_first", "among_three", "points_lost", "minutes", "calibration_error")
    says = say("measure.conditions_say")
    yield FiguresSection(say("measure.all_conditions"), says, heads=columns, rows=rows)


def _alarm(measured: Measured) -> FiguresSection:
    found = alarms(measured.fits, measured.kb.settings.misfit_at)
    ways = {say("measure.every_answer_right"): found.right, say("measure.wrong_by_nature"): found.wrong}
    ways |= {spoilt_says(way): share for way, share in found.spoilt.items()}
    rows = [(way, percent(share)) for way, share in ways.items()]
    says = say("measure.alarm_says")
    return FiguresSection(say("measure.alarm_title"), says, heads=heads("visits", "flagged"), rows=rows)


def _confused(measured: Measured) -> FiguresSection:
    causes = measured.kb.causes
    rows = [
        (clean(causes[a].says), clean(causes[b].says), f"{n}") for (a, b), n in confusions(measured.tool, MOST_ROWS)
    ]
    says = say("measure.confused_says")
    return FiguresSection(
        say("measure.most_confused"), says, heads=heads("true_cause", "put_first_instead", "visits"), rows=rows
    )


def _checks(measured: Measured) -> FiguresSection:
    rows = [
        (
            clean(measured.kb.checks[w.check].ask),
            f"{w.share:.0%}",
            f"{w.minutes:.1f}",
            f"{w.saves:.0f}",
            f"{w.bits:.2f}",
            _about(w.lost) if w.lost else say("measure.not_run"),
        )
        for w in measured.checks[:MOST_ROWS]
    ]
    says = say("measure.checks_say")
    columns = heads("check", "asked_in", "minutes", "saves", "bits", "lost_without_it")
    return FiguresSection(say("measure.checks_title"), says, heads=columns, rows=rows)


def _causes(measured: Measured) -> FiguresSection:
    rows = [
        (clean(measured.kb.causes[n.cause].says), f"{n.value:.2f}", _about(n.wasted),
         f"{n.probability:.1%}", f"{n.named:.0%}", f"{n.wasted.count}")
        for n in measured.causes[:MOST_ROWS]
    ]  # fmt: skip
    says = say("measure.causes_say")
    columns = heads("cause", "minutes_per_visit", "lost_in_its_visits", "probability", "named_first", "visits")
    return FiguresSection(say("measure.causes_title"), says, heads=columns, rows=rows)


def heads(*names: str) -> tuple[str, ...]:
    """Heads of columns."""
    return tuple(say(f"measure.head_{name}") for name in names)
