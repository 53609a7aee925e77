"""When things happened: from the events of a visit file and the times beside them."""

from collections.abc import Sequence
from datetime import datetime, tzinfo

from diagnose.present.clean import LONGEST_NAME, clean
from diagnose.present.record import HandOver, Times
from diagnose.session.events import Close, Event, TakeOver
from diagnose.words import say


def times_of(events: Sequence[Event], times: Sequence[str], zone: tzinfo | None = None) -> Times:
    """In the zone given, by default this machine's own. `times` are ISO 8601 with offset, one per event."""
    took = [
        HandOver(in_words(at, zone), clean(event.by, LONGEST_NAME), say(f"present.role_{event.setup.role}"))
        for event, at in zip(events, times, strict=True)
        if isinstance(event, TakeOver)
    ]
    first, last = (times[0], times[-1]) if times else ("", "")
    closed = [at for event, at in zip(events, times, strict=True) if isinstance(event, Close)][-1:]
    return Times(in_words(first, zone), in_words(last, zone), tuple(took), *(in_words(at, zone) for at in closed))


def in_words(at: str, zone: tzinfo | None = None) -> str:
    """'2026-03-01 14:05 (UTC+01:00)'; a time that cannot be read is given as it stands."""
    try:
        moment = datetime.fromisoformat(at).astimezone(zone)
    except (ValueError, OverflowError):
        return at
    offset = moment.strftime("%z")
    return f"{moment:%Y-%m-%d %H:%M} (UTC{offset[:3]}:{offset[3:5]})"
