"""Visits with as much of one kind of event as is taken, or far more."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import pytest

from diagnose.model.knowledge import Check
from diagnose.model.visit import Setup
from diagnose.session.events import AnotherFault, Back, Begin, Event, Noted, Proved, Repaired, Reply
from diagnose.store import journal
from diagnose.store.journal import Journal
from diagnose.store.limits import MOST_ENTRIES, MOST_OF
from tests.shipped import knowledge

BEGIN = Begin(Setup(), "stuck_open", digest=knowledge().digest, id="bomb")
CAUSES = list(knowledge().causes)


def reading(check: Check) -> Reply:
    """An answer that says something."""
    if check.kind == "quantity" and check.plausible:
        return Reply(check.id, check.plausible[0])
    return Reply(check.id, next(iter(check.options), "yes"))


REPAIRED = [e for n in range(4000) for e in (Repaired(CAUSES[n % 7]), Proved(True), AnotherFault())]
FAILED = [e for n in range(4000) for e in (Repaired(CAUSES[n % len(CAUSES)]), Proved(False))]
ANSWERED = [reading(check) for check in knowledge().checks.values()] * 4
STEPPED = [e for _ in range(4000) for e in (Reply("power_lamp", "steady"), Back())]
TOLD = [Noted("word " * 20, "remark")] * 5000


def without_limits(folder: Path, events: Sequence[Event]) -> Path:
    """As somebody else's program may write it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(journal, "require_bounded", lambda *_: None)
        with Journal.create(folder, datetime(2026, 3, 1, 12)) as made:
            for event in (BEGIN, *events):
                made.append(event)
    return made.path


def largest(events: Sequence[Event]) -> list[Event]:
    """As many of them as are taken."""
    left, taken = dict(MOST_OF), list[Event]()
    for event in events[: MOST_ENTRIES - 1]:
        if type(event) in left:
            if not left[type(event)]:
                break
            left[type(event)] -= 1
        taken.append(event)
    return taken
