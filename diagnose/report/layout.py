"""Record -> headings, paragraphs, lists and tables, so that the page and the PDF cannot say different things."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from diagnose.present.record import (
    Checked,
    Proven,
    Record,
    RecordedEnd,
    RecordedOrder,
    RecordedPhoto,
    RecordedRepair,
    RecordedStage,
)
from diagnose.report.evidence import causes
from diagnose.report.parts import (
    Alarm,
    Block,
    Bullets,
    Cell,
    Facts,
    Heading,
    Lines,
    Pasted,
    Photos,
    Section,
    Table,
    Text,
)
from diagnose.words import say

Tone = Literal["good", "bad"]
DATE = len("2026-03-01")


@dataclass(frozen=True, slots=True)
class RecordPage:
    """The whole record, ready to draw. `banner` is how the visit ended."""

    title: str
    subtitle: str
    banner: str
    reason: str
    tone: Tone
    sections: tuple[Section, ...]
    footer: str


def lay_out(record: Record) -> RecordPage:
    """Every part of the record that has something to say, in reading order."""
    parts: tuple[tuple[str, tuple[Block, ...]], ...] = (
        ("stop_work", tuple(map(_order, record.orders))),
        ("put_right", (Bullets(record.corrections),) if record.corrections else ()),
        ("the_visit", (Facts(_visit(record)),)),
        ("what_was_found", _found(record)),
        ("what_was_mended", _repairs(record, "passed")),
        ("mended_not_proved", _repairs(record, "pending")),
        ("mended_but_went_on", _repairs(record, "worked")),
        ("tried_without_success", _repairs(record, "failed")),
        ("ruled_out", _ruled_out(record)),
        ("before_and_after", _compared(record)),
        ("what_was_checked", tuple(block for stage in record.stages for block in _stage(stage))),
        ("proved_before_service", _checklist(record)),
        ("photos", _photos(record)),
        ("until_somebody_comes", (Bullets(record.meanwhile),) if record.meanwhile else ()),
        ("still_to_do", (Bullets(record.left),) if record.left else ()),
        ("also_noted", (Bullets(record.notes),) if record.notes else ()),
        ("put_aside", (Bullets(record.aside),) if record.aside else ()),
        ("cautions_that_applied", (Bullets(record.cautions),) if record.cautions else ()),
        ("about_this_record", _about(record)),
        ("signatures", (Lines(record.signatures),)),
    )
    return RecordPage(
        title=say(f"report.title_{record.version}"),
        subtitle=_subtitle(record),
        banner=record.outcome,
        reason="; ".join(say("present.seen", finding=label, state=text) for label, text in record.facts),
        tone="good" if record.serving else "bad",
        sections=tuple(Section(say(f"report.{part}"), blocks) for part, blocks in parts if blocks),
        footer=record.program,
    )


def _subtitle(record: Record) -> str:
    when = (record.times.ended or record.times.began)[:DATE]
    return ", ".join(filter(None, (record.site or say("report.site_not_named"), when)))


def _order(order: RecordedOrder) -> Block:
    """In full while it stands; in a line once the gate is back in service."""
    if order.lifted:
        return Text(say("report.was_ordered", short=order.short, state=order.state))
    told = (("report.state", order.state), ("report.to_be_told", order.tell), ("report.on_the_tag", order.tag))
    return Alarm(order.says, _rows(told), order.confirmed)


def _rows(told: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Labels, named by their keys, with what has something to say."""
    return tuple((say(label), says) for label, says in told if says)


def _visit(record: Record) -> tuple[tuple[str, str], ...]:
    times = record.times
    words = say("report.quoted", words=record.words) if record.words else ""
    return _rows(
        (
            ("report.visit_number", record.visit),
            ("present.site", record.site or say("report.not_named")),
            ("report.began", times.began),
            ("report.last_worked_on", times.ended),
            *(("report.clock", says) for says in times.jumps),
            ("report.file", times.lost),
            ("report.carried_out_by", record.role),
            *(("report.taken_over", ", ".join(filter(None, (h.at, h.by, h.role)))) for h in times.hand_overs),
            *(("report.ended_before", _ended(end)) for end in record.earlier),
            ("report.who_did_what", "; ".join(record.people)),
            ("report.work", record.minutes),
            ("report.sensors", ", ".join(record.sensors) or say("report.not_said")),
            ("present.complaint", record.complaint),
            ("report.in_the_sites_words", words),
        )
    )


def _found(record: Record) -> tuple[Block, ...]:
    explain = (Text(record.explain),) if record.explain else ()
    strips = (Heading(say("present.strips")), Bullets(record.strips)) if record.strips else ()
    return (Text(record.conclusion, strong=True), *explain, *causes(record), *strips)


def _ended(end: RecordedEnd) -> str:
    told = (say("present.seen", finding=label, state=text) for label, text in end.facts)
    return " ".join((end.says, "; ".join(told))).strip()


def _ruled_out(record: Record) -> tuple[Block, ...]:
    told = (say("report.ruled_out_by", cause=r.says, by=r.by) for r in record.ruled_out)
    return (Bullets(tuple(told)),) if record.ruled_out else ()


def _repairs(record: Record, proved: str) -> tuple[Block, ...]:
    """The repairs whose proof passed, failed or is still owed; each keeps its number on the visit."""
    numbered = enumerate(record.repairs, start=1)
    rows = tuple(_repair(number, repair) for number, repair in numbered if repair.proved == proved)
    if not rows:
        return ()
    return (Table(_head("repair", "its_proof", "result"), rows, (4, 4, 3)),)


def _repair(number: int, repair: RecordedRepair) -> tuple[Cell, ...]:
    return (
        _cell(f"{number}. {repair.says}", repair.note),
        _cell(repair.proof),
        _cell(repair.result, repair.reading),
    )


def _compared(record: Record) -> tuple[Block, ...]:
    rows = tuple((_cell(c.asked), _cell(c.before), _cell(c.now)) for c in record.compared)
    return (Table(_head("checked", "before", "now"), rows, (5, 3, 3)),) if rows else ()


def _stage(stage: RecordedStage) -> tuple[Block, ...]:
    rows = tuple((_asked(check), _cell(check.said, *check.limits)) for check in stage.checks)
    return Heading(stage.says), Table(_head("checked", "found"), rows, (5, 6))


def _asked(check: Checked) -> Cell:
    by = say("report.answered_by", by=check.by) if check.by else ""
    before = say("report.said_before", said=check.replaced) if check.replaced else ""
    return _cell(check.asked, by, before, check.note, "" if check.counted else say("report.not_counted"))


def _checklist(record: Record) -> tuple[Block, ...]:
    rows = tuple((_proven(item), _cell(item.result, item.reading)) for item in record.checklist)
    return (Text(say("report.proved_again")), Table(_head("to_prove", "result"), rows, (8, 3))) if rows else ()


def _proven(item: Proven) -> Cell:
    protects = say("report.protects") if item.protective else ""
    return _cell(item.says, say("report.why", why=item.why), protects)


def _photos(record: Record) -> tuple[Block, ...]:
    missing = say("report.photo_missing")
    found = tuple(Pasted(p.name, _cell(p.belongs, p.says, _file(p)), missing) for p in record.photos)
    return (Photos(found),) if found else ()


def _file(photo: RecordedPhoto) -> str:
    return say("report.note_by", text=photo.name, by=photo.by)


def _about(record: Record) -> tuple[Block, ...]:
    about = _rows((("report.knowledge", record.knowledge), ("report.made_with", record.program)))
    return Text(say("report.no_statement")), Facts((*_profile(record), *about))


def _profile(record: Record) -> tuple[tuple[str, str], ...]:
    """One row for the device, the site and the lamps each."""
    rows: dict[str, list[str]] = {}
    for fact in record.profile:
        rows.setdefault(fact.of, []).append(say("report.fact", name=fact.name, value=fact.value))
    return tuple((say(f"report.profile_{of}"), "; ".join(facts)) for of, facts in rows.items())


def _head(*names: str) -> tuple[str, ...]:
    return tuple(say(f"report.{name}") for name in names)


def _cell(*lines: str) -> Cell:
    return tuple(filter(None, lines)) or ("-",)
