"""Session and conclusion -> the record of a visit, for the customer and in full."""

from collections.abc import Collection
from typing import Any

from diagnose import __version__
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.core.stage import SAFE
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.present.answers import answers_of, role_says
from diagnose.present.clean import LONGEST_NAME, clean, cleaned
from diagnose.present.ending import facts_of
from diagnose.present.mending import lines_of
from diagnose.present.minutes import took_says
from diagnose.present.notices import own_says
from diagnose.present.photos import photos_of
from diagnose.present.profile import fact_of
from diagnose.present.record import Proven, Record, RecordedOrder, RecordedPhoto, RecordedRepair, Times, Version
from diagnose.present.record_causes import causes
from diagnose.present.record_found import conclusion_says, ruled_out
from diagnose.present.record_people import earlier_ends, mender, named, notes, people
from diagnose.present.record_stages import Lap, capital, compared, laps, stages
from diagnose.present.strip import known_of
from diagnose.session.caller import meanwhile, proof_of
from diagnose.session.checklist import open_items, ordered
from diagnose.session.gear_words import device_says
from diagnose.session.state import SERVING, Repair, Session
from diagnose.session.summary import summarise
from diagnose.session.wording import answer_says, by_says, ending_says, role_of, who_says
from diagnose.words import say


def records(
    reasoner: Reasoner, session: Session, conclusion: Conclusion, times: Times, name: str = ""
) -> tuple[Record, Record]:
    """The customer's record and the full one; `name` is the number of the visit."""
    return (
        build(reasoner, session, conclusion, times, "customer", name),
        build(reasoner, session, conclusion, times, "full", name),
    )


def sensors_of(kb: KnowledgeBase, session: Session) -> tuple[str, ...]:
    """The devices by name where they are named, else the kinds of sensor."""
    named = tuple(device_says(kb, d) for d in session.setup.gear)
    return named or tuple(kb.devices[d] for d in session.setup.devices)


def build(
    reasoner: Reasoner, session: Session, conclusion: Conclusion, times: Times, version: Version, name: str = ""
) -> Record:
    """One version of the record; every text in it is harmless to print."""
    kb, full = reasoner.kb, version == "full"
    all_laps, summary = laps(reasoner, session, conclusion), summarise(reasoner, session, conclusion)
    orders, mended = _orders(kb, session, all_laps, times), session.mended
    return cleaned(
        Record(
            version=version,
            site=clean(session.site, LONGEST_NAME),
            times=times,
            role=role_says(session),
            people=people(session),
            sensors=sensors_of(kb, session),
            profile=tuple(fact_of(*fact) for fact in session.setup.profile.items()) if full else (),
            complaint=kb.complaints[session.complaint].says,
            words=session.words,
            orders=orders,
            conclusion=conclusion_says(kb, session, conclusion, summary),
            explain=kb.causes[mended.cause].explain if mended else "",
            strips=tuple(s.says for s in known_of(kb, session, conclusion)) if full or not mended else (),
            suspects=causes(kb, session, summary, version),
            repairs=_repairs(kb, session, conclusion.worked),
            compared=compared(kb, all_laps, version),
            stages=stages(kb, session, all_laps, version),
            checklist=_checklist(kb, session),
            meanwhile=meanwhile(kb, session, conclusion),
            left=_left(kb, session, orders),
            **_ended(kb, session),
            cautions=_cautions(kb, session, all_laps),
            signatures=_signatures(kb, session, orders),
            knowledge=_knowledge(kb, session) if full else own_says(kb),
            program=f"gate-diagnose {__version__}",
            visit=clean(name, LONGEST_NAME),
            ruled_out=ruled_out(kb, conclusion) if full else (),
            aside=answers_of(kb, session, conclusion).aside,
            photos=_photos(kb, session),
        )
    )


def _photos(kb: KnowledgeBase, session: Session) -> tuple[RecordedPhoto, ...]:
    return tuple(RecordedPhoto(p.name, p.belongs, p.says, named(p.by)) for p in photos_of(kb, session))


def _ended(kb: KnowledgeBase, session: Session) -> dict[str, Any]:
    """How the visit ended, now and before, and what people said of it in their own words."""
    return {
        "outcome": ending_says(session.outcome) if session.outcome else say("report.visit_open"),
        "serving": session.outcome in SERVING,
        "reason": session.reason,
        "facts": facts_of(session.end),
        "minutes": took_says(kb, session),
        "earlier": earlier_ends(session),
        "notes": notes(session, "remark"),
        "corrections": notes(session, "correction"),
    }


def _orders(
    kb: KnowledgeBase, session: Session, all_laps: tuple[Lap, ...], times: Times
) -> tuple[RecordedOrder, ...]:
    found = []
    for name in ordered(kb, session):
        caution = kb.cautions[name]
        confirmed, state = _order_state(kb, name, all_laps)
        lifted = session.outcome in SERVING
        if lifted:  # every line of the checklist was proved for it
            state = say("report.lifted", by=named(session.by), at=times.closed or times.ended, before=state)
        short = capital(caution.short)
        found.append(
            RecordedOrder(caution.says, short, caution.tell, caution.tag, confirmed or lifted, state, lifted)
        )
    return tuple(found)


def _order_state(kb: KnowledgeBase, order: str, all_laps: tuple[Lap, ...]) -> tuple[bool, str]:
    """Whether somebody confirmed the gate safe after the order, judged where it stood last; and who."""
    last = next((lap for lap in reversed(all_laps) if order in lap.conclusion.after.stop_work), None)
    if last is None or order in last.conclusion.stop_work:
        return False, say("present.not_confirmed")
    check = kb.checks[kb.settings.made_safe_check]
    answer = [a for lap in all_laps for a in lap.answers if a.check == check.id and a.value in SAFE][-1]
    said, by = answer_says(check, answer, role_of(answer.by)), clean(by_says(answer.by), LONGEST_NAME)
    return True, say("report.confirmed_by", said=said, by=by) if by else say("report.confirmed", said=said)


def _repairs(kb: KnowledgeBase, session: Session, worked: Collection[str]) -> tuple[RecordedRepair, ...]:
    """`worked`: causes that were mended, as what was seen later says, although the trouble went on."""
    return tuple(_mended(kb.causes[r.cause], r, r.cause in worked) for r in session.repairs)


def _mended(cause: Cause, repair: Repair, worked: bool) -> RecordedRepair:
    note = "; ".join(filter(None, (mender(repair), repair.note)))
    came_to = "worked" if worked and repair.proof == "failed" else repair.proof
    proof, _ = proof_of(cause, repair.by)
    result = say(f"present.proof_{came_to}")
    return RecordedRepair(cause.says, note, proof, result, repair.reading, came_to == "passed", came_to)


def _checklist(kb: KnowledgeBase, session: Session) -> tuple[Proven, ...]:
    lines = lines_of(kb, session)
    return tuple(Proven(line.says, line.why, line.protective, line.result, line.reading) for line in lines)


def _left(kb: KnowledgeBase, session: Session, orders: tuple[RecordedOrder, ...]) -> tuple[str, ...]:
    unsafe = [say("report.make_safe", order=order.says) for order in orders if not order.confirmed]
    pending = session.pending
    owed = [proof_of(kb.causes[pending.cause], pending.by)[0]] if pending else []
    owed = [say("report.prove_repair", proof=proof) for proof in owed]
    unproven = [item.says for item in open_items(kb, session)]
    unclosed = [] if session.outcome else [say("report.close_visit")]
    return (*unsafe, *owed, *unproven, *unclosed)


def _cautions(kb: KnowledgeBase, session: Session, all_laps: tuple[Lap, ...]) -> tuple[str, ...]:
    """Every caution that came up: before checks, from rules, and with the repairs; each once."""
    found: dict[str, None] = {}
    for lap in all_laps:
        checks = [kb.checks[a.check] for a in lap.answers if a.made_here and a.check in kb.checks]
        found |= dict.fromkeys(c for check in checks for c in cautions_for(kb, check))
        found |= dict.fromkeys(lap.conclusion.after.cautions)
    for repair in session.repairs:
        found |= dict.fromkeys(remedy_cautions(kb, kb.causes[repair.cause]))
    return tuple(kb.cautions[name].says for name in found if not kb.cautions[name].stop_work)


def _signatures(kb: KnowledgeBase, session: Session, orders: tuple[RecordedOrder, ...]) -> tuple[str, ...]:
    at_the_gate = session.setup.role == "technician"
    lines = [say("report.sign_at_gate") if at_the_gate else say("report.sign_help_desk")]
    if any(kb.causes[r.cause].remedy.who == "electrician" for r in session.repairs):
        lines.append(capital(who_says("electrician")))
    return (*lines, say("report.sign_site_stopped") if orders else say("report.sign_site"))


def _knowledge(kb: KnowledgeBase, session: Session) -> str:
    if session.digest in ("", kb.digest):
        return own_says(kb) or kb.digest
    changed = say("report.knowledge_changed", digest=kb.digest, began=session.digest)
    return " ".join(filter(None, (own_says(kb), changed)))
