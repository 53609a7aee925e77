"""Simulated visits as one self-contained page: plots as inline SVG, every table, and the targets."""

from collections.abc import Iterator

from diagnose.measure.alarm import alarms
from diagnose.measure.collect import Measured
from diagnose.measure.conditions import AS_WRITTEN
from diagnose.measure.figures import Mean, confusions, figures
from diagnose.measure.targets import aims, lost_first, percent
from diagnose.present.clean import clean
from diagnose.report import measure_plots as plots
from diagnose.report.figures_page import Section, figures_page

WRONG = {"5 % of answers wrong": 5.0, "10 % of answers wrong": 10.0}  # per cent
NOISE = {"noise of 0.5 on every log-odds": 0.5, "noise of 1.0 on every log-odds": 1.0}
MOST_ROWS = 25


def page(measured: Measured) -> bytes:
    """UTF-8 HTML; it asks for nothing from outside and runs no script."""
    wanted = measured.wanted
    devices = ", ".join(measured.kb.devices[d] for d in wanted.setup.devices) or "all sensor kinds"
    subtitle = (
        f"{wanted.cases} visits of every kind, {devices}, seed {wanted.seed}, knowledge {measured.kb.digest[:12]}. "
        "Drawn from the knowledge base's own model: says how good the tool is if its knowledge is right, and what it "
        "costs when it is not."
    )
    footer = "Figures of a simulation, not of real gates."
    return figures_page("Simulated visits", subtitle, _sections(measured), footer)


def _sections(measured: Measured) -> Iterator[Section]:
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


def _targets(measured: Measured) -> Section:
    rows = [
        (a.target, a.says, a.measured, a.wanted, "reached" if a.reached else "NOT REACHED") for a in aims(measured)
    ]
    says = "T8 to T18 are aims set before measuring. A target that a run of this size cannot judge is not reached."
    return Section("Targets", says, heads=("", "what", "measured", "wanted", ""), rows=rows)


def _policies(measured: Measured) -> Section:
    found = [(name, figures(outcomes)) for name, outcomes in measured.policies.items()]
    rows = [
        (
            name,
            _about(f.minutes),
            f"{f.check_minutes.value:.0f}",
            f"{f.checks.value:.1f}",
            *map(_share, (f.first, f.first_three)),
        )
        for name, f in found
    ]
    heads = ("way of asking", "minutes to mended", "of these, checks", "checks", "true cause first", "among three")
    says = (
        "The same hidden faults for all. Dark: minutes of checks; light: of repairs. The line is the 95 % interval."
    )
    return Section("Minutes and accuracy", says, plots.minutes(measured.policies), heads, rows)


def _about(found: Mean) -> str:
    return f"{found.value:.0f} ± {found.margin:.0f}"


def _share(found: Mean) -> str:
    return f"{found.value:.1%} ± {found.margin:.1%}" if found.count else "none met"


def _optimum(measured: Measured) -> Section:
    rows = [(name, f"{e.mean:.1%}", f"{e.p95:.1%}", f"{e.worst:.1%}") for name, e in measured.excesses.items()]
    many = next(iter(measured.excesses.values())).corners
    says = (
        f"{many} corners of this knowledge, five causes with five checks that tell them apart, solved exactly by "
        "dynamic programming; what every way of asking is expected to take longer. The tool asks on until its "
        "leading cause is likely enough; 'minutes only' stops when no check pays for itself."
    )
    return Section(
        "Over the exact optimum", says, heads=("way of asking", "mean", "95th percentile", "worst"), rows=rows
    )


def _reliability(measured: Measured) -> Section:
    held = figures(measured.tool).calibration
    rows = [(f"{b.said:.1%}", f"{b.right:.1%} ± {b.margin:.1%}", f"{b.count}") for b in held.bins]
    says = (
        f"Expected calibration error {held.error:.3f}; over this many visits a perfectly calibrated tool would show "
        f"{held.by_chance:.3f}. Brier score {held.brier:.4f}, expected {held.brier_expected:.4f}. Ten equal groups."
    )
    heads = ("stated", "came true", "visits")
    return Section("Does what the tool states come true?", says, plots.reliability(held.bins), heads, rows)


def _robustness(measured: Measured) -> Iterator[Section]:
    conditions = measured.conditions
    says = "Upper line: every true cause among the first three; lower: first. The bars are 95 % intervals."
    yield Section(
        "Wrong answers",
        says,
        plots.falling(conditions, WRONG, "per cent of answers wrong", 100 * measured.kb.settings.slip),
    )
    yield Section(
        "Wrong knowledge", says, plots.falling(conditions, NOISE, "deviation of the noise on every log-odds", 0)
    )
    rows = []
    for name, outcomes in conditions.items():
        found, lost = figures(outcomes), lost_first(conditions[AS_WRITTEN], outcomes)
        fall = "" if name == AS_WRITTEN else f"{100 * lost.value:+.1f} ± {100 * lost.margin:.1f}"
        error = f"{found.calibration.error:.3f}"
        rows.append((name, _share(found.first), _share(found.first_three), fall, f"{found.minutes.value:.0f}", error))
    heads = ("condition", "true cause first", "among three", "points lost", "minutes", "calibration error")
    says = "Faults and answers are drawn from the knowledge as written; the tool reasons with the disturbed one."
    yield Section("All conditions", says, heads=heads, rows=rows)


def _alarm(measured: Measured) -> Section:
    found = alarms(measured.fits, measured.kb.settings.misfit_at)
    ways = {"every answer right": found.right, "an answer wrong by nature": found.wrong}
    ways |= {f"two answers spoilt: {way}": share for way, share in found.spoilt.items()}
    rows = [(way, percent(share)) for way, share in ways.items()]
    says = "Finished visits in which the tool says that the answers do not fit together, as they were and spoilt."
    return Section("Answers that do not fit together", says, heads=("visits", "flagged"), rows=rows)


def _confused(measured: Measured) -> Section:
    causes = measured.kb.causes
    rows = [
        (clean(causes[a].says), clean(causes[b].says), f"{n}") for (a, b), n in confusions(measured.tool, MOST_ROWS)
    ]
    says = "Single faults that did not come first."
    return Section("Most confused", says, heads=("true cause", "put first instead", "visits"), rows=rows)


def _checks(measured: Measured) -> Section:
    rows = [
        (
            clean(measured.kb.checks[w.check].ask),
            f"{w.share:.0%}",
            f"{w.minutes:.1f}",
            f"{w.saves:.0f}",
            f"{w.bits:.2f}",
            _about(w.lost) if w.lost else "not run",
        )
        for w in measured.checks[:MOST_ROWS]
    ]
    says = (
        "Saved minutes and bits as promised when the check was chosen. The last column runs the visits that asked it "
        "again, with the same faults and answers, without this check: minutes more per such visit."
    )
    heads = ("check", "asked in", "minutes", "saves", "bits", "lost without it")
    return Section("What each check is worth", says, heads=heads, rows=rows)


def _causes(measured: Measured) -> Section:
    rows = [
        (clean(measured.kb.causes[n.cause].says), f"{n.value:.2f}", _about(n.wasted),
         f"{n.probability:.1%}", f"{n.named:.0%}", f"{n.wasted.count}")
        for n in measured.causes[:MOST_ROWS]
    ]  # fmt: skip
    says = (
        "A perfect check of five minutes for one cause, asked only where it is that cause, would save at most its "
        "probability times the minutes its visits lose against naming it at once. Causes met too rarely are left out."
    )
    heads = ("cause", "minutes per visit", "lost in its visits", "probability", "named first", "visits")
    return Section("Where a new check would help most", says, heads=heads, rows=rows)
