"""Contact logic: the truth table follows from NO and NC being named with the coil un-powered (IEC, NEMA)."""

from itertools import product

import pytest

from diagnose.calc.contacts import (
    ALL_LOGICS,
    Break,
    Coil,
    Contact,
    Input,
    Logic,
    Pole,
    Seen,
    agree,
    believes,
    expected_contact,
    fails_towards_detect,
    identify_logic,
    looks_like,
    matching_input,
)

TABLE = "[C] truth table from the IEC/NEMA convention"
ED_NO, ED_NC = Logic(Coil.ON_DETECT, Pole.NO), Logic(Coil.ON_DETECT, Pole.NC)
DD_NO, DD_NC = Logic(Coil.ON_CLEAR, Pole.NO), Logic(Coil.ON_CLEAR, Pole.NC)


@pytest.mark.parametrize(
    ("logic", "on_clear", "on_detect", "off_clear", "off_detect", "source"),
    [
        (ED_NO, "open", "closed", "open", "open", TABLE),
        (ED_NC, "closed", "open", "closed", "closed", TABLE),
        (DD_NO, "closed", "open", "open", "open", TABLE),
        (DD_NC, "open", "closed", "closed", "closed", TABLE),
    ],
)
def test_the_truth_table(
    logic: Logic, on_clear: Contact, on_detect: Contact, off_clear: Contact, off_detect: Contact, source: str
) -> None:
    assert expected_contact(logic, True, False) == on_clear, source
    assert expected_contact(logic, True, True) == on_detect, source
    assert expected_contact(logic, False, False) == off_clear, source
    assert expected_contact(logic, False, True) == off_detect, source


@pytest.mark.parametrize(
    ("logic", "input_setting", "power_loss", "broken_wire", "shorted_pair", "source"),
    [
        (ED_NO, Input.CLOSED_MEANS_DETECT, "clear", "clear", "detect", TABLE),
        (ED_NC, Input.OPEN_MEANS_DETECT, "clear", "detect", "clear", TABLE),
        (DD_NO, Input.OPEN_MEANS_DETECT, "detect", "detect", "clear", TABLE),
        (DD_NC, Input.CLOSED_MEANS_DETECT, "detect", "clear", "detect", TABLE),
    ],
)
def test_what_a_fault_looks_like(
    logic: Logic, input_setting: Input, power_loss: Seen, broken_wire: Seen, shorted_pair: Seen, source: str
) -> None:
    assert matching_input(logic) is input_setting, source
    assert looks_like(logic, "power loss") == power_loss, source
    assert looks_like(logic, "broken wire") == broken_wire, source
    assert looks_like(logic, "shorted pair") == shorted_pair, source


def test_no_logic_reports_both_a_broken_wire_and_a_short() -> None:
    for logic in ALL_LOGICS:
        assert not {"broken wire", "shorted pair"} <= set(fails_towards_detect(logic)), TABLE
    assert fails_towards_detect(DD_NO) == ("power loss", "broken wire")


@pytest.mark.parametrize(
    ("unpowered", "clear", "blocked", "logic"),
    [
        ("open", "open", "closed", ED_NO),
        ("closed", "closed", "open", ED_NC),
        ("open", "closed", "open", DD_NO),
        ("closed", "open", "closed", DD_NC),
        ("open", "open", "open", None),
        ("closed", "closed", "closed", None),
        ("open", "closed", "closed", None),
        ("closed", "open", "open", None),
    ],
)
def test_three_readings_identify_the_logic(
    unpowered: Contact, clear: Contact, blocked: Contact, logic: Logic | None
) -> None:
    assert identify_logic(unpowered, clear, blocked) == logic, TABLE


@pytest.mark.parametrize("logic", ALL_LOGICS)
@pytest.mark.parametrize("lamp", ["clear", "detect"])
def test_a_healthy_chain_agrees(logic: Logic, lamp: Seen) -> None:
    contact = expected_contact(logic, True, lamp == "detect")
    setting = matching_input(logic)
    assert believes(setting, contact) == lamp
    assert agree(lamp, contact, lamp, logic, setting, contact) is Break.NOWHERE
    assert agree(lamp, contact, lamp, logic, setting) is Break.NOWHERE


OTHER_CONTACT: dict[Contact, Contact] = {"open": "closed", "closed": "open"}
OTHER_SEEN: dict[Seen, Seen] = {"clear": "detect", "detect": "clear"}


@pytest.mark.parametrize("logic", ALL_LOGICS)
@pytest.mark.parametrize("lamp", ["clear", "detect"])
def test_the_first_break_is_named(logic: Logic, lamp: Seen) -> None:
    setting = matching_input(logic)
    other_setting = next(one for one in Input if one is not setting)
    good = expected_contact(logic, True, lamp == "detect")
    bad, wrong = OTHER_CONTACT[good], OTHER_SEEN[lamp]
    assert agree(lamp, bad, wrong, logic, setting, bad) is Break.CONTACT
    assert agree(lamp, good, wrong, logic, setting, bad) is Break.WIRING
    assert agree(lamp, good, wrong, logic, setting, good) is Break.CONTROLLER
    assert agree(lamp, good, wrong, logic, setting) is Break.CONTROLLER
    assert agree(lamp, good, wrong, logic, other_setting, good) is Break.INPUT_SETTING


def test_a_chain_is_whole_only_when_the_controller_sees_what_the_lamp_shows() -> None:
    seen: tuple[Seen, ...] = ("clear", "detect")
    states: tuple[Contact, ...] = ("open", "closed")
    for lamp, contact, controller, logic, setting in product(seen, states, seen, ALL_LOGICS, Input):
        if agree(lamp, contact, controller, logic, setting) is Break.NOWHERE:
            assert controller == lamp
