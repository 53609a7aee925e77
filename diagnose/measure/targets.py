"""The measured figures beside what was aimed at, reached or not. Numbers T8 to T18 are the project's own targets."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isnan

from diagnose.measure.alarm import alarms
from diagnose.measure.calibration import Calibration, calibration
from diagnose.measure.collect import Measured
from diagnose.measure.conditions import AS_WRITTEN
from diagnose.measure.figures import Mean, difference, figures
from diagnose.measure.simulate import SimulatedVisit
from diagnose.measure.words import condition_says, spoilt_says, way_says
from diagnose.words import say

FEWEST_FOR_CALIBRATION = 5000
WRONG_AND_UNKNOWN = "wrong_5_unknown_10"
HALF, FULL = "noise_half", "noise_full"
SNAPPED = "snapped"
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
    return Aim(target, says, format(value, form), at_most(format(most, form)), value <= most)


def _at_least(target: str, says: str, value: Mean, least: float) -> Aim:
    reached = not isnan(value.value) and value.value >= least
    return Aim(target, says, percent(value), at_least(f"{least:.0%}"), reached)


def percent(value: Mean) -> str:
    """Share with its 95 % interval and how many it rests on."""
    if not value.count:
        return say("measure.none_met")
    return say("measure.share_of", share=f"{value.value:.1%} ± {value.margin:.1%}", count=value.count)


def at_most(most: str) -> str:
    return say("measure.at_most", most=most)


def at_least(least: str) -> str:
    return say("measure.at_least", least=least)


def _optimum(measured: Measured) -> Iterator[Aim]:
    for name in ("minutes_only", "tool"):
        if found := measured.excesses.get(name):
            shown = (("mean", found.mean, 0.025), ("p95", found.p95, 0.08), ("worst", found.worst, 0.15))
            for which, value, most in shown:
                says = say(f"measure.optimum_{which}", way=way_says(name), corners=found.corners)
                yield _at_most("T8", says, value, most)


def _baselines(measured: Measured) -> Iterator[Aim]:
    ours = figures(measured.tool).minutes.value
    for name, least in (("no_checks", 0.15), ("fixed_order", 0.15), ("entropy", 0.10)):
        if name in measured.policies:
            saved = 1.0 - ours / figures(measured.policies[name]).minutes.value
            yield Aim(
                "T9",
                say("measure.minutes_below", way=way_says(name)),
                f"{saved:.0%}",
                at_least(f"{least:.0%}"),
                saved >= least,
            )


def _questions(measured: Measured) -> Iterator[Aim]:
    found = figures(measured.tool)
    yield _at_most("T10", say("measure.checks_mean"), found.checks.value, 7, ".1f")
    yield _at_most("T10", say("measure.checks_long"), found.most_checks, 12, ".0f")
    bound = found.least_checks
    yield _at_most(
        "T10", say("measure.checks_over_bound", bound=f"{bound:.1f}"), found.checks.value / bound, 2, ".1f"
    )
    yield from _calibrated("visits", found.calibration, found.cases)
    if measured.inference:
        said, right = zip(*measured.inference, strict=True)
        yield from _calibrated("random", calibration(said, right), len(said))


def _calibrated(over: str, held: Calibration, cases: int) -> Iterator[Aim]:
    measured = say("measure.error_shown", error=f"{held.error:.3f}", by_chance=f"{held.by_chance:.3f}", cases=cases)
    wanted = say("measure.error_wanted", cases=FEWEST_FOR_CALIBRATION)
    enough = cases >= FEWEST_FOR_CALIBRATION
    yield Aim("T12", say(f"measure.error_over_{over}"), measured, wanted, enough and held.error <= 0.02)
    off = abs(held.surplus) / held.standard_error if held.standard_error else 0.0
    says = say("measure.surplus_shown", surplus=f"{held.surplus:+.3f}", errors=f"{off:.1f}")
    yield Aim("T12", say(f"measure.surplus_over_{over}"), says, say("measure.within", most=3), held.consistent)
    ratio = held.brier / held.brier_expected - 1.0
    margin = held.brier_margin / held.brier_expected
    says = f"{held.brier:.4f}, {ratio:+.1%} ± {margin:.1%}"
    yield Aim("T12", say(f"measure.brier_over_{over}"), says, say("measure.within", most="2%"), abs(ratio) <= 0.02)


def _robust(measured: Measured) -> Iterator[Aim]:
    if not measured.conditions:
        return
    hard = figures(measured.conditions[WRONG_AND_UNKNOWN])
    under = condition_says(WRONG_AND_UNKNOWN)
    yield _at_least("T11", say("measure.hard_first", condition=under), hard.listed_first, 0.80)
    yield _at_least("T11", say("measure.hard_three", condition=under), hard.listed_three, 0.95)
    yield _at_least("T11", say("measure.hard_both", condition=under), hard.both_in_three, 0.80)
    for name, target, error, loss in DISTURBED:
        lost = lost_first(measured.conditions[AS_WRITTEN], measured.conditions[name])
        says = say("measure.points", points=f"{100 * lost.value:.1f} ± {100 * lost.margin:.1f}")
        most = at_most(say("measure.points", points=f"{100 * loss:.0f}"))
        yield Aim(
            target, say("measure.accuracy_lost", condition=condition_says(name)), says, most, lost.value <= loss
        )
        if error < 1.0:
            found = figures(measured.conditions[name]).calibration.error
            yield _at_most(target, say("measure.error_under", condition=condition_says(name)), found, error, ".3f")


def lost_first(written: Sequence[SimulatedVisit], other: Sequence[SimulatedVisit]) -> Mean:
    """Share of visits with every true cause on top, as written minus under the condition, over the same faults."""
    return difference([o.first() for o in written], [o.first() for o in other])


def _alarm(measured: Measured) -> Iterator[Aim]:
    if not measured.fits:
        return
    found = alarms(measured.fits, measured.kb.settings.misfit_at)
    says = at_most(f"{0.05:.0%}")
    yield Aim("T18", say("measure.right_flagged"), percent(found.right), says, found.right.value <= 0.05)
    for way, share in found.spoilt.items():
        yield _at_least("T18", say("measure.flagged", visits=spoilt_says(way)), share, 0.80)
