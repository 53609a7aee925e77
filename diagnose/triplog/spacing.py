"""Inside the minute: trips at an exact spacing or its multiples, and trips in bursts. On single trips.

The log falls into sessions, trips with no long silence between them. A spacing shows as power at one frequency in the
sessions together (each at its own phase); for trips at random the sum over m sessions of |S|²/n follows a gamma
distribution with m, which prices every frequency that was looked at.
"""

from dataclasses import replace
from math import log

import numpy as np

from diagnose.triplog.episodes import resolution, starts
from diagnose.triplog.exact import chi_square_above
from diagnose.triplog.records import DAY_S, Bools, Count, Floats, Log, Tested
from diagnose.triplog.scan import day_spread, tested
from diagnose.words import say

SILENCE_S = 900.0
SHORTEST_S, LONGEST_S = 4.0, 300.0
BURST_S = 60.0
_ONE_TRIP_S = 1.5
_STEP_S = 0.5
_SESSION_S = 3600.0
_LEAST_IN_SESSION = 4
_MOST_SESSIONS = 400
_SHARPENED = 60
_NEAR = 0.1
_TURNS = 3.0
_LEAST_DAYS = 3
_LEAST_GAPS = 8
_BURST_HOUR_S = 3600.0
_BURST_TRIPS = 5
_LEAST_BURSTS = 6
_LEAST_IN_BURSTS = 0.3
_BURST_RATIO = 2.0


def spacing(log_: Log) -> Tested | None:
    """The exact spacing that the trips keep within their sessions."""
    trips = log_.trips[starts(log_.trips, _ONE_TRIP_S)]
    step = resolution(log_.trips)
    sessions = _sessions(trips)
    if not sessions:
        return None
    found = _peak(sessions, max(SHORTEST_S, 4 * step))
    if found is None:
        return None
    period, p, searched = found
    return _as_tested(trips, period, p, searched, log_)


def _sessions(trips: Floats) -> list[Floats]:
    """The largest sessions, cut at an hour, each from its own beginning."""
    cuts = np.concatenate([[0], np.flatnonzero(np.diff(trips) > SILENCE_S) + 1, [len(trips)]])
    found = []
    for first in np.flatnonzero(np.diff(cuts) >= _LEAST_IN_SESSION):
        since = trips[cuts[first] : cuts[first + 1]] - trips[cuts[first]]
        found += np.split(since, np.searchsorted(since, np.arange(_SESSION_S, since[-1], _SESSION_S)))
    kept = [s - s[0] for s in found if len(s) >= _LEAST_IN_SESSION and np.ptp(s) >= _TURNS * SHORTEST_S]
    return sorted(kept, key=len, reverse=True)[:_MOST_SESSIONS]


def _peak(sessions: list[Floats], shortest: float) -> tuple[float, float, float] | None:
    """Period, p and the number of frequencies, of the strongest peak."""
    size = 1 << int(np.ceil(np.log2(2 * max(float(s[-1]) for s in sessions) / _STEP_S + 2)))
    frequency = np.asarray(np.fft.rfftfreq(size, _STEP_S), np.float64)
    power, many = np.zeros(len(frequency)), np.zeros(len(frequency))
    for session in sessions:
        counted = np.bincount((session / _STEP_S).astype(np.int64), minlength=size)
        fits = frequency >= _TURNS / max(float(session[-1]), 1.0)
        power += np.where(fits, np.abs(np.fft.rfft(counted, size)) ** 2 / len(session), 0.0)
        many += fits
    usable = (frequency >= 1 / LONGEST_S) & (frequency <= 1 / shortest) & (many > 0)
    if not usable.any():
        return None
    level = max(1.0, float(np.median(power[usable] / many[usable])) / log(2))
    over = np.where(usable, (power / level - many) / np.sqrt(np.maximum(many, 1)), 0.0)
    if over.max() <= 0:
        return None
    at = _fundamental(over, int(np.argmax(over)), frequency)
    searched = float(usable.sum())
    p = min(1.0, searched * chi_square_above(2 * power[at] / level, 2 * many[at]))
    return _sharper(sessions, 1 / float(frequency[at])), p, searched


def _fundamental(over: Floats, at: int, frequency: Floats) -> int:
    """The slowest beat of which the strongest peak is a harmonic."""
    for k in range(int(LONGEST_S * frequency[at]), 1, -1):
        near = range(max(1, round(at / k) - 1), round(at / k) + 2)
        best = max(near, key=lambda i: over[i])
        if over[best] > 0.5 * over[at] and abs(best * k - at) <= k:
            return best
    return at


def _sharper(sessions: list[Floats], period: float) -> float:
    tries = period * (1 + np.linspace(-0.03, 0.03, 121))
    wave = 2j * np.pi / tries[:, None]
    agree = np.sum([np.abs(np.exp(wave * s).sum(1)) ** 2 / len(s) for s in sessions[:_SHARPENED]], axis=0)
    return float(tries[int(np.argmax(agree))])


def _as_tested(trips: Floats, period: float, p: float, searched: float, log_: Log) -> Tested | None:
    """Told as steps from trip to trip that are whole multiples of the spacing."""
    gaps = np.diff(trips)
    near_enough = gaps < SILENCE_S
    off = np.abs(gaps / period - np.round(gaps / period))
    whole = near_enough & (off < _NEAR) & (np.round(gaps / period) >= 1)
    if near_enough.sum() < _LEAST_GAPS:
        return None
    count = Count(
        say("triplog.spacing_of", period=seconds_says(period)), int(whole.sum()), int(near_enough.sum()), 2 * _NEAR
    )
    kept = np.zeros(len(trips), bool)
    kept[:-1] |= whole
    kept[1:] |= whole
    found = tested("spacing", count, searched, None, _day_spread(trips[1:][near_enough], whole[near_enough], log_))
    days = len(np.unique(log_.clock.local(trips[kept]) // DAY_S))
    p = max(found.p, p) if days >= _LEAST_DAYS else 1.0
    return replace(found, p=p, members=trips[kept])


def seconds_says(period: float) -> str:
    """'42.0 s', or minutes from two on."""
    if period < 120:
        return say("triplog.beat_seconds", number=f"{period:.1f}")
    return say("present.minutes", number=f"{period / 60:.2f}")


def _day_spread(times: Floats, inside: Bools, log_: Log) -> float:
    day = (log_.clock.local(times) // DAY_S).astype(np.int64)
    return day_spread(day - day.min(), inside)


def bursts(log_: Log) -> Tested | None:
    """Bursts of five trips and more, each within a minute of the one before, more than their hour's rate gives."""
    trips = log_.trips[starts(log_.trips, _ONE_TRIP_S)]
    if len(trips) < _LEAST_GAPS:
        return None
    follows = np.diff(trips) <= BURST_S
    number = np.concatenate([[0], np.cumsum(~follows)])
    size = np.bincount(number)[number]
    within = size >= _BURST_TRIPS
    count = Count(say("triplog.in_bursts", n=_BURST_TRIPS), int(within.sum()), len(trips), _expected(trips))
    test = tested("bursts", count, 1, None, _day_spread(trips, within, log_))
    days = len(np.unique(log_.clock.local(trips[within]) // DAY_S))
    if (
        days < _LEAST_DAYS
        or len(np.unique(number[within])) < _LEAST_BURSTS
        or within.mean() < _LEAST_IN_BURSTS
        or test.low < _BURST_RATIO
    ):
        return Tested("bursts", count, test.ratio, test.low, test.high, 1.0, min(0.0, test.log_bayes), 1)
    return replace(test, members=trips[within])


def _expected(trips: Floats) -> float:
    """Share of the trips that would follow one within a minute if they came evenly through their hour."""
    half = _BURST_HOUR_S / 2
    around = np.searchsorted(trips, trips + half) - np.searchsorted(trips, trips - half) - 1
    return float(np.clip(1 - np.exp(-around / _BURST_HOUR_S * BURST_S), 1e-4, 0.999).mean())
