"""What is written: never wider than the screen, nothing lost, no escape characters, nothing hostile."""

import io
import re
from collections.abc import Callable, Iterator
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from diagnose.core.explain import Weight
from diagnose.model.visit import Setup
from diagnose.present.answers import answers_of
from diagnose.present.conclusion import Result, result_of, suspect_of
from diagnose.present.notices import orders_of
from diagnose.present.question import help_of, question_of
from diagnose.present.reasons import workings_of
from diagnose.present.sheet import sheet_of
from diagnose.session.events import Begin, Reply
from diagnose.session.parse import options_of
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.session.summary import Ranked
from diagnose.session.wording import ask_text
from diagnose.terminal import draw
from diagnose.terminal.mend import draw_sheet
from diagnose.terminal.result import draw_conclusion, draw_whole
from diagnose.terminal.screen import NARROWEST, Screen, clean
from diagnose.words import say
from tests.shipped import begun, knowledge, reasoner
from tests.terminal.typed import opened, play

WIDTHS = pytest.mark.parametrize("width", [40, 80])
HOSTILE = "\x1b[2J\x1b]0;title\x07\r\n\u202egnip\u202c \u2066x\u2069 \x9b31m \u200b\x7f"


def shown(write: Callable[[Screen], None], width: int) -> str:
    out = io.StringIO()
    write(Screen(out, width, plain=True))
    return out.getvalue()


def letters(text: str) -> str:
    """The text without white space and without the indents of wrapping."""
    return "".join(text.split())


def check_lines(text: str, width: int) -> None:
    for line in text.splitlines():
        assert cell_len(line) <= width, line
        assert line == line.rstrip()
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", text)


@WIDTHS
def test_every_check_and_its_help_fit_and_lose_nothing(width: int) -> None:
    kb = knowledge()
    for role in ("technician", "help_desk"):
        session = opened(Setup(role=role))
        for check in kb.checks.values():
            question = question_of(kb, session, check, ())
            before = shown(partial(draw.draw_before, question=question), width)
            text = before + shown(partial(draw.draw_question, question=question), width)
            check_lines(text, width)
            asked = ask_text(check, session.setup.role)
            cautions = [kb.cautions[c].says for c in check.cautions]
            options = options_of(check, role == "help_desk").values()
            for part in (asked, *cautions, *options):
                assert letters(part) in letters(text), check.id
            text = shown(partial(draw.draw_help, told=help_of(kb, session, check)), width)
            check_lines(text, width)
            for part in (check.help, check.good, check.bad, kb.sources[check.source].cite):
                assert letters(part) in letters(text), check.id


@WIDTHS
def test_a_whole_visit_with_every_command_fits(width: int) -> None:
    lines = [
        *["help", "help", "why", "likely", "answers", "cautions", "zebra", "1"] * 8,
        "conclude",
        "likely",
        "remedy",
        "",
    ]
    for session in (opened(), opened(Setup(role="help_desk"))):
        played = play(*lines, session=session, width=width)
        assert "Conclusion" in played.text
        check_lines(played.text, width)


@WIDTHS
def test_a_cause_in_full_holds_test_remedy_proof_and_cautions(width: int) -> None:
    session, kb = opened(), knowledge()
    result = result_of(reasoner(), session, conclude(reasoner(), session))
    leader = kb.causes[result.leader.cause]
    text = shown(lambda s: draw_whole(s, result), width)
    check_lines(text, width)
    cautions = [*leader.cautions, *leader.remedy.cautions]
    cautions += kb.access[leader.remedy.access].cautions if leader.remedy.access else ()
    parts = [leader.says, leader.explain, leader.test, leader.proof, *leader.remedy.steps]
    parts += [*(kb.cautions[c].says for c in cautions), *(kb.proofs[t].says for t in leader.remedy.touches)]
    for part in parts:
        assert letters(part) in letters(text)
    assert "Local codes and licensed practice decide." in " ".join(text.split())


ROWS, COLUMNS = 24, 80


def worst_conclusions() -> Iterator[Result]:
    """Every cause as the leader, before those with the longest names, as the help-desk is told."""
    kb, start = knowledge(), Weight("", "", 0.0)
    longest = sorted(kb.causes.values(), key=lambda c: -len(c.says))[:4]
    notes = (say("present.not_for_caller"),)
    for cause in kb.causes.values():
        ranked = [Ranked(c, 0.4, cause.id, start, ()) for c in (cause, *longest)]
        suspects = tuple(suspect_of(kb, n, r) for n, r in enumerate(ranked, start=1))
        yield Result(say("present.conclusion"), say("session.why_likely"), notes, None, suspects, (), (), (), "")


def test_a_conclusion_with_what_may_follow_fits_one_screen_for_every_cause() -> None:
    for result in worst_conclusions():
        screen = Screen(io.StringIO(), COLUMNS, plain=True)
        draw_conclusion(screen, result)
        draw.draw_at_end(screen)
        assert screen.written <= ROWS - 1, result.leader.cause  # the last row is typed in


@WIDTHS
def test_a_stop_work_order_cannot_be_missed(width: int) -> None:
    text = play("touched", width=width).text
    rules = [line for line in text.splitlines() if line == "!" * width]
    assert len(rules) == 2
    inside = text.split("!" * width)[1]
    assert all(line.startswith(("!! ", "   ")) for line in inside.strip("\n").splitlines())


@given(st.text(max_size=200), st.text(" abc:-", max_size=20), st.integers(20, 100))
def test_any_text_fits_and_keeps_its_letters(text: str, lead: str, width: int) -> None:
    written = shown(lambda s: s.hanging(lead, text), width)
    for line in written.rstrip("\n").split("\n"):
        assert cell_len(line) <= max(width, NARROWEST)
    assert letters(written) == letters(lead + clean(text))


@given(st.text(max_size=100))
def test_clean_text_is_printable(text: str) -> None:
    assert clean(text).isprintable()
    assert clean(clean(text)) == clean(text)


def hostile_session() -> Session:
    begin = Begin(Setup(profile={"lamp.power": HOSTILE}), "ghost_opening", HOSTILE, HOSTILE)
    return step(knowledge(), step(knowledge(), None, begin), Reply("power_lamp", "off", note=HOSTILE))


@WIDTHS
def test_hostile_words_reach_the_screen_harmless(width: int) -> None:
    session, kb = hostile_session(), knowledge()
    conclusion = conclude(reasoner(), session)

    def everything(screen: Screen) -> None:
        workings = workings_of(reasoner(), session, conclusion)
        draw.draw_answers(screen, answers_of(kb, session, conclusion))
        draw.draw_help(screen, help_of(kb, session, kb.checks["power_lamp"]))
        draw_whole(screen, result_of(reasoner(), session, conclusion))
        draw.draw_weights(screen, workings)
        draw.draw_rules(screen, workings)
        draw_sheet(screen, sheet_of(reasoner(), session, conclusion))
        screen.line(session.words)
        screen.alarm([HOSTILE])
        screen.numbered([HOSTILE])

    text = shown(everything, width)
    check_lines(text, width)
    assert text.replace("\n", "").isprintable()
    assert "gnip" in text


@pytest.mark.parametrize("terminal", [True, False])
@pytest.mark.parametrize(
    ("variables", "plain", "colour"),
    [({}, False, True), ({}, True, False), ({"NO_COLOR": "1"}, False, False), ({"TERM": "dumb"}, False, False)],
)
def test_colour_only_on_a_terminal_that_wants_it(
    monkeypatch: pytest.MonkeyPatch, terminal: bool, variables: dict[str, str], plain: bool, colour: bool
) -> None:
    class Out(io.StringIO):
        def isatty(self) -> bool:
            return terminal

    monkeypatch.delenv("NO_COLOR", raising=False)
    for name, value in {"TERM": "xterm", **variables}.items():
        monkeypatch.setenv(name, value)
    out = Out()
    Screen(out, 40, plain).alarm(["stop"])
    assert ("\x1b[" in out.getvalue()) is (colour and terminal)
    assert "!! stop" in out.getvalue()


def test_the_width_follows_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Screen(io.StringIO())
    for columns, width in (("40", 40), ("80", 80), ("200", 88), ("5", NARROWEST)):
        monkeypatch.setenv("COLUMNS", columns)
        assert screen.width == width


@pytest.mark.parametrize(("probability", "drawn"), [(0.0, "[....]"), (0.5, "[##..]"), (1.0, "[####]")])
def test_a_bar_is_plain_characters(probability: float, drawn: str) -> None:
    assert draw.bar(probability, 4) == drawn


def test_a_cover_that_could_not_be_reached_is_still_to_be_opened() -> None:
    kb = knowledge()
    cabinet, (first, second) = next(
        (g, behind[:2])
        for g in kb.access.values()
        if len(behind := [c for c in kb.checks.values() if c.access == g.id and c.options]) > 1
    )
    for value, told in (("cant_check", True), ("dont_know", True), (next(iter(first.options)), False)):
        session = step(kb, opened(), Reply(first.id, value))
        text = shown(partial(draw.draw_before, question=question_of(kb, session, second)), 80)
        assert (letters(cabinet.says) in letters(text)) is told


def test_evidence_that_would_read_nought_is_left_out_and_the_sum_stays() -> None:
    session = opened(Setup(profile={"device.heater": "none"}))
    for name in ("power_lamp", "recent_change", "sup_power_kind", "lamp_clear", "fault_list"):
        session = step(knowledge(), session, Reply(name, next(iter(knowledge().checks[name].options))))
    conclusion = conclude(reasoner(), session)
    text = shown(lambda s: draw.draw_weights(s, workings_of(reasoner(), session, conclusion)), 80)
    *parts, total = [float(n) for n in re.findall(r"^ *([+-][0-9.]+)  ", text, re.MULTILINE)]
    assert 0.0 not in parts[1:] and 1 < len(parts) <= 1 + len(conclusion.observations)
    assert sum(parts) == pytest.approx(total, abs=0.05 * (2 + len(conclusion.observations)))


def test_a_confirmed_order_takes_one_line_and_an_open_one_its_block() -> None:
    session = begun("hits_vehicle")
    for check, value in (("gate_made_safe", "made_safe"), ("ctl_protective_setup", "disabled")):
        session = step(knowledge(), session, Reply(check, value))
    conclusion = conclude(reasoner(), session)
    text = shown(lambda s: draw.draw_orders(s, orders_of(knowledge(), conclusion), ["stop_contact"]), 80)
    assert conclusion.stop_work == ("stop_protection_lost",)
    assert text.count("Stop-work still stands: the gate touched") == 1
    assert text.count("STOP WORK: a protective function") == text.count("NOT CONFIRMED SAFE YET.") == 1
    assert "STOP WORK: the gate touched" in shown(
        lambda s: draw.draw_orders(s, orders_of(knowledge(), conclusion)), 80
    )
