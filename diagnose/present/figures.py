"""Numbers as people read them."""

from diagnose.session.wording import minutes, percent
from diagnose.words import say

__all__ = ["minutes", "percent", "rounded", "weight"]


def rounded(number: float) -> str:
    """Minutes without a fraction; never a minus nought."""
    return say("present.minutes", number=round(number))


def weight(decibans: float, places: int = 0) -> str:
    """'+13': 10 is ten times as likely; never a minus nought."""
    return f"{round(decibans, places) + 0.0:+.{places}f}"
