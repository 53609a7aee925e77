"""What may follow what on a visit, and who may do it: one table for every front end, the offline page's included.

`session.step` asks `refusal` before every event; front ends ask `may_follow`, `endings`, `doers` and `due` what to
offer, and hold no rule themselves.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from diagnose.core.reason import Conclusion
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.closing import ENDS, RECEIVERS
from diagnose.session.events import AnotherFault, AskOn, Back, Close, Conclude, Doer, Event, Repaired, Reply, word_of
from diagnose.session.grounds import DOERS, GROUNDS
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
    "reply":         EventLaw(_NONE, "", "owed", "closed",
                         event=("fits_check", "words_given", "may_be_heard", "role_may", "gate_may_run"),
                         kept=("owed", "not_for_caller", "not_licensed", "runs_gate")),
    "back":          EventLaw(_NONE, "", "", "", visit=("something_to_take_back",)),
    "complain":      EventLaw(_NONE, "", "owed", "closed", event=("known_complaint",), kept=("owed",)),
    "conclude":      EventLaw(_NONE, "", "owed", "closed"),
    "ask_on":        EventLaw(_NONE, "", "owed", "closed", visit=("something_left",)),
    "repaired":      EventLaw(_NONE, "", "owed", "closed", event=("known_cause", "doer_may"),
                         kept=("electrician_only", "not_by_caller", "caller_stopped")),
    "proved":        EventLaw(_NONE, "no_proof_due", "", "closed"),
    "another_fault": EventLaw(_NONE, "", "owed", "closed", visit=("proved_good",)),
    "ticked":        EventLaw(_NONE, "", "owed", "closed", visit=("ticked_at_gate",), event=("known_tick",),
                         kept=("no_reading_for_pass",)),
    "close":         EventLaw(_NONE, "", "", "closed", event=("known_ending",),
                         kept=("protection_owed", "still_wrong")),
    "reopen":        EventLaw(_NONE, "not_closed", "not_closed", ""),
    "noted":         EventLaw(_NONE, "", "", "", event=("known_note",)),
    "pictured":      EventLaw(_NONE, "", "", "", visit=("room_for_picture",), event=("known_picture",)),
    "named":         EventLaw(_NONE, "", "", "closed", event=("known_gear", "one_each", "repaired_stay")),
    "take_over":     EventLaw(_NONE, "", "", "", event=("known_devices",)),
}  # fmt: skip
ENDING: Mapping[str, tuple[str, ...]] = {  # what more has to hold for each way to end
    "in_service": ("repair_proved", "at_gate", "trouble_gone", "everything_proved", "something_shown"),
    "solved_on_phone": ("repair_proved", "on_phone", "no_order", "something_proved", "protection_untouched"),
    "proof_owed": ("repair_proved", "on_phone", "no_order", "something_proved", "protection_touched",
                   "prover_named", "due_named", "meanwhile_named"),
    "left_out": ("reason_given",),
    "dispatched": ("reason_given",),
    "nothing_wrong": ("reason_given", "repair_proved", "nothing_mended", "nothing_owed"),
    "passed_on": ("receiver_known", "reason_given"),
}  # fmt: skip
ASKED: Mapping[str, tuple[str, ...]] = {  # what is asked for each way to end
    "in_service": ("by",),
    "solved_on_phone": (),
    "proof_owed": ("by", "due", "meanwhile"),
    "left_out": ("reason", "meanwhile", "by"),
    "dispatched": ("reason", "meanwhile"),
    "nothing_wrong": ("reason",),
    "passed_on": ("to", "reason", "meanwhile"),
}
NEEDED: Mapping[str, str] = {  # what may not be left out, by the ground that says so
    "reason_given": "reason",
    "prover_named": "by",
    "due_named": "due",
    "meanwhile_named": "meanwhile",
    "receiver_known": "to",
}
FULL = Close("", "-", "-", RECEIVERS[0], "2000-01-01", "-")  # with everything that any ending asks for
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
    judged = {end: refusal(kb, session, replace(FULL, outcome=end)) for end in ENDS}
    return {end: no.says if no else "" for end, no in judged.items()}


def needed(outcome: str) -> frozenset[str]:
    """What has to be said for the visit to end so."""
    return frozenset(NEEDED[ground] for ground in ENDING[outcome] if ground in NEEDED)


def asked(session: Session, outcome: str) -> tuple[str, ...]:
    """What to ask for the visit to end so; a name only where none is known or another one is needed."""
    known = session.by and "by" not in needed(outcome)
    return tuple(name for name in ASKED[outcome] if name != "by" or not known)


def provable(kb: KnowledgeBase, session: Session, outcome: str) -> bool:
    """Whether lines of the checklist are all that keeps the visit from ending so, and can be proved now."""
    no = refusal(kb, session, replace(FULL, outcome=outcome))
    return no is not None and no.key == "still_open" and not may_follow(kb, session)["ticked"]


def more(session: Session) -> AskOn | AnotherFault:
    """What to go on asking means: after a repair that was proved good, something else must be wrong."""
    return AnotherFault() if session.mended else AskOn()


def back(session: Session) -> Back | Conclude:
    """What to go back means: from a question that was wanted after a conclusion, to that conclusion."""
    return Conclude() if session.insist and place_of(session) == "open" else Back()


def doers(kb: KnowledgeBase, session: Session, cause: str) -> tuple[Doer, ...]:
    """Who may have carried out the remedy: '' whoever has the visit; the others have to be named."""
    named: tuple[Doer, ...] = ("", *DOERS)
    return tuple(d for d in named if not refusal(kb, session, Repaired(cause, by=d)))


def due(session: Session, conclusion: Conclusion) -> tuple[Event, ...]:
    """What follows by itself: the conclusion, where nothing more would be asked."""
    asking = place_of(session) == "open" and not session.concluded
    return (Conclude(),) if asking and not conclusion.next.check else ()
