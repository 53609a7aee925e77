"""Whether a profile fact and its value may be used; the same for profile files and visit files."""

import math
from typing import Any

from diagnose.model.profile import FORMER_FACTS, PROFILE_FACTS
from diagnose.words import say

LAMP = "lamp."  # 'lamp.detection' says in words what that lamp of this device looks like


def is_number(value: Any) -> bool:
    """A finite number, and no boolean."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number beyond all floats
        return False


def fact_problem(name: str, value: Any) -> str:
    """What is wrong with one profile fact, or ''."""
    if name.startswith(LAMP):
        return "" if isinstance(value, str) else say("session.fact_text", name=name)
    if name in FORMER_FACTS and is_number(value):
        return ""
    allowed = PROFILE_FACTS.get(name)
    if allowed is None:
        return say("session.no_fact", name=name, known=", ".join(PROFILE_FACTS))
    if isinstance(allowed, tuple):
        return "" if value in allowed else say("session.fact_word", name=name, known=", ".join(allowed))
    return "" if is_number(value) else say("session.fact_number", name=name, unit=allowed)
