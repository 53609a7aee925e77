"""The facts of a device's or a site's profile, in words."""

from dataclasses import dataclass

from diagnose.calc.units import format_reading
from diagnose.model.profile import PROFILE_FACTS
from diagnose.model.visit import Value
from diagnose.session.profile_facts import LAMP
from diagnose.words import say

LAMPS = ("power", "detection", "fault")


@dataclass(frozen=True, slots=True)
class Fitted:
    """One fact of the device's or the site's profile; `of` is device, site or lamp."""

    of: str
    name: str
    value: str


def fact_of(name: str, value: Value) -> Fitted:
    """'device.supply_min_v', 10.0 -> device, 'supply min', '10 V'."""
    of, _, rest = name.partition(".")
    if name.startswith(LAMP):
        return Fitted(of, lamp_says(rest), str(value))
    told = word_says(value) if isinstance(value, str) else format_reading(value, str(PROFILE_FACTS[name]))
    return Fitted(of, fact_says(name), told)


def fact_says(name: str) -> str:
    """What a fact is called; its unit stands with the number only."""
    return say(f"present.fact_{name.replace('.', '_')}")


def word_says(word: str) -> str:
    """A word that a fact may take."""
    return say(f"present.fact_is_{word}")


def lamp_says(lamp: str) -> str:
    """What a lamp of a device is called."""
    return say(f"present.lamp_{lamp}") if lamp in LAMPS else lamp
