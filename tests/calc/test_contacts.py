"""Contact logic: the truth table follows from NO and NC being named with the coil un-powered (IEC, NEMA)."""

import pytest

from diagnose.calc.contacts import (
    ALL_LOGICS,
    Coil,
    Contact,
    Input,
    Logic,
    Pole,
    Seen,
    believes,
    expected_contact,
    fails_towards_detect,
    identify_logic,
    looks_like,
    matching_input,
)
from diagnose.calc.registry import FOR_RULES

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


WORDS = {
    "energise on detect, normally open": "eod_no",
    "energise on detect, normally closed": "eod_nc",
    "de-energise on detect, normally open": "dod_no",
    "de-energise on detect, normally closed": "dod_nc",
}
OTHER = {"open": "closed", "closed": "open", "active": "inactive", "inactive": "active"}


@pytest.mark.parametrize("logic", ALL_LOGICS)
@pytest.mark.parametrize("lamp", ["clear", "detecting"])
def test_the_first_break_of_the_chain_is_named(logic: Logic, lamp: str) -> None:
    word = WORDS[f"{logic.coil.value}, {logic.pole.value}"]
    good: Contact = expected_contact(logic, True, lamp == "detecting")
    setting = matching_input(logic)
    seen = "active" if believes(setting, good) == "detect" else "inactive"
    assert (seen == "active") == (lamp == "detecting")
    given = {"lamp": lamp, "logic": word, "sense": "open" if setting is Input.OPEN_MEANS_DETECT else "closed"}
    judge = FOR_RULES["signal_chain"].judge
    assert judge(**given, contact=good, input=seen).word == "agrees"
    assert judge(**given, contact=good).word == "agrees"
    assert judge(**given, contact=good, input=OTHER[seen]).word == "breaks_at_input"
    for read in (seen, OTHER[seen]):
        assert judge(**given, contact=OTHER[good], input=read).word == "breaks_at_contact"
