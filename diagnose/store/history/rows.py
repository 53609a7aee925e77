"""VisitRecord <-> rows."""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, Table, select

from diagnose.errors import VisitError
from diagnose.model.history import Remedied, VisitEnd, VisitRecord
from diagnose.model.visit import Answer, Value
from diagnose.store.history import tables
from diagnose.words import say

Plain = dict[str, Any]
_AT_ONCE = 200


def folded(text: str) -> str:
    """Text to compare with: case and spacing do not count."""
    return storable(" ".join(text.casefold().split()))


def storable(text: str) -> str:
    """What no database can hold - NUL, half a surrogate pair - becomes the replacement character."""
    return "".join("\ufffd" if c == "\0" or "\ud800" <= c <= "\udfff" else c for c in text)


def search_text(record: VisitRecord) -> str:
    """Everything a person may look for in what was written; what ids say in words is looked up in the knowledge."""
    ended = record.outcome
    said = [record.site, record.words, record.complaint, *record.devices]
    said += [a.note for a in record.answers]
    return searchable([*said, *ended.causes, ended.remedy, ended.note] if ended else said)


def searchable(texts: Iterable[str]) -> str:
    """Texts in the form in which they are searched; an id can be found as itself and as the words in it."""
    return folded(" ".join(f"{t} {t.replace('_', ' ')}" if "_" in t else t for t in texts))


def visit_row(record: VisitRecord) -> Plain:
    """The row of `visits`. Raises VisitError at a record without id or with an unusable time."""
    if not record.id:
        raise VisitError(say("store.no_id"))
    began, ended = utc(record.began), utc(record.ended)
    if not began:
        raise VisitError(say("store.no_begin", id=repr(record.id)))
    plain = {name: storable(getattr(record, name)) for name in _TEXTS}
    times: Plain = {"began": began, "ended": ended, "changed": utc(record.changed) or ended or began}
    counted = {"took": record.took, "expected": record.expected, "entries": record.entries}
    return {**plain, **times, **counted, "site_key": folded(record.site), "search": search_text(record)}


_END = ("remedy", "proof_passed", "in_service", "note", "how")
_COUNTED = ("began", "ended", "changed", "took", "expected", "entries")
_TEXTS = ("id", "site", "role", "complaint", "words", "knowledge", "state", "lineage")


def part_rows(record: VisitRecord) -> Iterator[tuple[Table, list[Plain]]]:
    """The rows of everything that hangs on the visit."""
    visit = storable(record.id)
    yield tables.devices, [{"visit": visit, "n": n, "device": storable(d)} for n, d in enumerate(record.devices)]
    yield tables.answers, [{"visit": visit, "n": n, **_answer_row(a)} for n, a in enumerate(record.answers)]
    yield tables.repairs, [{"visit": visit, "n": n, **_repair_row(r)} for n, r in enumerate(record.repairs)]
    if outcome := record.outcome:
        yield tables.outcomes, [{"visit": visit, **_outcome_row(outcome)}]
        yield tables.causes, [{"visit": visit, "n": n, "cause": storable(c)} for n, c in enumerate(outcome.causes)]


def utc(time: str) -> str:
    """An ISO 8601 time with its offset, in UTC to the second; '' stays. Raises VisitError."""
    if not time:
        return ""
    try:
        read = datetime.fromisoformat(time)
        moment = read.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise VisitError(say("store.no_time", time=repr(time[:40]))) from error
    if read.utcoffset() is None:
        raise VisitError(say("store.no_offset", time=repr(time)))
    return moment.isoformat(timespec="seconds")


def _answer_row(answer: Answer) -> Plain:
    value = answer.value
    if not isinstance(value, str) and not math.isfinite(value):
        raise VisitError(say("store.no_reading", check=repr(answer.check), value=repr(value)))
    word, number = (storable(value), None) if isinstance(value, str) else (None, value)
    said = {"check_id": storable(answer.check), "given_by": storable(answer.by), "note": storable(answer.note)}
    return {**said, "word": word, "number": number, "sure": answer.sure}


def _outcome_row(outcome: VisitEnd) -> Plain:
    proved = {"proof_passed": outcome.proof_passed, "in_service": outcome.in_service}
    said = {name: storable(getattr(outcome, name)) for name in ("remedy", "note", "how")}
    return {**said, **proved}


def _repair_row(repair: Remedied) -> Plain:
    return {"cause": storable(repair.cause), "proof": repair.proof, "note": storable(repair.note)}


def records(connection: Connection, wanted: Select[Any]) -> Iterator[VisitRecord]:
    """The records of the visits that `wanted` selects, in its order."""
    found = connection.execute(wanted).all()
    for start in range(0, len(found), _AT_ONCE):
        some = found[start : start + _AT_ONCE]
        hanging = {table.name: _by_visit(connection, table, [row.id for row in some]) for table in tables.parts}
        yield from (_record(row, {name: rows.get(row.id, []) for name, rows in hanging.items()}) for row in some)


def _by_visit(connection: Connection, table: Table, ids: Sequence[str]) -> Mapping[str, list[Row[Any]]]:
    wanted = select(table).where(table.c.visit.in_(ids))
    found: dict[str, list[Row[Any]]] = defaultdict(list)
    for row in connection.execute(wanted.order_by(table.c.n) if "n" in table.c else wanted):
        found[row.visit].append(row)
    return found


def _record(row: Row[Any], hanging: Mapping[str, list[Row[Any]]]) -> VisitRecord:
    plain = {name: getattr(row, name) for name in (*_TEXTS, *_COUNTED)}
    causes = tuple(r.cause for r in hanging[tables.causes.name])
    ends = [
        VisitEnd(causes=causes, **{name: getattr(r, name) for name in _END}) for r in hanging[tables.outcomes.name]
    ]
    return VisitRecord(
        **plain,
        devices=tuple(r.device for r in hanging[tables.devices.name]),
        answers=tuple(_answer(r) for r in hanging[tables.answers.name]),
        outcome=ends[0] if ends else None,
        repairs=tuple(Remedied(r.cause, r.proof, r.note) for r in hanging[tables.repairs.name]),
    )


def _answer(row: Row[Any]) -> Answer:
    value: Value = row.number if row.word is None else row.word
    return Answer(row.check_id, value, row.sure, row.given_by, row.note)
