"""Numbers as people read them."""

from diagnose.session.wording import percent
from diagnose.words import say

__all__ = ["minutes", "percent", "rounded", "weight"]


def minutes(number: float) -> str:
    """'35 min'."""
    return say("present.minutes", number=f"{number:g}")


def rounded(number: float) -> str:
    """Minutes without a fraction."""
    return say("present.minutes", number=f"{number:.0f}")


def weight(decibans: float, places: int = 0) -> str:
    """'+13': 10 is ten times as likely; never a minus nought."""
    return f"{round(decibans, places) + 0.0:+.{places}f}"
