"""What a manager asks of many visits: where, with what, why and when; what came back, was proved, took how long."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.earlier import cause_says
from diagnose.present.tables import Listing
from diagnose.words import say

BY = ("site", "gate", "device", "cause", "month")
AGAIN = timedelta(days=30)  # a visit to the same gate within so long after another: it came back
OF = " / "  # 'yard / gate 2' is the gate 2 of the site 'yard'
COLUMNS = (
    "by", "name", "visits", "came_back", "repairs", "proved", "proof_rate", "minutes", "expected_minutes", "timed",
    "sent", "left_out",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Group:
    """Visits that have something in common. `came_back`: after how many the gate needed another within 30 days.

    `minutes` and `expected` are sums over the `timed` visits, which have ended and have both.
    """

    by: str
    name: str
    visits: int
    came_back: int
    repairs: int
    proved: int
    minutes: float
    expected: float
    timed: int
    sent: int
    left_out: int

    @property
    def proof_rate(self) -> float | None:
        """Share of the repairs whose proof passed; None without a repair."""
        return self.proved / self.repairs if self.repairs else None


@dataclass(frozen=True, slots=True)
class Overview:
    """All visits, then by each thing in common, most visits first; parts with how many remedies call for them."""

    all: Group
    groups: Mapping[str, tuple[Group, ...]]
    parts: tuple[tuple[str, int], ...]


def overview_of(
    kb: KnowledgeBase, records: Sequence[VisitRecord], by: Sequence[str] = BY, later: Sequence[VisitRecord] = ()
) -> Overview:
    """`later` are visits after these, only for what came back of them."""
    again = came_back((*records, *later))
    groups = {kind: tuple(_groups(kb, kind, records, again)) for kind in by}
    used = Counter(part for r in records for repair in r.repairs for part in _parts(kb, repair.cause))
    parts = tuple(sorted(used.items(), key=lambda item: (-item[1], item[0])))
    return Overview(_group("all", say("present.all_visits"), records, again), groups, parts)


def came_back(records: Iterable[VisitRecord]) -> frozenset[str]:
    """Ids of the visits after which somebody came to the same gate again within 30 days."""
    at: dict[str, list[VisitRecord]] = defaultdict(list)
    for record in sorted(records, key=lambda r: (r.began, r.id)):
        if record.site.strip():
            at[_same(record.site)].append(record)
    return frozenset(one.id for visits in at.values() for one, after in pairwise(visits) if _soon(one, after))


def _soon(one: VisitRecord, after: VisitRecord) -> bool:
    left = one.ended or one.changed or one.began
    return datetime.fromisoformat(after.began) - datetime.fromisoformat(left) <= AGAIN


def _groups(kb: KnowledgeBase, by: str, records: Sequence[VisitRecord], again: frozenset[str]) -> Iterator[Group]:
    found: dict[str, list[VisitRecord]] = defaultdict(list)
    called: dict[str, str] = {}
    for record in records:
        for name in dict.fromkeys(_names(kb, by, record)):
            called.setdefault(_same(name), name)
            found[_same(name)].append(record)
    made = [_group(by, called[key], some, again) for key, some in found.items()]
    order = (lambda g: (g.name,)) if by == "month" else (lambda g: (-g.visits, g.name))
    yield from sorted(made, key=order)


def _names(kb: KnowledgeBase, by: str, record: VisitRecord) -> list[str]:
    """What the visit counts under; nothing where that is not known."""
    gate = record.site.strip()
    match by:
        case "site":
            return [gate.partition(OF)[0].strip()] if gate else []
        case "gate":
            return [gate] if gate else []
        case "device":
            return [kb.devices.get(d, d) for d in record.devices]
        case "cause":
            causes = record.outcome.causes if record.outcome else ()
            return [cause_says(kb, c) for c in dict.fromkeys((*causes, *(r.cause for r in record.repairs)))]
        case _:
            return [datetime.fromisoformat(record.began).astimezone().strftime("%Y-%m")]


def _same(name: str) -> str:
    return " ".join(name.casefold().split())


def _group(by: str, name: str, records: Sequence[VisitRecord], again: frozenset[str]) -> Group:
    repairs = [repair for r in records for repair in r.repairs]
    ways = Counter(r.outcome.how for r in records if r.outcome)
    timed = [r for r in records if r.ended and r.took and r.expected]
    return Group(
        by=by,
        name=name,
        visits=len(records),
        came_back=sum(r.id in again for r in records),
        repairs=len(repairs),
        proved=sum(repair.proof == "passed" for repair in repairs),
        minutes=sum(r.took for r in timed),
        expected=sum(r.expected for r in timed),
        timed=len(timed),
        sent=ways["dispatched"],
        left_out=ways["left_out"],
    )


def _parts(kb: KnowledgeBase, cause: str) -> Sequence[str]:
    return kb.causes[cause].remedy.parts if cause in kb.causes else ()


def group_says(group: Group) -> str:
    """One line: how many, and what became of them."""
    said = [say("present.group_visits", n=group.visits)]
    if group.came_back:
        said.append(say("present.group_again", n=group.came_back))
    if group.repairs:
        said.append(say("present.group_proved", proved=group.proved, n=group.repairs))
    if group.timed:
        each = (f"{total / group.timed:.0f}" for total in (group.minutes, group.expected))
        said.append(say("present.group_minutes", **dict(zip(("minutes", "expected"), each, strict=True))))
    if group.sent:
        said.append(say("present.group_sent", n=group.sent))
    if group.left_out:
        said.append(say("present.group_left_out", n=group.left_out))
    return "; ".join(said)


def overview_table(overview: Overview) -> Listing:
    """Every group a row; a part is a row with the repairs that call for it."""
    groups = (overview.all, *(group for some in overview.groups.values() for group in some))
    rows = [_row(group) for group in groups]
    rows += [("part", part, None, None, n, *[None] * 7) for part, n in overview.parts]
    return Listing(COLUMNS, tuple(rows))


def _row(group: Group) -> tuple[str | int | float | None, ...]:
    rate = group.proof_rate
    return (
        group.by,
        group.name,
        group.visits,
        group.came_back,
        group.repairs,
        group.proved,
        None if rate is None else round(rate, 3),
        round(group.minutes, 1),
        round(group.expected, 1),
        group.timed,
        group.sent,
        group.left_out,
    )
