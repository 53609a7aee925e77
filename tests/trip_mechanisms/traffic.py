"""What every log holds beside the trouble: vehicles let in, outages, walk tests, and a gate that moves for them."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tests.trip_mechanisms.clock import DAY, HOUR, Floats
from tests.trip_mechanisms.model import Span
from tests.trip_mechanisms.site import Site

# vehicles by hour, on days of work and on the others
PROFILES = (
    ((0, 0, 0, 0, 0.1, 0.6, 3, 6, 5, 3, 2, 2, 3, 3, 2, 2, 4, 6, 4, 2, 1, 0.5, 0.2, 0.1),
     (0.2, 0.1, 0, 0, 0, 0, 0.2, 0.5, 1, 2, 2, 2, 2, 1, 1, 2, 2, 2, 1, 1, 1, 0.5, 0.4, 0.3)),
    ((0.2, 0.1, 0.1, 0.2, 1, 5, 6, 4, 3, 3, 3, 2, 2, 3, 4, 4, 3, 2, 1, 0.5, 0.3, 0.2, 0.2, 0.2),
     (0, 0, 0, 0, 0, 1, 2, 2, 2, 1, 1, 1, 1, 1, 0.5, 0.5, 0.3, 0.2, 0, 0, 0, 0, 0, 0)),
    ((0.5, 0.3, 0.2, 0.1, 0.2, 1, 3, 5, 3, 1, 1, 1, 2, 1, 1, 2, 3, 5, 6, 5, 3, 2, 1.5, 1),
     (1, 0.7, 0.4, 0.2, 0.1, 0.1, 0.4, 1, 2, 3, 4, 4, 3, 3, 3, 3, 3, 3, 3, 3, 2, 2, 2, 1.5)),
    ((0.3, 0.3, 0.3, 0.3, 0.5, 4, 3, 1, 1, 1, 1, 1, 1, 4, 3, 1, 1, 1, 1, 1, 1, 4, 3, 0.5),
     (0.1, 0.1, 0.1, 0.1, 0.2, 1, 1, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 1, 1, 0.2, 0.2, 0, 0, 0, 0, 0, 0, 0)),
)  # fmt: skip


@dataclass(frozen=True)
class Vehicle:
    asked: float
    opener: int
    trips: tuple[float, ...]
    late: bool = False  # far later than others from the same opener: no window can be learned that holds it


@dataclass(frozen=True)
class Walk:
    begin: float
    end: float
    trips: Floats


def vehicles_of(site: Site) -> list[Vehicle]:
    """Each opener has its own way to the gate, learned only by looking at the log."""
    rng = site.rng
    ways = [(float(rng.uniform(4, 20)), float(rng.uniform(5, 14))) for _ in site.openers]
    came = _arrivals(site)
    return [_vehicle(site, float(t), int(rng.choice(site.openers)), ways) for t in came]


def _vehicle(site: Site, asked: float, opener: int, ways: list[tuple[float, float]]) -> Vehicle:
    rng, (least, width) = site.rng, ways[opener]
    delay = least + width * float(rng.beta(2, 2))
    if rng.random() < 0.008:
        return Vehicle(asked, opener, (asked + delay + float(rng.uniform(width, 40)),), late=True)
    kind = rng.random()
    if kind < 0.03:  # opens and drives nowhere
        return Vehicle(asked, opener, ())
    if kind < 0.08:  # with a trailer
        return Vehicle(asked, opener, (asked + delay, asked + delay + float(rng.uniform(2, 6))))
    return Vehicle(asked, opener, (asked + delay,))


def _arrivals(site: Site) -> Floats:
    rng = site.rng
    days = np.arange(site.days, dtype=float)
    work = site.weekday(days) < 5
    weights = [np.array(x) / sum(x) for x in PROFILES[rng.integers(len(PROFILES))]]
    size = np.where(work, rng.uniform(*site.wish.busy), rng.uniform(1, 7))
    size = size * np.linspace(1.0, site.wish.growth, site.days)
    many = rng.poisson(size[:, None] * np.where(work[:, None], weights[0], weights[1]))
    day, hour = (np.repeat(x.ravel(), many.ravel()) for x in np.indices(many.shape))
    came = site.at(day.astype(float), hour * HOUR + rng.uniform(0, HOUR, len(day)))
    came = came[rng.random(len(came)) < 0.98]
    return np.sort(np.concatenate([came, _deliveries(site, days)]))


def _deliveries(site: Site, days: Floats) -> Floats:
    if not site.wish.delivery:
        return np.zeros(0)
    some = days[site.weekday(days) < 6]
    return site.at(some, site.delivery + site.rng.normal(0, 200, len(some)))


def outages_of(site: Site) -> tuple[Span, ...]:
    """Hours of which the log holds nothing; never in the first and the last day."""
    rng, wish = site.rng, site.wish
    begins = np.sort(rng.uniform(site.begin + DAY, site.end - 2 * DAY, rng.integers(*wish.outages, endpoint=True)))
    spans = [(float(b), float(b + HOUR * rng.uniform(*wish.outage_hours))) for b in begins]
    return tuple(a for a, b in pairwise([*spans, (np.inf, np.inf)]) if a[1] + HOUR < b[0])


def walks_of(site: Site, outages: tuple[Span, ...]) -> list[Walk]:
    """Somebody walks through the field again and again, within minutes, in working hours."""
    rng, out = site.rng, []
    for day in rng.uniform(1, site.days - 1, rng.integers(1, 4)):
        begin = float(site.at(np.floor(np.array([day])), float(rng.uniform(8, 16)) * HOUR)[0])
        trips = begin + np.sort(rng.uniform(0, rng.uniform(180, 600), rng.integers(8, 26)))
        walk = Walk(begin - float(rng.uniform(40, 200)), float(trips[-1]) + float(rng.uniform(40, 300)), trips)
        if not any(a < walk.end and walk.begin < b for a, b in outages):
            out.append(walk)
    return out
