"""Explain mode: every visit and every demonstration steps through, and the bars are the posterior's."""

from pathlib import Path

import pytest

from diagnose.practice.frames import Bar, frames
from diagnose.session.events import Begin, Event, Reply
from diagnose.session.session import conclude, replay
from diagnose.terminal.practice_explain import moving
from diagnose.terminal.replay import script_events
from tests.practice.gates import LASER, shipped

DEMOS = sorted((Path(__file__).parents[2] / "transcripts_demo").glob("*.yaml"))


def test_the_bars_are_the_belief_before_and_after_each_answer() -> None:
    events: list[Event] = [
        Begin(LASER, "ghost_opening"),
        Reply("when_it_happens", "wet"),
        Reply("env_window_look", "drops"),
    ]
    found = list(frames(shipped(), events))
    beliefs = [conclude(shipped(), replay(shipped().kb, events[: n + 1])).belief for n in range(3)]
    assert len(found) == 3
    for number, frame in enumerate(found):
        before = beliefs[max(number - 1, 0)]
        for bar in frame.bars:
            assert bar.before == pytest.approx(before.probability(bar.cause))
            assert bar.after == pytest.approx(beliefs[number].probability(bar.cause))
    assert found[2].bits > 1
    assert "hanging drops" in found[2].happened


@pytest.mark.parametrize("path", [p for p in DEMOS if p.stem in ("two_faults", "call_handed_over_wrong_answer")])
def test_a_demonstration_can_be_stepped_through_to_its_end(path: Path) -> None:
    events = script_events(shipped(), path)
    found = list(frames(shipped(), events))
    assert sum(isinstance(e, Reply) for e in events) > 4
    assert any(f.happened.startswith("Repaired") for f in found)
    assert replay(shipped().kb, events).outcome == "in_service"


def test_stop_work_stands_out_in_its_frame() -> None:
    events: list[Event] = [
        Begin(LASER, "ghost_opening"),
        Reply("anyone_touched", "touched"),
        Reply("gate_made_safe", "made_safe"),
    ]
    assert [f.stop_work for f in frames(shipped(), events)] == [(), ("stop_contact",), ()]


@pytest.mark.parametrize(
    ("bar", "shown"),
    [
        (Bar("a", 0.2, 0.3), "[####++..............] 20 % -> 30 %"),
        (Bar("a", 0.3, 0.2), "[####--..............] 30 % -> 20 %"),
        (Bar("a", 0.5, 0.501), "[##########..........] 50 %"),
        (Bar("a", 0.0, 1.0), "[++++++++++++++++++++] under 1 % -> 100 %"),
    ],
)
def test_a_bar_shows_what_was_gained_and_lost(bar: Bar, shown: str) -> None:
    assert moving(bar) == shown
