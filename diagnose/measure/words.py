"""What the runs of a measurement are called, in words: ways of asking, conditions, and ways of spoiling answers."""

from diagnose.words import say


def way_says(name: str) -> str:
    """A way of choosing the next check."""
    return say(f"measure.way_{name}")


def condition_says(name: str) -> str:
    """What is wrong with answers or knowledge."""
    return say(f"measure.condition_{name}")


def spoilt_says(way: str) -> str:
    """How two answers of a visit were spoilt."""
    return say("measure.two_answers_spoilt", way=say(f"measure.spoilt_{way}"))
