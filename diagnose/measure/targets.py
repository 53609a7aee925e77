"""The measured figures beside what was aimed at, reached or not. Numbers T8 to T18 are the project's own targets."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isnan

from diagnose.measure.alarm import alarms
from diagnose.measure.calibration import Calibration, calibration
from diagnose.measure.collect import Measured
from diagnose.measure.conditions import AS_WRITTEN
from diagnose.measure.figures import Mean, difference, figures
from diagnose.measure.simulate import Outcome

FEWEST_FOR_CALIBRATION = 5000
WRONG_AND_UNKNOWN = "5 % wrong and 10 % unknown"
HALF, FULL = "noise of 0.5 on every log-odds", "noise of 1.0 on every log-odds"
SNAPPED = "snapped to seven points"
# (condition, target, most calibration error, most points of accuracy lost)
DISTURBED = ((HALF, "T13", 0.05, 0.05), (FULL, "T13", 0.10, 0.10), (SNAPPED, "T14", float("inf"), 0.03))


@dataclass(frozen=True, slots=True)
class Aim:
    """One target: what was measured and what was wanted, in words, and whether it is reached."""

    target: str
    says: str
    measured: str
    wanted: str
    reached: bool


def aims(measured: Measured) -> list[Aim]:
    """Every target that the run allows to judge, in the order of their numbers."""
    parts = (_optimum, _baselines, _questions, _robust, _alarm)
    return sorted((aim for part in parts for aim in part(measured)), key=lambda a: int(a.target[1:]))


def _at_most(target: str, says: str, value: float, most: float, form: str = ".1%") -> Aim:
    return Aim(target, says, format(value, form), f"at most {most:{form}}", value <= most)


def _at_least(target: str, says: str, value: Mean, least: float) -> Aim:
    reached = not isnan(value.value) and value.value >= least
    return Aim(target, says, percent(value), f"at least {least:.0%}", reached)


def percent(value: Mean) -> str:
    """Share with its 95 % interval and how many it rests on."""
    return f"{value.value:.1%} ± {value.margin:.1%} of {value.count}" if value.count else "none met"


def _optimum(measured: Measured) -> Iterator[Aim]:
    for name in ("tool, minutes only", "tool"):
        if found := measured.excesses.get(name):
            says = f"{name}: over the exact optimum on {found.corners} small problems"
            yield _at_most("T8", f"{says}, mean", found.mean, 0.025)
            yield _at_most("T8", f"{says}, 95th percentile", found.p95, 0.08)
            yield _at_most("T8", f"{says}, worst", found.worst, 0.15)


def _baselines(measured: Measured) -> Iterator[Aim]:
    ours = figures(measured.tool).minutes.value
    for name, least in (("no checks", 0.15), ("fixed order", 0.15), ("entropy per minute", 0.10)):
        if name in measured.policies:
            saved = 1.0 - ours / figures(measured.policies[name]).minutes.value
            yield Aim("T9", f"minutes below '{name}'", f"{saved:.0%}", f"at least {least:.0%}", saved >= least)


def _questions(measured: Measured) -> Iterator[Aim]:
    found = figures(measured.tool)
    yield _at_most("T10", "checks of a mean visit", found.checks.value, 7, ".1f")
    yield _at_most("T10", "checks of a long visit, 95th percentile", found.most_checks, 12, ".0f")
    bound = found.least_checks
    yield _at_most("T10", f"checks over the entropy bound of {bound:.1f}", found.checks.value / bound, 2, ".1f")
    yield from _calibrated("whole visits", found.calibration, found.cases)
    if measured.inference:
        said, right = zip(*measured.inference, strict=True)
        yield from _calibrated("random answers", calibration(said, right), len(said))


def _calibrated(over: str, held: Calibration, cases: int) -> Iterator[Aim]:
    measured = f"{held.error:.3f} ({held.by_chance:.3f} were it perfect, {cases} cases)"
    wanted = f"at most 0.020 on at least {FEWEST_FOR_CALIBRATION} cases"
    enough = cases >= FEWEST_FOR_CALIBRATION
    yield Aim("T12", f"{over}: expected calibration error", measured, wanted, enough and held.error <= 0.02)
    off = abs(held.surplus) / held.standard_error if held.standard_error else 0.0
    says = f"{held.surplus:+.3f}, {off:.1f} standard errors"
    yield Aim("T12", f"{over}: stated minus come true", says, "within 3", held.consistent)
    ratio = held.brier / held.brier_expected - 1.0
    margin = held.brier_margin / held.brier_expected
    says = f"{held.brier:.4f}, {ratio:+.1%} ± {margin:.1%}"
    yield Aim("T12", f"{over}: Brier score against what it must be", says, "within 2%", abs(ratio) <= 0.02)


def _robust(measured: Measured) -> Iterator[Aim]:
    if not measured.conditions:
        return
    hard = figures(measured.conditions[WRONG_AND_UNKNOWN])
    yield _at_least("T11", f"{WRONG_AND_UNKNOWN}: single listed fault first", hard.listed_first, 0.80)
    yield _at_least("T11", f"{WRONG_AND_UNKNOWN}: among the first three", hard.listed_three, 0.95)
    yield _at_least("T11", f"{WRONG_AND_UNKNOWN}: both of two faults among three", hard.both_in_three, 0.80)
    for name, target, error, loss in DISTURBED:
        lost = lost_first(measured.conditions[AS_WRITTEN], measured.conditions[name])
        says = f"{100 * lost.value:.1f} ± {100 * lost.margin:.1f} points"
        yield Aim(target, f"{name}: accuracy lost", says, f"at most {100 * loss:.0f} points", lost.value <= loss)
        if error < 1.0:
            found = figures(measured.conditions[name]).calibration.error
            yield _at_most(target, f"{name}: calibration error", found, error, ".3f")


def lost_first(written: Sequence[Outcome], other: Sequence[Outcome]) -> Mean:
    """Share of visits with every true cause on top, as written minus under the condition, over the same faults."""
    return difference([o.first() for o in written], [o.first() for o in other])


def _alarm(measured: Measured) -> Iterator[Aim]:
    if not measured.fits:
        return
    found = alarms(measured.fits, measured.kb.settings.misfit_at)
    says = f"at most {0.05:.0%}"
    yield Aim("T18", "visits with right answers flagged", percent(found.right), says, found.right.value <= 0.05)
    for way, share in found.spoilt.items():
        yield _at_least("T18", f"two answers spoilt, {way}: flagged", share, 0.80)
