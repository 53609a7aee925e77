"""Time in steps of five minutes with the exposure of each step: what a constant rate would give it."""

from dataclasses import dataclass, replace

import numpy as np

from diagnose.triplog.episodes import GAP_S, starts
from diagnose.triplog.records import DAY_S, Bools, Count, Floats, Ints, Log

STEP_S = 300.0
HOUR_S = 3600.0
_FEW_DAYS = 10


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """`middle` and `local` of each step in seconds, its `exposure` (sum 1), the local `day` (or the quarter of one in
    a short log) it belongs to, and the step of each episode and of each single trip."""

    middle: Floats
    local: Floats
    exposure: Floats
    day: Ints
    episodes: Floats
    at: Ints
    trips_at: Ints

    @property
    def hour(self) -> Floats:
        """Hour of the local day, 0 to 24, at the middle of each step."""
        return (self.local % DAY_S) / HOUR_S

    @property
    def hours(self) -> Ints:
        """Number of the hour of the log that each step is in."""
        return np.asarray((self.middle - self.middle[0]) // HOUR_S, np.int64)

    def hours_of(self, times: Floats) -> Ints:
        """The same for other times; what lies outside the log counts to its ends."""
        at = np.asarray((times - self.middle[0]) // HOUR_S, np.int64)
        return np.clip(at, 0, int((self.middle[-1] - self.middle[0]) // HOUR_S))

    def steps_of(self, times: Floats) -> Ints:
        """The step of other times; what lies outside the log counts to its ends."""
        at = ((times - self.middle[0]) / STEP_S + 0.5).astype(np.int64)
        return np.asarray(np.clip(at, 0, len(self.middle) - 1), np.int64)

    def count(self, detail: str, inside: Bools, among: Bools | None = None) -> Count:
        """Episodes and exposure inside a set of steps, against the rest of `among`."""
        known = np.ones(len(self.middle), bool) if among is None else among
        both = inside & known
        whole = float(self.exposure[known].sum())
        share = float(self.exposure[both].sum()) / whole if whole > 0 else 0.0
        return Count(detail, int(both[self.at].sum()), int(known[self.at].sum()), share)

    def reweighted(self, weight: Floats) -> "Grid":
        """The grid with a pattern already accounted for: exposure times its fitted rate."""
        exposure = self.exposure * weight
        return replace(self, exposure=exposure / exposure.sum())


def weekday(local: Floats) -> Ints:
    """Monday 0 to Sunday 6."""
    return np.asarray((local // DAY_S + 3) % 7, np.int64)  # 1 January 1970 was a Thursday


def kind_of_hour(local: Floats) -> Ints:
    """Hour of the day, 24 and more on weekends."""
    return np.asarray((local % DAY_S) // HOUR_S + 24 * (weekday(local) >= 5), np.int64)


def make_grid(log: Log, gap_s: float = GAP_S, unwatched: Floats | None = None) -> Grid:
    """The grid of a log; exposure is clock time alone, without outages and what else was not watched."""
    edges = np.arange(np.floor(log.begin / STEP_S), np.ceil(log.end / STEP_S) + 1) * STEP_S
    if len(edges) < 2:
        edges = np.array([edges[0], edges[0] + STEP_S])
    covered = _covered(log, edges, unwatched)
    trips = np.clip(((log.trips - edges[0]) // STEP_S).astype(np.int64), 0, len(edges) - 2)
    first = starts(log.trips, gap_s)
    middle = (edges[:-1] + edges[1:]) / 2
    local = log.clock.local(middle)
    return Grid(middle, local, covered / covered.sum(), _blocks(local), log.trips[first], trips[first], trips)


def _covered(log: Log, edges: Floats, unwatched: Floats | None) -> Floats:
    """Seconds of each step in which the log ran. A step with a trip in it ran, whatever an outage says."""
    seconds = np.clip(edges[1:], log.begin, log.end) - np.clip(edges[:-1], log.begin, log.end)
    for lost in (log.outages.reshape(-1, 2), unwatched):
        seconds = seconds if lost is None else seconds - np.diff(_lost_before(edges, lost))
    at = np.clip(((log.trips - edges[0]) // STEP_S).astype(np.int64), 0, len(seconds) - 1)
    seconds[at] = np.maximum(seconds[at], 1.0)
    seconds = np.maximum(seconds, 0.0)
    return seconds if seconds.sum() > 0 else np.ones(len(seconds))


def _lost_before(moments: Floats, outages: Floats) -> Floats:
    """Seconds of outages before each moment; outages are in order and do not overlap."""
    if not len(outages):
        return np.zeros(len(moments))
    begin, lasting = outages[:, 0], outages[:, 1] - outages[:, 0]
    before = np.searchsorted(begin, moments, "right")
    whole = np.concatenate([[0.0], np.cumsum(lasting)])
    at = np.maximum(before - 1, 0)
    within = np.minimum(moments - begin[at], lasting[at])
    return np.where(before > 0, whole[at] + within, 0.0)


def _blocks(local: Floats) -> Ints:
    """Days, or quarters of a day in a short log: what happens in one of them may have one reason."""
    long = local[-1] - local[0] >= _FEW_DAYS * DAY_S
    block = (local // (DAY_S if long else DAY_S / 4)).astype(np.int64)
    return np.asarray(block - block[0])
