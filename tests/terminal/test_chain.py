"""The signal chain in words: without colour, in 40 columns, said again only where it changed, veiled in practice."""

import io
import re

import pytest
from rich.cells import cell_len

from diagnose.model.gear import Device
from diagnose.model.visit import Setup
from diagnose.present.conclusion import result_of
from diagnose.present.record import Times
from diagnose.present.record_parts import build
from diagnose.present.sheet import sheet_of
from diagnose.present.strip import Strip, known_of, strips_of
from diagnose.report.layout import lay_out
from diagnose.session.events import Begin, Reply
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.terminal.draw import draw_strips
from diagnose.terminal.screen import Screen
from tests.shipped import begun, knowledge, quick
from tests.terminal.typed import play

GEAR = (Device("laser over the entry", "laser", ("opens",)), Device("exit loop", "loop", ("closes",)))
SITE = Setup(devices=("laser", "loop"), gear=GEAR)
SEEN = {
    "power_lamp@exit_loop": "steady",
    "lamp_clear@exit_loop": "detecting",
    "power_lamp@laser_over_the_entry": "steady",
    "lamp_clear@laser_over_the_entry": "clear",
    "input_vehicle@laser_over_the_entry": "follows",
}


def visit(setup: Setup, seen: dict[str, str]) -> Session:
    kb = quick().at(setup.gear).kb
    session = step(kb, None, Begin(setup, "stuck_open"))
    for check, value in seen.items():
        session = step(kb, session, Reply(check, value))
    return session


def strips(setup: Setup, seen: dict[str, str], proved_only: bool = False) -> dict[str, Strip]:
    session, reasoner = visit(setup, seen), quick().at(setup.gear)
    found = strips_of(reasoner.kb, session, conclude(reasoner, session), proved_only)
    return {strip.name: strip for strip in found}


def test_there_is_one_strip_for_each_named_device_and_one_for_the_gate() -> None:
    assert list(strips(SITE, {})) == ["laser over the entry", "exit loop", "gate"]
    assert list(strips(Setup(), {})) == ["sensor", "gate"]
    assert list(strips(Setup(devices=("loop",), gear=GEAR[1:]), {})) == ["exit loop", "gate"]


def test_at_the_start_nothing_is_known_of_any() -> None:
    for name, strip in strips(SITE, {}).items():
        assert strip.says == f"{name}: nothing known yet" and not strip.known


def test_a_lamp_that_stays_lit_is_in_doubt_on_one_device_and_the_other_is_good() -> None:
    found = strips(SITE, SEEN)
    suspect = [part for part in found["exit loop"].parts if part.state in ("doubt", "broken")]
    assert suspect and suspect[0].says.endswith(("in doubt", "broken"))
    laser = found["laser over the entry"].parts
    assert "good" in {part.state for part in laser} <= {"good", "unknown"}


def test_links_are_told_in_the_order_of_the_signal_and_the_unknown_last() -> None:
    order = [link.short for link in knowledge().links.values() if link.short]
    for strip in strips(SITE, SEEN).values():
        told = [p.says for p in strip.parts if p.state != "unknown"]
        names = [n for says in told for n in re.sub(r" (good|in doubt|broken)$", "", says).split(", ")]
        assert names == sorted(names, key=order.index)
        assert [p.state for p in strip.parts].count("unknown") <= 1
        assert all(p.state != "unknown" for p in strip.parts[:-1])


def test_only_what_is_proved_is_told_in_practice() -> None:
    whole, veiled = strips(SITE, SEEN), strips(SITE, SEEN, proved_only=True)
    assert {p.state for s in whole.values() for p in s.parts} & {"doubt", "broken"}
    assert {p.state for s in veiled.values() for p in s.parts} == {"good", "unknown"}


@pytest.mark.parametrize("width", [40, 80])
def test_it_is_written_in_words_and_fits_the_screen(width: int) -> None:
    out = io.StringIO()
    draw_strips(Screen(out, width, plain=True), strips(SITE, SEEN).values())
    lines = out.getvalue().splitlines()
    assert all(cell_len(line) <= width for line in lines)
    assert len(lines) <= 3 * (4 if width == 40 else 2)
    for strip in strips(SITE, SEEN).values():
        assert strip.says in " ".join(out.getvalue().split())
    assert out.getvalue().isascii() and "\x1b" not in out.getvalue()


def test_conclusion_record_and_sheet_say_the_same() -> None:
    session, reasoner = visit(SITE, SEEN), quick().at(GEAR)
    conclusion = conclude(reasoner, session)
    known = known_of(reasoner.kb, session, conclusion)
    assert known
    assert result_of(reasoner, session, conclusion).strips == known
    assert sheet_of(reasoner, session, conclusion).strips == known
    for version in ("customer", "full"):
        record = build(reasoner, session, conclusion, Times("", ""), version)
        assert record.strips == tuple(strip.says for strip in known)
        assert all(says in str(lay_out(record).sections) for says in record.strips)


def test_the_chain_can_be_asked_for_and_is_not_repeated_unchanged() -> None:
    session = begun("stuck_open")
    seen = play("chain", session=session)
    assert seen.flat().count("sensor: nothing known yet") == 1
    assert "The signal chain" in seen.text
    known = step(knowledge(), session, Reply("power_lamp", "steady"))
    says = known_of(quick().kb, known, conclude(quick(), known))[0].says
    assert play("?", "?", "?", session=known).flat().count(says) == 1
