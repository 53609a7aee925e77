"""What may follow what on a visit, and who may do it: one table for every front end, the offline page's included.

`session.step` asks `refusal` before every event; front ends ask `may_follow`, `endings`, `doers` and `due` what to
offer, and hold no rule themselves.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.events import Close, Conclude, Doer, Event, Repaired, Reply, word_of
from diagnose.session.grounds import DOERS, ENDS, GROUNDS
from diagnose.session.refusals import Refusal, refused
from diagnose.session.state import Session

Where = Literal["before", "open", "owed", "closed"]


@dataclass(frozen=True, slots=True)
class EventLaw:
    """One kind of event. For each place a visit can be at: '' where the event may follow, else what refuses it.

    Then the grounds, in order: `visit` those that look at the visit alone, `event` those that look at what the
    event says. `kept`: refusals that do not count when a file of an earlier version is read, because without the
    event what happened at the gate would be lost. What only steers a visit, or vouches for a gate, is judged anew.
    """

    before: str
    open: str
    owed: str
    closed: str
    visit: tuple[str, ...] = ()
    event: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()


_NONE = "not_begun"
LAW: Mapping[str, EventLaw] = {
    #                   before  open    owed    closed
    "begin":         EventLaw("", "begun", "begun", "begun", event=("known_complaint", "known_devices")),
    "reply":         EventLaw(_NONE, "", "owed", "closed", event=("fits_check", "role_may", "gate_may_run"),
                         kept=("owed", "not_for_caller", "not_licensed", "runs_gate")),
    "back":          EventLaw(_NONE, "", "", "", visit=("something_to_take_back",)),
    "complain":      EventLaw(_NONE, "", "owed", "closed", event=("known_complaint",), kept=("owed",)),
    "conclude":      EventLaw(_NONE, "", "owed", "closed"),
    "ask_on":        EventLaw(_NONE, "", "owed", "closed", visit=("something_left",)),
    "repaired":      EventLaw(_NONE, "", "owed", "closed", event=("known_cause", "doer_may"),
                         kept=("electrician_only", "not_by_caller", "caller_stopped")),
    "proved":        EventLaw(_NONE, "no_proof_due", "", "closed"),
    "another_fault": EventLaw(_NONE, "", "owed", "closed", visit=("proved_good",)),
    "ticked":        EventLaw(_NONE, "", "owed", "closed", visit=("ticked_at_gate",), event=("known_tick",)),
    "close":         EventLaw(_NONE, "", "", "closed", event=("known_ending",)),
    "named":         EventLaw(_NONE, "", "", "closed", event=("known_gear", "one_each", "repaired_stay")),
    "take_over":     EventLaw(_NONE, "", "", "", event=("known_devices",)),
}  # fmt: skip
ENDING: Mapping[str, tuple[str, ...]] = {  # what more has to hold for each way to end
    "in_service": ("repair_proved", "at_gate", "everything_proved"),
    "left_out": ("reason_given",),
    "solved_on_phone": ("repair_proved", "on_phone", "no_order", "something_proved", "prover_named"),
    "dispatched": ("reason_given",),
}
UNFIT = ("no_check", "no_option", "no_reading")  # an answer that other knowledge had


def place_of(session: Session | None) -> Where:
    if session is None:
        return "before"
    return "closed" if session.outcome else "owed" if session.pending else "open"


def refusal(kb: KnowledgeBase, session: Session | None, event: Event) -> Refusal | None:
    """Why the event is not allowed now, or None."""
    row = LAW[word_of(event)]
    if key := getattr(row, place_of(session)):
        return refused(key)
    ending = ENDING.get(event.outcome, ()) if isinstance(event, Close) else ()
    return _first(kb, session, event, (*row.visit, *row.event, *ending))


def _first(kb: KnowledgeBase, session: Session | None, event: Event | None, grounds: Iterable[str]) -> Refusal | None:
    found = (GROUNDS[name](kb, session, event) for name in grounds)
    return next((no for no in found if no), None)


def may_follow(kb: KnowledgeBase, session: Session) -> Mapping[str, str]:
    """For every kind of event: '' where one may follow now, else why none may, whatever it says."""
    place = place_of(session)
    found = {word: refused(key) if (key := getattr(row, place)) else None for word, row in LAW.items()}
    judged = {word: no or _first(kb, session, None, LAW[word].visit) for word, no in found.items()}
    return {word: no.says if no else "" for word, no in judged.items()}


def barred_now(kb: KnowledgeBase, session: Session, check: str) -> str:
    """Why the check may not be answered now, other than with 'don't know'; or ''."""
    whatever = Reply(check, "")
    no = _first(kb, session, whatever, [g for g in LAW["reply"].event if g != "fits_check"])
    return no.says if no else ""


def endings(kb: KnowledgeBase, session: Session) -> Mapping[str, str]:
    """For every way to end: '' where the visit may end so once a reason is given, else why it may not."""
    judged = {end: refusal(kb, session, Close(end, "a reason")) for end in ENDS}
    return {end: no.says if no else "" for end, no in judged.items()}


def doers(kb: KnowledgeBase, session: Session, cause: str) -> tuple[Doer, ...]:
    """Who may have carried out the remedy: '' whoever has the visit; the others have to be named."""
    named: tuple[Doer, ...] = ("", *DOERS)
    return tuple(d for d in named if not refusal(kb, session, Repaired(cause, by=d)))


def due(session: Session, conclusion: Conclusion) -> tuple[Event, ...]:
    """What follows by itself: the conclusion, where nothing more would be asked."""
    asking = place_of(session) == "open" and not session.concluded
    return (Conclude(),) if asking and not conclusion.next.check else ()
