"""What is explained is set aside before anything is tested, and every time it is said in figures what and why."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

import numpy as np

from diagnose.triplog.bursts import Burst, flags, walk_tests
from diagnose.triplog.episodes import joined, resolution
from diagnose.triplog.records import Aside, Bools, Clock, Floats, Ints, Weather
from diagnose.triplog.silences import Silence, profile, silences
from diagnose.triplog.vehicles import Lasting, LetIn, again, followers, lasting, learn, own_answers
from diagnose.words import say

REASONS = ("vehicles", "tests", "outages", "duplicates")
"""What can be kept instead of being set aside."""
_RARE = 30
"""An opening word as rare as this is learned together with the other rare ones."""
_LONGEST_WORK_S = 8 * 3600.0
_LONE_WORK_S = 30 * 60.0
_AFTER_POWER_S = 3600.0
_NAMED = 3


@dataclass(slots=True)
class Raw:
    """What one log holds: rising trips with sensor and duration, the times of each opening word, of service and
    supply words (and whether the word ends the work, or says that the supply went), and of every row."""

    trips: Floats
    sensor: Ints
    durations: Floats
    opens: Mapping[str, Floats]
    service: Floats
    service_ends: Ints
    power: Floats
    power_lost: Ints
    every: Floats
    clock: Clock
    weather: Weather | None = None
    out: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    all_trips: int = 0


@dataclass(slots=True)
class Left:
    """What is left of a log, and what was set aside on the way."""

    raw: Raw
    keep: Collection[str]
    opens: Floats = field(default_factory=lambda: np.zeros(0))
    outages: Floats = field(default_factory=lambda: np.zeros((0, 2)))
    returns: Floats = field(default_factory=lambda: np.zeros(0))
    aside: list[Aside] = field(default_factory=list)

    def drop(self, which: Bools, kind: str, says: str, **figures: object) -> None:
        """Set trips aside; the sentence has their number, how many there were in all and how many are left."""
        raw, count = self.raw, int(which.sum())
        times = raw.trips[which]
        raw.trips, raw.sensor, raw.durations = raw.trips[~which], raw.sensor[~which], raw.durations[~which]
        said = say(says, n=count, trips=raw.all_trips, left=len(raw.trips), **figures)
        self.aside.append(Aside(kind, count, said, times))

    def note(self, kind: str, count: int, says: str) -> None:
        """Something that takes no trips away."""
        self.aside.append(Aside(kind, count, says))


def set_aside(raw: Raw, keep: Collection[str] = ()) -> Left:
    """The log without what is explained. Reasons in `keep` are let alone."""
    left = Left(raw, keep)
    raw.all_trips = raw.all_trips or len(raw.trips)
    left.returns = raw.power[raw.power_lost == 0]
    if "outages" not in keep:
        _outages(left)
    if "tests" not in keep:
        _service(left)
    _vehicles(left)
    if "tests" not in keep:
        _bursts(left)
    left.outages = joined(np.concatenate([left.outages, raw.out]))
    return left


def _when(clock: Clock, utc: float) -> str:
    """Local day, hour and minute."""
    return str(np.datetime64(int(clock.local(np.array([utc]))[0] // 60), "m")).replace("T", " ")


def _long(seconds: float) -> str:
    return f"{seconds / 3600:.1f} h" if seconds >= 3600 else f"{max(1, round(seconds / 60))} min"


def _outages(left: Left) -> None:
    """Supply words first: what they tell is no riddle. Then silences that no such word explains."""
    raw = left.raw
    told = _by_words(raw)
    known = np.array(told, np.float64).reshape(-1, 2)
    if len(told):
        hours = float((known[:, 1] - known[:, 0]).sum())
        says = say("triplog.aside_power", n=len(told), hours=_long(hours), **_longest(raw.clock, known))
        left.note("outage", len(told), says)
    found = silences(raw.every, raw.clock, np.concatenate([known, raw.out]))
    for silence in sorted(found, key=_length, reverse=True)[:_NAMED]:
        left.note("silence", 1, _silence_says(raw.clock, silence))
    more = np.array([[s.begin, s.end] for s in found]).reshape(-1, 2)
    if len(found) > _NAMED:
        left.note("silence", len(found), say("triplog.aside_silences", n=len(found) - _NAMED))
    left.outages = np.concatenate([known, more])


def _length(silence: Silence) -> float:
    return silence.end - silence.begin


def _silence_says(clock: Clock, silence: Silence) -> str:
    first, last = _when(clock, silence.begin), _when(clock, silence.end)
    hours, expected = _long(_length(silence)), f"{silence.expected:.0f}"
    return say("triplog.aside_silence", first=first, last=last, hours=hours, expected=expected)


def _longest(clock: Clock, stretches: Floats) -> dict[str, str]:
    begin, end = stretches[np.argmax(stretches[:, 1] - stretches[:, 0])]
    return {"first": _when(clock, float(begin)), "last": _when(clock, float(end))}


def _by_words(raw: Raw) -> list[tuple[float, float]]:
    """From the word that the supply went to the word that it came back. Without the first, from when the next row
    was due after the last: nobody knows when the supply went, and a short restart cost nothing."""
    found: list[tuple[float, float]] = []
    since: float | None = None
    usual = profile(raw.every, raw.clock, raw.out)
    for time, lost in zip(raw.power.tolist(), raw.power_lost.tolist(), strict=True):
        if lost:
            since = time if since is None else since
            continue
        before = raw.every[: np.searchsorted(raw.every, time, "left")]
        last = float(before[-1]) if len(before) else time
        due = usual.next_after(last) if usual else last
        found.append((since if since is not None else due, time))
        since = None
    return [(a, b) for a, b in found if b > a]


def _service(left: Left) -> None:
    """Trips while somebody worked on the gate, by the log's own words."""
    raw = left.raw
    work = _worked(raw.service, raw.service_ends)
    inside = np.zeros(len(raw.trips), bool)
    for begin, end in work:
        inside |= (raw.trips >= begin) & (raw.trips <= end)
    if inside.any():
        left.drop(inside, "test", "triplog.aside_service", times=len(work), first=_when(raw.clock, work[0][0]))


def _worked(times: Floats, ends: Ints) -> list[tuple[float, float]]:
    """From each word that work begins to the word that it ends; without one, half an hour on."""
    found: list[tuple[float, float]] = []
    since: float | None = None
    for time, over in zip(times.tolist(), ends.tolist(), strict=True):
        if over and since is None:
            found.append((time - _LONE_WORK_S, time))
        elif over and since is not None:
            found.append((since if time - since <= _LONGEST_WORK_S else time - _LONE_WORK_S, time))
            since = None
        else:
            found += [(since, since + _LONE_WORK_S)] if since is not None else []
            since = time
    return [*found, (since, since + _LONE_WORK_S)] if since is not None else found


def _vehicles(left: Left) -> None:
    """Vehicles let in, word by word, and the gate's own openings, which let nobody in."""
    raw, step = left.raw, resolution_of(left.raw)
    everything = np.sort(np.concatenate([np.zeros(0), *raw.opens.values()]))
    own = own_answers(everything, raw.trips, step)
    if own.any():
        left.note("chain", int(own.sum()), say("triplog.aside_chain", n=int(own.sum()), openings=len(everything)))
    left.opens = everything[~own]
    if "vehicles" in left.keep:
        return
    people = {word: np.sort(t[~np.isin(t, everything[own])]) for word, t in _by_word(raw.opens).items()}
    windows = {word: learn(times, raw.trips, step) if len(times) else None for word, times in people.items()}
    told = _told_by_lasting(raw, people, windows)
    for word in sorted(people, key=lambda w: -len(people[w])):
        _let_in(left, word, people[word], windows[word], told)
    if step <= 1:
        _again(left, np.sort(np.concatenate([np.zeros(0), *(a.times for a in left.aside if a.kind == "vehicles")])))


def _told_by_lasting(raw: Raw, people: Mapping[str, Floats], windows: Mapping[str, LetIn | None]) -> Lasting | None:
    """What durations tell the vehicles of all words by: those of one word are no other trips to another."""
    vehicles = np.zeros(len(raw.trips), bool)
    for word, window in windows.items():
        if window is not None:
            vehicles |= _flagged(followers(people[word], raw.trips, window, ~vehicles), len(raw.trips))
    return lasting(raw.durations, vehicles)


def resolution_of(raw: Raw) -> float:
    """Seconds to which the log tells times: a minute or a second."""
    return max(1.0, resolution(raw.every)) if len(raw.every) > 1 else 1.0


def _by_word(opens: Mapping[str, Floats]) -> dict[str, Floats]:
    """Each opening word that is common enough to learn from, and the rare ones together."""
    common = {word: times for word, times in opens.items() if len(times) >= _RARE}
    rare = {word: times for word, times in opens.items() if len(times) < _RARE and len(times)}
    if not rare:
        return common
    return {**common, ", ".join(rare): np.concatenate(list(rare.values()))}


def _let_in(left: Left, word: str, people: Floats, window: LetIn | None, told: Lasting | None) -> None:
    raw = left.raw
    if window is None:
        if len(people) >= _RARE:
            left.note("unexplained", 0, say("triplog.aside_no_window", word=word, n=len(people)))
        return
    if told is not None:
        vehicles = _by_lasting(raw, people, window, told)
    else:
        vehicles = _flagged(followers(people, raw.trips, window, np.ones(len(raw.trips), bool)), len(raw.trips))
    after = f"{np.floor(window.first):.0f}", f"{np.ceil(window.last):.0f}"
    unit = say("triplog.seconds" if window.step <= 1 else "triplog.seconds_to_the_minute")
    left.drop(
        vehicles, "vehicles", "triplog.aside_vehicles", first=after[0], last=after[1], word=word, unit=unit,
        openings=len(people), durations=_durations_say(told, raw.durations),
    )  # fmt: skip


def _by_lasting(raw: Raw, people: Floats, window: LetIn, told: Lasting) -> Bools:
    """The first trip that lasts as vehicles do; where an opening has none in the window, the first of any length:
    that nobody came and something else tripped in these very seconds is the rarer story."""
    long = raw.durations >= told.limit
    first = followers(people, raw.trips, window, (long if told.longer else ~long) | np.isnan(raw.durations))
    found = _flagged(first, len(raw.trips))
    return found | _flagged(followers(people[first < 0], raw.trips, window, ~found), len(raw.trips))


def _again(left: Left, vehicles: Floats) -> None:
    """A second trip so soon after a vehicle's is the same vehicle: an axle, a trailer. Where it is no exception, it
    is something else, and stays."""
    raw = left.raw
    window = again(vehicles, raw.trips) if len(vehicles) else None
    if window is None:
        return
    which = _flagged(followers(vehicles, raw.trips, window, np.ones(len(raw.trips), bool)), len(raw.trips))
    first, last = f"{np.floor(window.first):.0f}", f"{np.ceil(window.last):.0f}"
    left.drop(which, "vehicles", "triplog.aside_again", first=first, last=last)


def _flagged(which: Ints, size: int) -> Bools:
    found = np.zeros(size, bool)
    found[which[which >= 0]] = True
    return found


def _durations_say(told: Lasting | None, durations: Floats) -> str:
    """Whether durations helped to tell vehicles from other trips."""
    if told is not None:
        figures = {k: f"{getattr(told, k):.2g}" for k in ("low", "high", "other_low", "other_high")}
        return say("triplog.durations_used", **figures)
    return say("triplog.durations_alike" if not np.isnan(durations).all() else "triplog.durations_none")


def _bursts(left: Left) -> None:
    """Bursts that were most likely a person walking about. What follows the return of the supply is let alone."""
    raw = left.raw
    back = np.concatenate([left.outages, np.stack([left.returns, left.returns], axis=1)])
    spared = back + np.array([0.0, _AFTER_POWER_S])
    found = walk_tests(raw.trips, raw.clock, spared, raw.weather)
    if not found:
        return
    most = max(found, key=_count)
    left.drop(
        flags(found, len(raw.trips)), "test", "triplog.aside_burst", bursts=len(found), most=most.count,
        span=_long(max(most.span, 60.0)), first=_when(raw.clock, most.begin),
    )  # fmt: skip


def _count(burst: Burst) -> int:
    return burst.count
