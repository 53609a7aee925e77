"""Spoils shipped files in seeded ways: bytes, lines, and what is well-formed but absurd."""

import random
import re
from collections.abc import Callable

VALUES = (
    b"null", b"true", b"[]", b"{}", b"-1", b"0", b"1e308", b"1e999", b".nan", b"9" * 400, b"''", b'"\\u0000"',
    b"[[[[[[]]]]]]", b"{a: {b: {c: d}}}", b"*x", b"&x y", b"!!python/object:os.system x", b"!!binary aGk=",
    b"| \n   x", b">-\n   y", b"? z", b"2026-01-01", b"12:30", b"yes", b"0x1f", b"1_000", b"- - - -", b"@x", b"`x",
    b"%TAG ! x", b"\xff\xfe", b"\xc3\x28", b"nobody", b"laser", b"[red]", b"\x1b[31m", b"=1+1", b"'", b'"', b"#",
    b",,,,", b";", b"\t",
)  # fmt: skip
Change = Callable[[random.Random, bytes], bytes]


def _place(chance: random.Random, data: bytes) -> int:
    return chance.randrange(len(data) + 1)


def flip(chance: random.Random, data: bytes) -> bytes:
    at = chance.randrange(max(1, len(data)))
    return data[:at] + bytes([(data[at] if at < len(data) else 0) ^ 1 << chance.randrange(8)]) + data[at + 1 :]


def insert(chance: random.Random, data: bytes) -> bytes:
    at = _place(chance, data)
    return data[:at] + chance.choice((*VALUES, b"\0", b"\r", b"\n", b":", b"{", b"[", b"- ")) + data[at:]


def cut_out(chance: random.Random, data: bytes) -> bytes:
    at = _place(chance, data)
    return data[:at] + data[at + chance.choice((1, 2, 7, 40, 400)) :]


def cut_off(chance: random.Random, data: bytes) -> bytes:
    return data[: _place(chance, data)]


def _lines(change: Callable[[random.Random, list[bytes], int], None]) -> Change:
    def changed(chance: random.Random, data: bytes) -> bytes:
        lines = data.split(b"\n")
        change(chance, lines, chance.randrange(len(lines)))
        return b"\n".join(lines)

    changed.__name__ = change.__name__
    return changed


def twice(chance: random.Random, lines: list[bytes], at: int) -> None:
    lines.insert(chance.randrange(len(lines) + 1), lines[at])


def without(_chance: random.Random, lines: list[bytes], at: int) -> None:
    del lines[at : at + 1]


def indent(chance: random.Random, lines: list[bytes], at: int) -> None:
    lines[at] = b" " * chance.randrange(1, 5) + lines[at] if chance.random() < 0.5 else lines[at].lstrip()


def value(chance: random.Random, lines: list[bytes], at: int) -> None:
    """Another kind of value after a key, in a list, or in a cell."""
    parts = re.split(rb"(: |- |,)", lines[at])
    parts[-1] = chance.choice(VALUES)
    lines[at] = b"".join(parts)


def swap(chance: random.Random, lines: list[bytes], at: int) -> None:
    other = chance.randrange(len(lines))
    lines[at], lines[other] = lines[other], lines[at]


def deeper(_chance: random.Random, lines: list[bytes], at: int) -> None:
    key, _, rest = lines[at].partition(b":")
    lines[at] = key + b": " + b"{x: " * 40 + b"y" + b"}" * 40 + rest


def anchor(_chance: random.Random, lines: list[bytes], at: int) -> None:
    key, sign, rest = lines[at].partition(b": ")
    lines[at] = key + sign + b"&a " + rest
    lines.append(b"x: [*a, *a, *a]")


def digits(chance: random.Random, lines: list[bytes], at: int) -> None:
    """Another number where one stood."""
    instead = chance.choice((b"-1", b"0", b"1e9", b"1e-9", b"99999999999", b"x", b"nan", b"inf", b"1.5"))
    lines[at] = re.sub(rb"\d+(\.\d+)?", instead, lines[at], count=1)


BY_LINE = (twice, without, indent, value, value, swap, deeper, anchor, digits, digits)
CHANGES: tuple[Change, ...] = (flip, insert, cut_out, cut_off, *map(_lines, BY_LINE))


def mutated(chance: random.Random, data: bytes) -> tuple[bytes, str]:
    """The data after one to three changes, and their names."""
    names = []
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        change = chance.choice(CHANGES)
        data = change(chance, data)
        names.append(change.__name__)
    return data, "+".join(names)
