"""Random damage to visit files: every entry that is whole is used, all damage is said, and no look loses anything.

What must come back is worked out from the bytes, by the documented format and not by the program: a line that stands
somewhere in the file with all its bytes is whole.
"""

import os
import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.errors import VisitError
from diagnose.session.events import Event, Reply
from diagnose.session.session import salvage
from diagnose.store.journal import Journal, read
from tests.faults.test_crash_points import EVERY_KIND, NOON
from tests.shipped import knowledge

MANY: tuple[Event, ...] = (*EVERY_KIND, *(Reply("power_lamp", "steady", note=f"look {n}") for n in range(12)))
ESCAPE = re.compile(rb"\\u[0-9a-fA-F]{4}")
Spoil = Callable[[random.Random, bytes], bytes]


def flips(chance: random.Random, data: bytes) -> bytes:
    spoiled = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 5, 20))):
        spoiled[chance.randrange(len(spoiled))] ^= 1 << chance.randrange(8)
    return bytes(spoiled)


def a_block(chance: random.Random, data: bytes) -> tuple[int, int]:
    """As disks lose and double them, or of any length."""
    length = chance.choice((512, 1024, chance.randrange(1, len(data) // 2)))
    start = chance.randrange(len(data) - length)
    return start, start + length


def cuts(chance: random.Random, data: bytes) -> bytes:
    start, end = a_block(chance, data)
    return data[:start] if chance.random() < 0.3 else data[:start] + data[end:]


def swaps(chance: random.Random, data: bytes) -> bytes:
    start, end = a_block(chance, data)
    rest, to = data[:start] + data[end:], chance.randrange(len(data) - (end - start))
    return rest[:to] + data[start:end] + rest[to:]


def doubles(chance: random.Random, data: bytes) -> bytes:
    start, end = a_block(chance, data)
    to = chance.choice((end, chance.randrange(len(data))))
    return data[:to] + data[start:end] + data[to:]


def zeros(chance: random.Random, data: bytes) -> bytes:
    start, end = a_block(chance, data)
    return data[:start] + bytes(end - start) + data[end:]


SPOIL: tuple[Spoil, ...] = (flips, cuts, swaps, doubles, zeros)


def judged(path: Path, whole: list[bytes], chance: random.Random) -> None:
    """One damage, looked at and mended."""
    how = chance.choice(SPOIL)
    spoiled = how(chance, b"".join(line + b"\n" for line in whole))
    path.write_bytes(spoiled)
    found = read(path)
    wanted = [event for event, line in zip(MANY, whole, strict=True) if line in spoiled]
    missed = [event for event in wanted if event not in found.events]
    assert not missed, (how.__name__, missed)
    assert [e for e in MANY if e in found.events] == list(found.events), how.__name__
    assert bool(found.damage) != sound(spoiled, whole), (how.__name__, found.damage)
    if found.events and chance.random() < 0.1:
        salvage(knowledge(), found.events)
    mended(path, spoiled, found.events)


def sound(spoiled: bytes, whole: list[bytes]) -> bool:
    """Nothing is wrong: the file of a visit that had not come further; a bit may change the case of an escape."""
    lines = spoiled.removesuffix(b"\n").split(b"\n") if spoiled else []
    return [ESCAPE.sub(lower, line) for line in lines] == whole[: len(lines)]


def lower(escape: re.Match[bytes]) -> bytes:
    return escape[0].lower()


def mended(path: Path, spoiled: bytes, events: tuple[Event, ...]) -> None:
    """What was there is still there, and every later reader sees the same events, and says what is missing."""
    try:
        opened, found = Journal.reopen(path)
    except VisitError:
        assert not events and path.read_bytes() == spoiled
        return
    opened.close()
    kept = [path.with_name(found.kept)] if found.kept else [path]
    assert [k.read_bytes().rstrip(b"\n") for k in kept] == [spoiled.rstrip(b"\n")]
    after = read(path)
    assert (after.events, after.broken) == (events, False)
    assert ("missing" in found.damage) == ("missing" in after.damage)
    for each in path.parent.glob("*.damaged-*"):
        each.unlink()


def fuzzed(folder: Path, seeds: range) -> None:
    with Journal.create(folder, NOON) as journal:
        for event in MANY:
            journal.append(event)
    whole = journal.path.read_bytes().splitlines()
    for seed in seeds:
        try:
            judged(journal.path, whole, random.Random(f"visit {seed}"))
        except Exception as error:
            raise AssertionError(f"seed {seed}: {error!r}") from error


@pytest.fixture(autouse=True)
def no_waiting_for_the_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """What reaches the disk when is tested elsewhere; here it is only the time that it takes."""
    monkeypatch.setattr(os, "fsync", lambda _: None)


def test_1_000_visit_files_with_random_damage(tmp_path: Path) -> None:
    """One flipped bit dropped on average 19 of 34 events, though every later line had its own valid seal."""
    fuzzed(tmp_path, range(1000))


@pytest.mark.long
def test_20_000_more(tmp_path: Path) -> None:
    fuzzed(tmp_path, range(1000, 21_000))
