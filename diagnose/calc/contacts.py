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


class Break(Enum):
    """The first place where lamp, contact and controller stop agreeing."""

    NOWHERE = "the whole chain agrees"
    CONTACT = "the contact does not follow the lamp"
    WIRING = "the controller's terminals do not show what the contact shows"
    INPUT_SETTING = "the controller reads its terminals the wrong way round for this output"
    CONTROLLER = "the controller's input does not show what its terminals carry"


def expected_contact(logic: Logic, powered: bool, detecting: bool) -> Contact:
    """State of the wired contact: the coil is energised only with power, and then by detect or by clear."""
    energised = powered and (detecting == (logic.coil is Coil.ON_DETECT))
    return "closed" if energised == (logic.pole is Pole.NO) else "open"


def identify_logic(unpowered: Contact, clear: Contact, blocked: Contact) -> Logic | None:
    """Logic shown by three readings (sensor off, powered clear, powered blocked).

    None when the four rows do not fit: a stuck or bypassed contact, or the wrong terminals.
    """
    for logic in ALL_LOGICS:
        readings = (
            expected_contact(logic, False, False),
            expected_contact(logic, True, False),
            expected_contact(logic, True, True),
        )
        if readings == (unpowered, clear, blocked):
            return logic
    return None


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


def agree(
    lamp: Seen,
    contact: Contact,
    controller_input: Seen,
    logic: Logic,
    input_setting: Input,
    terminals: Contact | None = None,
) -> Break:
    """Where the chain lamp -> contact -> controller terminals -> controller input breaks first.

    `contact` is measured at the sensor, `terminals` at the controller end; leave it out when not measured
    (the wire is then taken as sound, so a wire fault shows as CONTROLLER).
    """
    if contact != expected_contact(logic, True, lamp == "detect"):
        return Break.CONTACT
    at_controller = contact if terminals is None else terminals
    if at_controller != contact:
        return Break.WIRING
    if controller_input != believes(input_setting, at_controller):
        return Break.CONTROLLER
    return Break.NOWHERE if input_setting is matching_input(logic) else Break.INPUT_SETTING
