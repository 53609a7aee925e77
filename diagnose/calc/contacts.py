"""Output contacts: what a relay contact should show, which logic three readings reveal, where a chain breaks.

NO and NC are named with the coil un-powered (IEC and NEMA convention); some makers label them 'powered and
clear', so measuring decides. The truth table follows from that definition alone.
"""

from dataclasses import dataclass
from enum import Enum
from typing import Literal

Contact = Literal["open", "closed"]
Seen = Literal["clear", "detect"]
LineFault = Literal["power loss", "broken wire", "shorted pair"]


class Coil(Enum):
    """When the output relay is energised."""

    ON_DETECT = "energise on detect"
    ON_CLEAR = "de-energise on detect"


class Pole(Enum):
    """Which contact is wired, named with the coil un-powered."""

    NO = "normally open"
    NC = "normally closed"


class Input(Enum):
    """What the controller takes as a detection."""

    OPEN_MEANS_DETECT = "open means detect"
    CLOSED_MEANS_DETECT = "closed means detect"


@dataclass(frozen=True, slots=True)
class Logic:
    """A sensor output: when its coil is energised and which contact is wired."""

    coil: Coil
    pole: Pole


ALL_LOGICS = tuple(Logic(coil, pole) for coil in Coil for pole in Pole)


def expected_contact(logic: Logic, powered: bool, detecting: bool) -> Contact:
    """State of the wired contact: the coil is energised only with power, and then by detect or by clear."""
    energised = powered and (detecting == (logic.coil is Coil.ON_DETECT))
    return "closed" if energised == (logic.pole is Pole.NO) else "open"


def readings_of(logic: Logic) -> tuple[Contact, Contact, Contact]:
    """What a sound contact shows: sensor off, powered clear, powered blocked."""
    return (
        expected_contact(logic, False, False),
        expected_contact(logic, True, False),
        expected_contact(logic, True, True),
    )


def identify_logic(unpowered: Contact, clear: Contact, blocked: Contact) -> Logic | None:
    """Logic shown by three readings (sensor off, powered clear, powered blocked).

    None when the four rows do not fit: a stuck or bypassed contact, or the wrong terminals.
    """
    return next((logic for logic in ALL_LOGICS if readings_of(logic) == (unpowered, clear, blocked)), None)


def believes(controller_input: Input, terminals: Contact) -> Seen:
    """What the controller believes from the state of its two terminals."""
    return "detect" if (terminals == "open") == (controller_input is Input.OPEN_MEANS_DETECT) else "clear"


def matching_input(logic: Logic) -> Input:
    """The input setting under which a powered, healthy sensor is read correctly."""
    blocked_is_open = expected_contact(logic, True, True) == "open"
    return Input.OPEN_MEANS_DETECT if blocked_is_open else Input.CLOSED_MEANS_DETECT


def looks_like(logic: Logic, fault: LineFault) -> Seen:
    """What a controller with the matching input believes under a fault, with nothing in the zone."""
    terminals: dict[LineFault, Contact] = {
        "power loss": expected_contact(logic, False, False),
        "broken wire": "open",
        "shorted pair": "closed",
    }
    return believes(matching_input(logic), terminals[fault])


def fails_towards_detect(logic: Logic) -> tuple[LineFault, ...]:
    """The line faults that this logic reports as a detection (the safe side)."""
    faults: tuple[LineFault, ...] = ("power loss", "broken wire", "shorted pair")
    return tuple(fault for fault in faults if looks_like(logic, fault) == "detect")
