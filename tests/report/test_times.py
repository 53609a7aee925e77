"""Times in words."""

from datetime import UTC, timedelta, timezone

import pytest

from diagnose.model.visit import Setup
from diagnose.present.times import in_words, times_of
from diagnose.session.events import Begin, Event, TakeOver

AT = "2026-03-01T23:30:00+00:00"


def test_a_time_is_told_in_the_zone_with_its_offset() -> None:
    assert in_words(AT, UTC) == "2026-03-01 23:30 (UTC+00:00)"
    assert in_words(AT, timezone(timedelta(hours=5, minutes=30))) == "2026-03-02 05:00 (UTC+05:30)"
    assert in_words(AT, timezone(timedelta(hours=-3))) == "2026-03-01 20:30 (UTC-03:00)"


@pytest.mark.parametrize("at", ["", "yesterday", "2026-13-01T00:00:00+00:00", "0001-01-01T00:00:00+23:59"])
def test_a_time_that_cannot_be_read_is_given_as_it_stands(at: str) -> None:
    assert in_words(at, timezone(timedelta(hours=-12))) == at


def test_hand_overs_are_told_with_name_and_role() -> None:
    events: list[Event] = [Begin(Setup("help_desk"), "ghost_opening"), TakeOver(Setup(), "Sam")]
    times = times_of(events, [AT, AT], UTC)
    assert times.began == times.ended == in_words(AT, UTC)
    assert [(h.by, h.role) for h in times.hand_overs] == [("Sam", "technician at the gate")]
