"""The single conditions that events have to meet, each with what refuses an event that does not meet it."""

from collections.abc import Iterable, Mapping
from functools import partial
from typing import get_args

from diagnose.calc.units import format_reading
from diagnose.core.facts import fact_name
from diagnose.core.ground import ground
from diagnose.core.permit import barred, skill, within_rank
from diagnose.core.rules import fixpoint
from diagnose.core.stage import Premises, Stage, left_to_ask, stage_of, standing
from diagnose.kb.domain import answers_of
from diagnose.model.gear import LONGEST, MOST, Gear, key_of
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.model.visit import CALLER, NO_ANSWER, SOMETHING_ELSE, Value
from diagnose.session import photos
from diagnose.session.closing import CLOSING, Found, Ground
from diagnose.session.events import (
    AskOn,
    Begin,
    Complain,
    Doer,
    Event,
    Named,
    Noted,
    Pictured,
    Repaired,
    Reply,
    TakeOver,
    Ticked,
)
from diagnose.session.refusals import refused
from diagnose.session.regear import moving
from diagnose.session.state import NoteKind, Result, Session

DOERS = tuple(d for d in get_args(Doer) if d)


def known_complaint(kb: KnowledgeBase, _: Session | None, event: Begin | Complain) -> Found:
    known = ", ".join(kb.complaints)
    return None if event.complaint in kb.complaints else refused("complaint", name=repr(event.complaint), known=known)


def known_devices(kb: KnowledgeBase, _: Session | None, event: Begin | TakeOver) -> Found:
    return unknown_device(kb, event.setup.devices) or unfit_gear(kb, event.setup.gear)


def known_gear(kb: KnowledgeBase, _: Session, event: Named) -> Found:
    return unfit_gear(kb, event.gear)


def unfit_gear(kb: KnowledgeBase, gear: Gear) -> Found:
    """Not too many devices, of known kinds; every one has a name of its own, which a key can be made of."""
    if len(gear) > MOST:
        return refused("too_many_devices", most=str(MOST))
    if no := unknown_device(kb, [d.kind for d in gear]):
        return no
    keys = [d.key for d in gear]
    bad = next((d for d in gear if not d.nameable or keys.count(d.key) > 1), None)
    return refused("device_name", name=repr(bad.name[:LONGEST]), most=str(LONGEST)) if bad else None


def one_each(_: KnowledgeBase, session: Session, event: Named) -> Found:
    """What was answered about one device goes to one device, and to no other's answers."""
    before, named = [d.key for d in session.setup.gear], [d.key for d in event.gear]
    now = [event.became.get(key, key) for key in before]
    former = {"", *before, *(key_of(entry) for a in session.aside for entry in (a.check, str(a.value)))}
    told = former >= event.became.keys() and all(key in named for key in event.became.values())
    return None if told and len(set(now)) == len(now) else refused("device_became")


def repaired_stay(kb: KnowledgeBase, session: Session, event: Named) -> Found:
    """A device that was repaired on this visit keeps its place in the record."""
    there, moved = ground(kb, event.gear), moving(kb, session.setup.gear, event)
    return refused("device_repaired") if any(moved(r.cause) not in there.causes for r in session.repairs) else None


def unknown_device(kb: KnowledgeBase, devices: Iterable[str]) -> Found:
    wrong = next((d for d in devices if d not in kb.devices), None)
    return None if wrong is None else refused("device", name=repr(wrong), known=", ".join(kb.devices))


def fits_check(kb: KnowledgeBase, _: Session, event: Reply) -> Found:
    return misfit(kb, event.check, event.value)


def misfit(kb: KnowledgeBase, name: str, value: Value) -> Found:
    """Whether a check can be answered with this value at all."""
    check = kb.checks.get(name)
    if check is None:
        return refused("no_check", name=repr(name))
    if value in NO_ANSWER:
        return None
    if check.kind != "quantity":
        words = sorted(answers_of(check))
        fits = value in words
        return None if fits else refused("no_option", check=name, value=repr(value), known=", ".join(words))
    low, high = check.hard or (float("-inf"), float("inf"))
    if not isinstance(value, str) and low <= value <= high:
        return None
    least, most = format_reading(low, check.unit), format_reading(high, check.unit)
    return refused("no_reading", check=name, value=repr(value), low=least, high=most)


def words_given(_: KnowledgeBase, __: Session, event: Reply) -> Found:
    """That no answer fits says nothing without what the person says instead."""
    return refused("no_words") if event.value == SOMETHING_ELSE and not event.note.strip() else None


def may_be_heard(kb: KnowledgeBase, _: Session, event: Reply) -> Found:
    """What decides over hazards is asked, and never only heard in somebody's words."""
    return refused("heard_hazard") if event.heard and decides_hazard(kb, event.check) else None


def decides_hazard(kb: KnowledgeBase, name: str) -> bool:
    """Whether the check is about a hazard, about the gate being safe, or can order stop-work."""
    check = kb.checks[name]
    orders = (rule.when for rule in kb.rules.values() if rule.then.stop_work)
    return check.hazard or name == kb.settings.made_safe_check or any(fact_name(check) in when for when in orders)


def role_may(kb: KnowledgeBase, session: Session, event: Reply) -> Found:
    """To say that there is no answer is to do nothing, so a wrong answer of somebody else's can be taken out; and to
    tell what others did before is no work here."""
    if event.value in NO_ANSWER or event.heard or not barred(kb.checks[event.check], session.setup):
        return None
    return refused("not_for_caller" if session.setup.role == "help_desk" else "not_licensed")


def gate_may_run(kb: KnowledgeBase, session: Session, event: Reply) -> Found:
    if event.value in NO_ANSWER or event.heard or not kb.checks[event.check].runs_gate:
        return None
    return refused("runs_gate") if standing(*_now(kb, session), session.attempts) else None


def _now(kb: KnowledgeBase, session: Session) -> tuple[Premises, Stage]:
    """Where the visit stands. A file in mid-salvage may hold answers that the knowledge does not."""
    case = Premises(kb, partial(fixpoint, kb), session.setup, session.complaint)
    return case, stage_of(case, [a for a in session.given if not misfit(kb, a.check, a.value)])


def something_to_take_back(_: KnowledgeBase, session: Session, event: Event) -> Found:
    del event
    return None if session.answers or session.previous else refused("nothing_to_take_back")


def something_left(kb: KnowledgeBase, session: Session, event: AskOn) -> Found:
    del event
    return None if left_to_ask(*_now(kb, session), session.attempts, session.lasting) else refused("nothing_left")


def known_cause(kb: KnowledgeBase, _: Session, event: Repaired) -> Found:
    return None if event.cause in kb.causes else refused("no_cause", name=repr(event.cause))


def doer_may(kb: KnowledgeBase, session: Session, event: Repaired) -> Found:
    """Nobody's word stands in for a licence: the electrician takes the visit over and says it himself."""
    if event.by and event.by not in DOERS:
        return refused("no_doer", known=", ".join(DOERS), name=repr(event.by))
    if event.by == CALLER:
        return _caller_may(kb, session, kb.causes[event.cause])
    who = kb.causes[event.cause].remedy.who
    doer = next((d for d in DOERS if d == event.by), skill(session.setup))
    if within_rank(who, doer):
        return None
    return refused("electrician_only" if who == "electrician" else "not_by_caller")


def _caller_may(kb: KnowledgeBase, session: Session, cause: Cause) -> Found:
    """Only on the phone, only what the knowledge gives to callers, and nothing at all under a stop-work order."""
    if session.setup.role != "help_desk":
        return refused("caller_on_phone")
    if cause.caller is None:
        return refused("not_by_caller")
    return refused("caller_stopped") if standing(*_now(kb, session), session.attempts) else None


def proved_good(_: KnowledgeBase, session: Session, event: Event) -> Found:
    del event
    return None if session.mended else refused("nothing_proved_good")


def known_tick(kb: KnowledgeBase, _: Session, event: Ticked) -> Found:
    if event.item not in kb.proofs:
        return refused("no_item", name=repr(event.item), known=", ".join(kb.proofs))
    if event.result not in get_args(Result):
        return refused("no_result", name=repr(event.result))
    if not kb.proofs[event.item].protective or event.reading.strip() or event.result == "fail":
        return None
    return refused("no_reason_for_na" if event.result == "na" else "no_reading_for_pass")


def ticked_at_gate(_: KnowledgeBase, session: Session, event: Ticked) -> Found:
    del event
    return refused("ticked_from_afar") if session.setup.role == "help_desk" else None


def known_note(_: KnowledgeBase, session: Session, event: Noted) -> Found:
    del session
    fits = event.kind in get_args(NoteKind) and event.text.strip()
    return None if fits else refused("no_note", known=", ".join(get_args(NoteKind)))


def room_for_picture(_: KnowledgeBase, session: Session, event: Pictured) -> Found:
    del event
    return refused("pictures_full", most=str(photos.MOST)) if len(session.photos) >= photos.MOST else None


def known_picture(kb: KnowledgeBase, session: Session, event: Pictured) -> Found:
    """A file name of ours, and something on this visit that it belongs to."""
    there = {
        "visit": not event.which,
        "answer": session.answer(event.which) is not None,
        "remedy": event.which in kb.causes,
        "proof": event.which in [r.cause for r in session.repairs],
    }
    if not photos.is_name(event.name):
        return refused("no_picture_name", name=repr(event.name[:40]))
    return None if there.get(event.of) else refused("picture_of_nothing")


GROUNDS: Mapping[str, Ground] = {
    "known_complaint": known_complaint,
    "known_devices": known_devices,
    "known_gear": known_gear,
    "one_each": one_each,
    "repaired_stay": repaired_stay,
    "fits_check": fits_check,
    "words_given": words_given,
    "role_may": role_may,
    "may_be_heard": may_be_heard,
    "gate_may_run": gate_may_run,
    "something_to_take_back": something_to_take_back,
    "something_left": something_left,
    "known_cause": known_cause,
    "doer_may": doer_may,
    "proved_good": proved_good,
    "known_tick": known_tick,
    "ticked_at_gate": ticked_at_gate,
    "known_note": known_note,
    "room_for_picture": room_for_picture,
    "known_picture": known_picture,
    **CLOSING,
}
