"""When things happened: from the events of a visit file and the times beside them."""

from collections.abc import Iterator, Sequence
from datetime import datetime, tzinfo
from itertools import pairwise

from diagnose.present.clean import LONGEST_NAME, clean
from diagnose.present.record import HandOver, Times
from diagnose.session.events import Close, Event, TakeOver
from diagnose.store.recover import Recovered
from diagnose.words import say

JUMP_S = 120  # a clock that is put right by less is of no concern to a record
Up = tuple[str, int]


def times_of(
    events: Sequence[Event],
    times: Sequence[str],
    zone: tzinfo | None = None,
    ups: Sequence[Up | None] = (),
    lost: str = "",
) -> Times:
    """In the zone given, by default this machine's own. `times` are ISO 8601 with offset, one per event.

    `ups` are what a clock said beside them that nobody can set, `lost` what is missing in the file of the visit.
    """
    took = [
        HandOver(in_words(at, zone), clean(event.by, LONGEST_NAME), say(f"present.role_{event.setup.role}"))
        for event, at in zip(events, times, strict=True)
        if isinstance(event, TakeOver)
    ]
    first, last = (times[0], times[-1]) if times else ("", "")
    closed = [at for event, at in zip(events, times, strict=True) if isinstance(event, Close)][-1:]
    ended = in_words(closed[0], zone) if closed else ""
    began, worked = in_words(first, zone), in_words(last, zone)
    return Times(began, worked, tuple(took), ended, tuple(_jumps(times, ups, zone)), clean(lost))


def times_in(found: Recovered, name: str, zone: tzinfo | None = None) -> Times:
    """Those of a visit file of this name, with what is wrong in it."""
    return times_of(found.events, found.times, zone, found.ups, found.says(name))


def _jumps(times: Sequence[str], ups: Sequence[Up | None], zone: tzinfo | None) -> Iterator[str]:
    """Where the clock was set between two entries: back, or otherwise than the other clock went on."""
    steady = (*ups, *[None] * (len(times) - len(ups)))
    for (was, up), (now, then) in pairwise(zip(times, steady, strict=True)):
        by = _set_by(was, now, up, then)
        if abs(by) > JUMP_S:
            key = "present.clock_back" if by < 0 else "present.clock_ahead"
            yield say(key, was=in_words(was, zone), now=in_words(now, zone), by=_for(abs(by)))


def _set_by(was: str, now: str, up: Up | None, then: Up | None) -> float:
    """Seconds by which the clock went on more than time did; where nothing tells, only how far it went back."""
    went = (datetime.fromisoformat(now) - datetime.fromisoformat(was)).total_seconds()
    if up and then and up[0] == then[0]:
        return went - (then[1] - up[1])
    return min(went, 0.0)


def _for(seconds: float) -> str:
    minutes = round(seconds / 60)
    if minutes < 60:
        return say("present.for_minutes", n=minutes)
    hours = round(minutes / 60)
    return say("present.for_hours", n=hours) if hours < 48 else say("present.for_days", n=round(hours / 24))


def in_words(at: str, zone: tzinfo | None = None) -> str:
    """'2026-03-01 14:05 (UTC+01:00)'; a time that cannot be read is given as it stands."""
    try:
        moment = datetime.fromisoformat(at).astimezone(zone)
    except (ValueError, OverflowError):
        return at
    offset = moment.strftime("%z")
    return f"{moment:%Y-%m-%d %H:%M} (UTC{offset[:3]}:{offset[3:5]})"
