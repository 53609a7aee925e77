"""How much one visit may hold, so that no file makes this program work for long: refused by who writes and who reads.

A visit of a bad week has forty answers and three repairs; these are several times that.
"""

from collections import Counter
from collections.abc import Iterable

from diagnose.errors import VisitError
from diagnose.session.events import Event, Repaired, Reply
from diagnose.words import say

MAX_BYTES = 2_000_000
MOST_ENTRIES = 1000
MOST_OF = {Repaired: 10, Reply: 200}  # each makes the belief be worked out anew, however the visit goes on
_SAYS = {Repaired: "store.most_repairs", Reply: "store.most_answers"}


def require_bounded(events: Iterable[Event], last: int) -> None:
    """Raises VisitError where there are more events than one visit may hold; `last` is the highest number of one."""
    kinds = Counter(map(type, events))
    require_few(last)
    for kind, most in MOST_OF.items():
        if kinds[kind] > most:
            raise VisitError(say(_SAYS[kind], most=most))


def require_few(last: int) -> None:
    """Raises VisitError where a file has more entries than one may have."""
    if last > MOST_ENTRIES:
        raise VisitError(say("store.most_entries", most=f"{MOST_ENTRIES:,}"))
