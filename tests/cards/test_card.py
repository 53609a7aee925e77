"""What stands on a printed card: cautions, words, targets, roles."""

from collections.abc import Iterable, Sequence
from math import sqrt

import pytest

from diagnose.cards.card import Card, PrintedBranch
from diagnose.cards.limits import Wording
from diagnose.cards.plan import LEAST_OWN, STANDS_OUT, Plan, names_a_cause
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.model.visit import Setup
from diagnose.report.card_page import lay_out
from diagnose.store.profiles import profile_facts
from diagnose.words import say
from tests import shipped
from tests.cards.made import HELP_DESK, SAMPLE, grown, printed, small, small_grower

DEMO = ("demo_device", "demo_site")


def lines(card: Card) -> list[PrintedBranch]:
    return [line for step in card.steps for line in step.lines]


def printed_text(card: Card) -> str:
    layout = lay_out(card, "a4")
    blocks = [b for s in layout.sheets for column in (s.wide, *s.columns) for b in column]
    return "\n".join(" ".join(text for text, _ in row.runs) for b in blocks for row in b.rows)


@pytest.mark.parametrize(("complaint", "kind"), SAMPLE)
def test_cautions_of_every_printed_check_are_printed(complaint: str, kind: str) -> None:
    grower, plan, card = grown(complaint, kind)
    kb, told = grower.kb, {c.says: c for c in card.cautions}
    text = printed_text(card)
    for node, step in zip(plan.steps(), card.steps, strict=True):
        wanted = {kb.cautions[c].says for c in cautions_for(kb, kb.checks[node.check])}
        assert wanted <= {c.says for c in step.cautions}
        assert all(says in text for says in wanted)
        assert step.grave == kb.checks[node.check].hazard
        assert not step.grave or all(text.count(says) >= 2 and told[says].grave for says in wanted)
    for box, cause in zip(card.boxes, leaders(plan), strict=True):
        assert {kb.cautions[c].says for c in remedy_cautions(kb, kb.causes[cause])} == {c.says for c in box.cautions}


def leaders(plan: Plan) -> list[str]:
    return list(dict.fromkeys(n.ranked[0][0] for n in plan.named()))


def test_grave_cautions_come_first_and_stop_work_above_everything() -> None:
    _, _, card = grown("hits_vehicle", "laser")
    graves = [c.grave for c in card.cautions]
    assert graves == sorted(graves, reverse=True)
    kb = shipped.knowledge()
    assert kb.cautions["stop_contact"].says in [o.says for o in card.orders]
    top = lay_out(card, "a4").sheets[0].wide
    assert [b.mark for b in top] == ["stop"] * len(card.orders)
    assert all(o.tag in printed_text(card) and o.tell in printed_text(card) for o in card.orders)


@pytest.mark.parametrize(("complaint", "kind"), SAMPLE)
def test_every_line_leads_somewhere_that_is_printed(complaint: str, kind: str) -> None:
    _, _, card = grown(complaint, kind)
    numbers, letters = {str(s.number) for s in card.steps}, {b.letter for b in card.boxes}
    for line in lines(card):
        assert line.aim != "step" or line.mark in numbers
        assert line.aim != "cause" or (line.named and line.named.letter in letters)
        assert line.aim != "call" or line.mark
    targets = {line.mark for line in lines(card) if line.aim == "step"}
    assert numbers == targets | {"1"}
    assert letters == {line.named.letter for line in lines(card) if line.named}


@pytest.mark.parametrize(("complaint", "kind"), SAMPLE)
def test_chances_of_a_scored_step_add_up(complaint: str, kind: str) -> None:
    _, _, card = grown(complaint, kind)
    for step in card.steps:
        chances = [line.chance for line in step.lines if line.chance is not None]
        assert not chances or sum(chances) == pytest.approx(1.0)


@pytest.mark.parametrize(("complaint", "kind"), SAMPLE)
def test_named_causes_stand_out_and_small_branches_are_joined(complaint: str, kind: str) -> None:
    _, plan, card = grown(complaint, kind)
    assert all(not n.check or n.ranked[0][1] >= STANDS_OUT for n in plan.named())
    for node, step in zip(plan.steps(), card.steps, strict=True):
        before = node.threads[0].conclusion.after.stop_work
        joined = [
            b
            for b in node.branches
            if b.node
            and not plan.follows(b)
            and b.share < LEAST_OWN
            and all(t.conclusion.after.stop_work == before for t in b.node.threads)
        ]
        shown = [line for line in step.lines if line.says == say("card.anything_else")]
        assert len(shown) == (len(joined) > 1)


def test_the_card_names_what_its_leaves_promise() -> None:
    _, plan, card = grown(*SAMPLE[0])
    assert card.names == pytest.approx(sum(n.share * n.ranked[0][1] for n in plan.named()))
    assert 0.0 < card.names < sum(n.share for n in plan.named()) < 1.0
    assert all(names_a_cause(n) for n in plan.named())


def test_help_desk_hears_the_callers_words() -> None:
    grower, plan, card = grown("ghost_opening", "laser", "a4", 1, HELP_DESK)
    for node, step in zip(plan.steps(), card.steps, strict=True):
        check = grower.kb.checks[node.check]
        assert step.asks == check.ask_caller
        assert step.stand == check.stand


def test_stop_work_answer_keeps_a_line_of_its_own() -> None:
    _, _, card = printed(small_grower(small()))
    (stop,) = [line for line in card.steps[0].lines if line.stop]
    assert (stop.says, stop.aim, stop.chance) == ("somebody", "call", None)


def words(check_name: str, state: str, profile: Iterable[str] = (), asked: Sequence[str] = ()) -> str:
    kb = shipped.knowledge()
    setup = Setup(devices=("laser",), profile=profile_facts(profile))
    return Wording(kb, setup, "ghost_opening").reading(kb.checks[check_name], state, asked)


def test_readings_are_told_by_their_limits() -> None:
    """Limits: the constants of knowledge/ (las_height_verdict 0.3 to 0.55 m), read off the verdict by halving."""
    assert words("las_window_height", "below") == "under 300 mm"
    assert words("las_window_height", "right") == "300 mm to 550 mm"
    assert words("las_window_height", "above") == "over 550 mm"


def test_limits_come_from_the_profile_where_it_knows_them() -> None:
    """The demo profiles' figures. Copper 1.724e-8 ohm m (IEC 60028, from memory) and Ohm's law at constant power
    leave 23.28 V; 5 % under that is the calculator's own tolerance, 0.5 V its nothing."""
    known = {name: float(value) for name, value in profile_facts(DEMO).items() if isinstance(value, int | float)}
    source, load = known["site.supply_v"], known["device.load_w"]
    resistance = 2 * known["site.cable_length_m"] * 1.724e-8 / (known["site.cable_area_mm2"] * 1e-6)
    left = (source + sqrt(source**2 - 4 * load * resistance)) / 2
    expected = f"{0.95 * left:.1f} V"
    low, high = f"{known['device.supply_min_v']:g} V", f"{known['device.supply_max_v']:g} V"
    told = [words("sup_volts_sensor", s, DEMO) for s in ("good", "below_expected", "low", "none")]
    assert told == [f"{expected} to {high}", f"{low} to {expected}", f"500 mV to {low}", "under 500 mV"]
    assert words("sup_volts_sensor", "high", DEMO) == f"over {high}"


def test_limits_against_a_number_read_before() -> None:
    """knowledge/: reading within 0.3 m of the depth wanted; load at most 0.9 of the supply's rating."""
    wanted = ("las_depth_wanted",)
    assert words("las_zone_depth", "as_wanted", (), wanted).startswith("within 300 mm of 'How far")
    assert words("las_zone_depth", "found_larger", (), wanted).startswith("more than 300 mm above")
    assert words("sup_current", "within_rating", (), ("sup_supply_rating",)).startswith("at most 0.9 times")


def test_unknown_numbers_leave_words_never_a_bare_state() -> None:
    kb = shipped.knowledge()
    for check in kb.checks.values():
        if check.kind == "quantity" and check.finding:
            for state in check.finding.states:
                asked = tuple(c for c in kb.checks if kb.checks[c].kind == "quantity" and c != check.id)
                told = words(check.id, state, (), asked)
                assert " " in told
                assert told != state.replace("_", " ")
