"""Visits that come to what is asked in one go."""

import random
from dataclasses import replace

from diagnose.core.reason import Conclusion
from diagnose.model.visit import NO_ANSWER, Role, Setup
from diagnose.session.events import Begin, Event, Reply
from diagnose.session.session import conclude, replay, step
from tests.pack.visits import reply_to
from tests.shipped import knowledge, quick

OPENED = (Reply("anyone_touched", "nobody"), Reply("gate_made_safe", "safe"))
MOST = 30
Whys = tuple[str, ...]
LOOKS: Whys = ("pays", "tells")
FACTS: Whys = ("needed",)


def walked(seed: int, role: Role, most: int = MOST) -> list[Event]:
    """Every question answered as it comes, about half of them with 'don't know'."""
    rng, kb = random.Random(seed), knowledge()
    devices = rng.sample(list(kb.devices), rng.choice((0, 1, 1, 2)))
    events: list[Event] = [Begin(Setup(role, devices=tuple(devices)), rng.choice(list(kb.complaints))), *OPENED]
    session = replay(kb, events)
    while len(events) < most and (check := conclude(quick(), session).next.check):
        known = reply_to(kb.checks[check], rng)
        known = replace(known, note=known.note or "otherwise")  # words are needed where no answer fits
        events.append(known if rng.random() < 0.5 else Reply(check, NO_ANSWER[0]))
        session = step(kb, session, events[-1])
    return events


def until(why: Whys, complaint: str, devices: tuple[str, ...], role: Role = "technician") -> list[Event]:
    """A visit on which nothing is known, up to where several checks are asked in one go for such a reason."""
    events: list[Event] = [Begin(Setup(role, devices=devices), complaint), *OPENED]
    session = replay(knowledge(), events)
    while not _there(found := conclude(quick(), session), why):
        assert len(events) < MOST
        events.append(Reply(found.next.check, NO_ANSWER[0]))
        session = step(knowledge(), session, events[-1])
    return events


def _there(found: Conclusion, why: Whys) -> bool:
    return found.next.why in why and len(found.next.beside) > 1
