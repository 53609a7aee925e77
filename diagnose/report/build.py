"""Session and conclusion -> the record of a visit, for the customer and in full."""

from collections import Counter
from collections.abc import Iterable

from diagnose import __version__
from diagnose.calc.units import format_reading
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.core.stage import SAFE
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.model.profile import PROFILE_FACTS
from diagnose.model.visit import Value
from diagnose.report.clean import LONGEST_NAME, clean, cleaned
from diagnose.report.record import Fitted, Mended, Order, Proven, Record, Times, Version
from diagnose.report.stages import Lap, compared, laps, stages
from diagnose.report.suspects import conclusion_says, suspects
from diagnose.report.times import role_says
from diagnose.session.checklist import checklist, open_items, ordered
from diagnose.session.state import Repair, Session
from diagnose.session.summary import cautions_for, summarise
from diagnose.session.wording import answer_says, by_says, done_by_says

OUTCOMES = {
    "": "Visit still open",
    "in_service": "Back in service",
    "left_out": "LEFT OUT OF SERVICE",
    "solved_on_phone": "Solved on the phone",
    "dispatched": "Passed on: somebody has to come to the gate",
}
PROOFS = {"pending": "proof still owed", "passed": "proof passed", "failed": "proof failed"}
RESULTS = {"pass": "passed", "fail": "FAILED", "na": "not applicable"}
NOT_DONE = "not done"
UNIT_IN_NAME = {"degC": "c"}  # where the name of a profile fact ends differently


def records(reasoner: Reasoner, session: Session, conclusion: Conclusion, times: Times) -> tuple[Record, Record]:
    """The customer's record and the full one."""
    return (
        build(reasoner, session, conclusion, times, "customer"),
        build(reasoner, session, conclusion, times, "full"),
    )


def build(reasoner: Reasoner, session: Session, conclusion: Conclusion, times: Times, version: Version) -> Record:
    """One version of the record; every text in it is harmless to print."""
    kb, full = reasoner.kb, version == "full"
    all_laps, summary = laps(reasoner, session, conclusion), summarise(reasoner, session, conclusion)
    orders, mended = _orders(kb, session, all_laps), session.mended
    return cleaned(
        Record(
            version=version,
            site=clean(session.site, LONGEST_NAME),
            times=times,
            role=role_says(session),
            people=_people(all_laps),
            sensors=tuple(kb.devices[d] for d in session.setup.devices),
            profile=tuple(_fact(*fact) for fact in session.setup.profile.items()) if full else (),
            complaint=kb.complaints[session.complaint].says,
            words=session.words,
            orders=orders,
            conclusion=conclusion_says(kb, session, conclusion, summary),
            explain=kb.causes[mended.cause].explain if mended else "",
            suspects=suspects(kb, session, summary, version),
            repairs=_repairs(kb, session),
            compared=compared(kb, session, all_laps, version),
            stages=stages(kb, session, all_laps, version),
            checklist=_checklist(kb, session),
            left=_left(kb, session, orders),
            outcome=OUTCOMES[session.outcome],
            serving=session.outcome in ("in_service", "solved_on_phone"),
            reason=session.reason,
            cautions=_cautions(kb, session, all_laps),
            signatures=_signatures(kb, session, orders),
            knowledge=_knowledge(kb, session) if full else "",
            program=f"gate-diagnose {__version__}",
        )
    )


def _people(all_laps: Iterable[Lap]) -> tuple[str, ...]:
    counts = Counter(
        clean(by_says(a.by), LONGEST_NAME) or "no name given"
        for lap in all_laps
        for a in lap.answers
        if a.says_something
    )
    return tuple(f"{name}: {number} check{'s'[: number > 1]}" for name, number in counts.items())


def _fact(name: str, value: Value) -> Fitted:
    """'device.supply_min_v', 10.0 -> device, 'supply min', '10 V': the unit stands with the number only."""
    of, _, rest = name.partition(".")
    if isinstance(value, str):
        return Fitted(of, rest.replace("_", " "), value)
    unit = str(PROFILE_FACTS[name])
    words = rest.removesuffix(f"_{UNIT_IN_NAME.get(unit, unit).lower()}")
    return Fitted(of, words.replace("_", " "), format_reading(value, unit))


def _orders(kb: KnowledgeBase, session: Session, all_laps: tuple[Lap, ...]) -> tuple[Order, ...]:
    found = []
    for name in ordered(kb, session):
        caution = kb.cautions[name]
        confirmed, state = _order_state(kb, session, name, all_laps)
        found.append(Order(caution.says, caution.tell, caution.tag, confirmed, state))
    return tuple(found)


def _order_state(kb: KnowledgeBase, session: Session, order: str, all_laps: tuple[Lap, ...]) -> tuple[bool, str]:
    """Whether somebody confirmed the gate safe after the order, judged where it stood last; and who."""
    last = next((lap for lap in reversed(all_laps) if order in lap.conclusion.after.stop_work), None)
    if last is None or order in last.conclusion.stop_work:
        return False, "NOT CONFIRMED SAFE"
    check = kb.checks[kb.settings.made_safe_check]
    said = [a for lap in all_laps for a in lap.answers if a.check == check.id and a.value in SAFE]
    by = f", by {clean(by_says(said[-1].by), LONGEST_NAME)}" if said[-1].by else ""
    return True, f"Confirmed: {answer_says(check, said[-1], session.setup.role)}{by}"


def _repairs(kb: KnowledgeBase, session: Session) -> tuple[Mended, ...]:
    return tuple(_mended(kb.causes[r.cause], r) for r in session.repairs)


def _mended(cause: Cause, repair: Repair) -> Mended:
    note = "; ".join(filter(None, (done_by_says(repair.by), repair.note)))
    return Mended(cause.says, note, cause.proof, PROOFS[repair.proof], repair.reading, repair.proof == "passed")


def _checklist(kb: KnowledgeBase, session: Session) -> tuple[Proven, ...]:
    ticks = {t.item: t for t in session.ticks}
    return tuple(
        Proven(
            item.says,
            item.why,
            item.protective,
            RESULTS[ticks[item.id].result] if item.id in ticks else NOT_DONE,
            ticks[item.id].reading if item.id in ticks else "",
        )
        for item in checklist(kb, session)
    )


def _left(kb: KnowledgeBase, session: Session, orders: tuple[Order, ...]) -> tuple[str, ...]:
    unsafe = [f"Make the gate safe and confirm it. {order.says}" for order in orders if not order.confirmed]
    owed = [f"Prove the repair: {kb.causes[session.pending.cause].proof}"] if session.pending else []
    unproven = [item.says for item in open_items(kb, session)]
    unclosed = [] if session.outcome else ["Close the visit."]
    return (*unsafe, *owed, *unproven, *unclosed)


def _cautions(kb: KnowledgeBase, session: Session, all_laps: tuple[Lap, ...]) -> tuple[str, ...]:
    """Every caution that came up: before checks, from rules, and with the repairs; each once."""
    found: dict[str, None] = {}
    for lap in all_laps:
        checks = [kb.checks[a.check] for a in lap.answers if a.says_something and a.check in kb.checks]
        found |= dict.fromkeys(c for check in checks for c in cautions_for(kb, check))
        found |= dict.fromkeys(lap.conclusion.after.cautions)
    for cause in (kb.causes[r.cause] for r in session.repairs):
        access = kb.access[cause.remedy.access].cautions if cause.remedy.access else ()
        found |= dict.fromkeys((*access, *cause.cautions, *cause.remedy.cautions))
    return tuple(kb.cautions[name].says for name in found if not kb.cautions[name].stop_work)


def _signatures(kb: KnowledgeBase, session: Session, orders: tuple[Order, ...]) -> tuple[str, ...]:
    at_the_gate = session.setup.role == "technician"
    lines = ["For the service, at the gate" if at_the_gate else "For the help-desk"]
    if any(kb.causes[r.cause].remedy.who == "electrician" for r in session.repairs):
        lines.append("Licensed electrician")
    told = ", told of the stop-work order" if orders else ""
    return (*lines, f"For the site{told}")


def _knowledge(kb: KnowledgeBase, session: Session) -> str:
    changed = f"; the visit began with {session.digest}" if session.digest not in ("", kb.digest) else ""
    return f"{kb.digest}{changed}"
