"""How much one visit may hold, so that no file makes this program work for long: refused by who writes and who reads.

A visit of a bad week has forty answers and three repairs; these are several times that.
"""

from collections.abc import Iterable

from diagnose.errors import VisitError
from diagnose.session.events import Event, Repaired, Reply
from diagnose.words import say

MAX_BYTES = 2_000_000
MOST_ENTRIES = 1000
MOST_REPAIRS, MOST_ANSWERS = 10, 120  # each makes the belief be worked out anew


def require_bounded(events: Iterable[Event], last: int) -> None:
    """Raises VisitError where there are more events than one visit may hold; `last` is the highest number of one.

    An answer that is given again counts again only after a repair.
    """
    if last > MOST_ENTRIES:
        raise VisitError(say("store.most_entries", most=f"{MOST_ENTRIES:,}"))
    repairs, answers = 0, set[tuple[int, str]]()
    for event in events:
        if isinstance(event, Repaired):
            repairs += 1
        elif isinstance(event, Reply):
            answers.add((repairs, event.check))
    if repairs > MOST_REPAIRS:
        raise VisitError(say("store.most_repairs", most=MOST_REPAIRS))
    if len(answers) > MOST_ANSWERS:
        raise VisitError(say("store.most_answers", most=MOST_ANSWERS))
