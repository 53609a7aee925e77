"""A site for one log: where it lies, when the log begins, how it is used, and what its gate writes."""

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property

import numpy as np

from tests.trip_mechanisms.clock import CHANGING, DAY, HOUR, Clock, Floats, Rng, fixed
from tests.trip_mechanisms.lexicon import BARE, LEXICONS, WHOLE, Layout, Lexicon
from tests.trip_mechanisms.model import Wish


@dataclass(frozen=True)
class Site:
    rng: Rng
    wish: Wish
    clock: Clock
    first: float  # the wall's midnight on the first day
    days: int
    latitude: float
    longitude: float
    lexicon: Lexicon
    layout: Layout
    openers: tuple[int, ...]
    moves: str
    acts: bool
    service_words: bool
    power_words: bool
    told: bool  # the position is known
    weather: bool
    delivery: float  # second of the day of a vehicle that comes every working day

    @cached_property
    def begin(self) -> float:
        return float(self.clock.utc(np.array([self.first]))[0])

    @cached_property
    def end(self) -> float:
        return float(self.clock.utc(np.array([self.first + self.days * DAY]))[0])

    def at(self, days: Floats, seconds: Floats | float) -> Floats:
        """The moments when the wall shows so many seconds after midnight of these days."""
        return self.clock.utc(self.first + days * DAY + seconds)

    def weekday(self, days: Floats) -> Floats:
        return (self.first / DAY + days + 3) % 7


def settle(wish: Wish, rng: Rng) -> Site:
    days = int(rng.integers(wish.days[0], wish.days[1] + 1))
    changing = _coin(rng, wish.changing, 0.5)
    south = not changing and not wish.months and rng.random() < 0.2
    clock, first, ahead = _when(wish, rng, days, changing)
    low, high = (-42.0, -25.0) if south else (36.0, 58.0)
    return Site(
        rng, wish, clock, first, days,
        latitude=round(float(rng.uniform(low, high)), 2),
        longitude=round(15.0 * ahead + float(rng.uniform(-7, 7)), 2),
        lexicon=LEXICONS[rng.integers(len(LEXICONS))],
        layout=_layout(wish, rng),
        openers=tuple(int(i) for i in range(rng.integers(1, 4))),
        moves=wish.moves or str(rng.choice(["all", "all", "ends", "closed", "none"])),
        acts=_coin(rng, wish.acts, 0.25),
        service_words=_coin(rng, None, 0.5),
        power_words=_coin(rng, wish.power_words, 0.5),
        told=wish.look != "none" or _coin(rng, None, 0.5),
        weather=_coin(rng, wish.weather, 0.4),
        delivery=float(rng.integers(9, 35)) * 1800 + float(rng.integers(0, 1800)),
    )  # fmt: skip


def _coin(rng: Rng, wanted: bool | None, chance: float) -> bool:
    thrown = bool(rng.random() < chance)
    return thrown if wanted is None else wanted


def _layout(wish: Wish, rng: Rng) -> Layout:
    if wish.sensors == 1 and not wish.fine and rng.random() < 0.15:
        return BARE
    able = [x for x in WHOLE if x.digits or not wish.fine]
    return able[rng.integers(len(able))]


def _when(wish: Wish, rng: Rng, days: int, changing: bool) -> tuple[Clock, float, int]:
    """A zone and a first day, thrown until the clock changes in the middle where that is wished."""
    while True:
        zone, ahead = _zone(rng, changing)
        month = int(rng.choice(wish.months or range(1, 13)))
        date = datetime(int(rng.integers(2023, 2028)), month, int(rng.integers(1, 29)), tzinfo=UTC)
        first = date.timestamp()
        clock = Clock(zone, first, first + days * DAY)
        if not wish.changing or _in_the_middle(clock, first, days):
            return clock, first, ahead


def _zone(rng: Rng, changing: bool) -> tuple[str, int]:
    if changing:
        name = str(rng.choice(list(CHANGING)))
        return name, CHANGING[name]
    ahead = int(rng.integers(-9, 11))
    return fixed(ahead), ahead


def _in_the_middle(clock: Clock, first: float, days: int) -> bool:
    share = (clock.changes + 12 * HOUR - first) / (days * DAY)
    return bool(np.any((share > 0.3) & (share < 0.7)))
