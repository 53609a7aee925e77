"""What a visit takes of what was heard: with the reader's error, never for what decides over safety."""

import pytest

from diagnose.core.asking import open_groups
from diagnose.core.findings import slip_of
from diagnose.core.looks import MOST, normal
from diagnose.errors import SessionError
from diagnose.model.knowledge import Check
from diagnose.model.visit import Answer, Setup
from diagnose.present.minutes import time_says
from diagnose.session.checklist import checklist
from diagnose.session.events import Begin, Reply, from_plain, to_plain
from diagnose.session.hearing import offers
from diagnose.session.session import conclude, replay, step
from tests.shipped import begun, knowledge, quick

RAIN = Reply("when_it_happens", "wet", note="opens by itself when it rains", heard=True)


def test_words_offer_answers_with_the_words_they_stand_in() -> None:
    (offered,) = offers(knowledge(), begun(), "It opens by itself when it rains.")
    assert offered.reply == RAIN


@pytest.mark.parametrize("check", ["anyone_touched", "gate_made_safe"])
def test_what_decides_over_safety_is_never_taken_from_words(check: str) -> None:
    kb = knowledge()
    for option in kb.checks[check].options:
        with pytest.raises(SessionError, match="asked"):
            step(kb, begun(), Reply(check, option, heard=True))
    assert not [o for o in offers(kb, begun(), "nobody was touched, the gate is safe") if o.reply.check == check]


def test_what_was_heard_may_well_be_misheard() -> None:
    settings = knowledge().settings
    asked, heard = Answer("power_lamp", "off"), Answer("power_lamp", "off", heard=True)
    assert slip_of(settings, heard) == settings.heard_slip > slip_of(settings, asked)
    unsure = Answer("power_lamp", "off", sure=False, heard=True)
    assert slip_of(settings, unsure) == settings.unsure_slip


def test_what_was_only_heard_opens_no_cover_and_takes_no_minutes() -> None:
    kb = knowledge()
    inside = next(c for c in kb.checks.values() if c.kind == "choice" and c.access and _opens(c) and not c.hazard)
    option = next(iter(inside.options))
    heard = step(kb, begun(), Reply(inside.id, option, heard=True))
    asked = step(kb, begun(), Reply(inside.id, option))
    assert not open_groups(kb, heard.given)
    assert open_groups(kb, asked.given) == {inside.access}
    assert time_says(kb, heard, conclude(quick(), heard)).startswith("0 min")
    assert checklist(kb, heard) == [] != checklist(kb, asked)


def _opens(check: Check) -> bool:
    kb = knowledge()
    decides = any(check.id in r.when for r in kb.rules.values() if r.then.stop_work)
    return kb.access[check.access].enclosure and not decides and not check.runs_gate


def test_an_answer_that_was_heard_survives_the_file_and_a_former_file_has_none() -> None:
    assert from_plain(to_plain(RAIN)) == RAIN
    assert from_plain({"event": "reply", "check": "power_lamp", "value": "off"}) == Reply("power_lamp", "off")
    assert "heard" not in to_plain(Reply("power_lamp", "off"))


def test_what_was_said_already_is_not_offered_again() -> None:
    told = replay(knowledge(), [Begin(Setup(), "ghost_opening"), RAIN])
    assert offers(knowledge(), told, "only when it rains") == ()


@pytest.mark.parametrize("role", ["technician", "help_desk"])
def test_looks_in_one_go_are_at_one_place_and_each_can_be_well(role: str) -> None:
    kb, setup = knowledge(), Setup(role)  # type: ignore[arg-type]
    opening = [Reply("anyone_touched", "nobody"), Reply("gate_made_safe", "safe")]
    session = replay(kb, [Begin(setup, "ghost_opening"), *opening])
    seen = 0
    for _ in range(12):
        following = conclude(quick(), session).next
        if not following.check:
            break
        looks = [kb.checks[c] for c in (following.check, *following.beside)]
        if following.beside and following.why != "needed":
            seen += 1
            assert len(looks) <= MOST[role]
            assert len({c.stand if role == "help_desk" else (c.access, c.lasts) for c in looks}) == 1
            assert all(normal(c) in c.options and not c.runs_gate and not c.hazard for c in looks)
        session = step(kb, session, Reply(following.check, "dont_know"))
    assert seen
