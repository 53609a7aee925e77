"""Record -> headings, paragraphs, lists and tables, so that the page and the PDF cannot say different things."""

from dataclasses import dataclass
from typing import Literal

from diagnose.report.evidence import causes
from diagnose.report.parts import Alarm, Block, Bullets, Cell, Facts, Heading, Lines, Section, Table, Text
from diagnose.report.record import Checked, Mended, Order, Proven, Record, Stage
from diagnose.session.session import BY_TECHNICIAN
from diagnose.session.wording import by_says

Tone = Literal["good", "bad"]
TITLES = {"customer": "Visit record", "full": "Visit record in full"}
NO_STATEMENT = (
    "This record says what was asked, measured, mended and proved on this visit. It is no statement that the gate "
    "conforms to any rule or standard: local codes and licensed practice decide."
)
NOT_COUNTED = "No longer counted: what it hung on has changed."
DATE = len("2026-03-01")
ORDER_OF_WORK = "Every protective function is proved again after any change."


@dataclass(frozen=True, slots=True)
class Page:
    """The whole record, ready to draw. `banner` is how the visit ended."""

    title: str
    subtitle: str
    banner: str
    reason: str
    tone: Tone
    sections: tuple[Section, ...]
    footer: str


def lay_out(record: Record) -> Page:
    """Every part of the record that has something to say, in reading order."""
    parts: tuple[tuple[str, tuple[Block, ...]], ...] = (
        ("Stop-work", tuple(_order(order) for order in record.orders)),
        ("The visit", (Facts(_visit(record)),)),
        ("What was found", _found(record)),
        ("What was mended", _repairs(record)),
        ("Before and after", _compared(record)),
        ("What was checked", tuple(block for stage in record.stages for block in _stage(stage))),
        ("Proved before return to service", _checklist(record)),
        ("Still to do", (Bullets(record.left),) if record.left else ()),
        ("Cautions that applied", (Bullets(record.cautions),) if record.cautions else ()),
        ("About this record", _about(record)),
        ("Signatures", (Lines(record.signatures),)),
    )
    sections = tuple(Section(title, blocks) for title, blocks in parts if blocks)
    subtitle = ", ".join(
        filter(None, (record.site or "Site not named", (record.times.ended or record.times.began)[:DATE]))
    )
    tone: Tone = "good" if record.serving else "bad"
    return Page(TITLES[record.version], subtitle, record.outcome, record.reason, tone, sections, record.program)


def _order(order: Order) -> Alarm:
    told = (("State", order.state), ("To be told", order.tell), ("On the tag", order.tag))
    return Alarm(order.says, tuple((label, says) for label, says in told if says), order.confirmed)


def _visit(record: Record) -> tuple[tuple[str, str], ...]:
    times = record.times
    rows = [
        ("Site", record.site or "not named"),
        ("Began", times.began),
        ("Last worked on", times.ended),
        ("Carried out by", record.role),
        *(("Taken over", ", ".join(filter(None, (h.at, h.by, h.role)))) for h in times.hand_overs),
        ("Who checked", "; ".join(record.people)),
        ("Sensors", ", ".join(record.sensors) or "not said"),
        ("Complaint", record.complaint),
        ("In the site's words", f"“{record.words}”" if record.words else ""),
    ]
    return tuple((label, says) for label, says in rows if says)


def _found(record: Record) -> tuple[Block, ...]:
    explain = (Text(record.explain),) if record.explain else ()
    return (Text(record.conclusion, strong=True), *explain, *causes(record))


def _repairs(record: Record) -> tuple[Block, ...]:
    if not record.repairs:
        return ()
    rows = tuple(_repair(number, repair) for number, repair in enumerate(record.repairs, start=1))
    return (Table(("Repair", "Its proof", "Result"), rows, (4, 4, 3)),)


def _repair(number: int, repair: Mended) -> tuple[Cell, ...]:
    return (
        _cell(f"{number}. {repair.says}", repair.note),
        _cell(repair.proof),
        _cell(repair.result, repair.reading),
    )


def _compared(record: Record) -> tuple[Block, ...]:
    rows = tuple((_cell(c.asked), _cell(c.before), _cell(c.now)) for c in record.compared)
    return (Table(("Checked", "Before", "Now"), rows, (5, 3, 3)),) if rows else ()


def _stage(stage: Stage) -> tuple[Block, ...]:
    rows = tuple((_asked(check), _cell(check.said, *check.limits)) for check in stage.checks)
    return Heading(stage.says), Table(("Checked", "Found"), rows, (5, 6))


def _asked(check: Checked) -> Cell:
    by = f"Answered by {check.by}" if check.by not in ("", by_says(BY_TECHNICIAN)) else ""
    before = f"Said before: {check.replaced}" if check.replaced else ""
    return _cell(check.asked, by, before, check.note, "" if check.counted else NOT_COUNTED)


def _checklist(record: Record) -> tuple[Block, ...]:
    rows = tuple((_proven(item), _cell(item.result, item.reading)) for item in record.checklist)
    return (Text(ORDER_OF_WORK), Table(("To prove", "Result"), rows, (8, 3))) if rows else ()


def _proven(item: Proven) -> Cell:
    protects = "Stands between people and the gate." if item.protective else ""
    return _cell(item.says, f"Why: {item.why}.", protects)


def _about(record: Record) -> tuple[Block, ...]:
    rows = (*_profile(record), ("Knowledge", record.knowledge), ("Made with", record.program))
    return Text(NO_STATEMENT), Facts(tuple((label, says) for label, says in rows if says))


def _profile(record: Record) -> tuple[tuple[str, str], ...]:
    """One row for the device, the site and the lamps each."""
    rows: dict[str, list[str]] = {}
    for fact in record.profile:
        rows.setdefault(fact.of, []).append(f"{fact.name} {fact.value}")
    return tuple((f"Profile: {of}", "; ".join(facts)) for of, facts in rows.items())


def _cell(*lines: str) -> Cell:
    return tuple(filter(None, lines)) or ("-",)
