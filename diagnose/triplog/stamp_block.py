"""Many times at once: the first text of each shape is read in full, the others differ from it in digits alone."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.triplog.records import Floats, Ints
from diagnose.triplog.stamps import Stamps

_LONGEST = 64
_ZERO, _NINE = ord("0"), ord("9")
Letters = NDArray[np.uint32]


def read_block(reader: Stamps, texts: Sequence[str]) -> tuple[Floats, Floats]:
    """As `Stamps.read` for each text: seconds on its own clock, not-a-number where it is no time, and the seconds
    that clock is ahead of UTC, not-a-number where the text does not say."""
    seconds, ahead = np.full(len(texts), np.nan), np.full(len(texts), np.nan)
    if not texts:
        return seconds, ahead
    if reader.is_number:
        return _one_by_one(reader, texts, np.arange(len(texts)), seconds, ahead)
    longest = max(map(len, texts))
    usable = texts if longest <= _LONGEST else [text if len(text) <= _LONGEST else "" for text in texts]
    letters = np.array(usable, dtype=f"U{max(1, min(longest, _LONGEST))}").view(np.uint32).reshape(len(texts), -1)
    digits = (letters >= _ZERO) & (letters <= _NINE)
    shapes = np.where(digits, np.uint32(_ZERO), letters)
    for same in _alike(shapes):
        if not _filled(reader, texts, letters, same, seconds, ahead):
            _one_by_one(reader, texts, same, seconds, ahead)
    return seconds, ahead


def _one_by_one(
    reader: Stamps, texts: Sequence[str], which: Ints, seconds: Floats, ahead: Floats
) -> tuple[Floats, Floats]:
    for at in which.tolist():
        found = reader.read(texts[at])
        if found:
            seconds[at] = found[0]
            ahead[at] = np.nan if found[1] is None else found[1]
    return seconds, ahead


def _alike(shapes: Letters) -> list[Ints]:
    """The rows of each shape."""
    weights = np.random.default_rng(1).integers(1, 2**63, shapes.shape[1], dtype=np.uint64) | np.uint64(1)
    keys = (shapes.astype(np.uint64) * weights).sum(axis=1, dtype=np.uint64)
    order = np.argsort(keys, kind="stable")
    cuts = np.flatnonzero(np.diff(keys[order]))
    return np.split(order, cuts + 1)


def _filled(
    reader: Stamps, texts: Sequence[str], letters: Letters, same: Ints, seconds: Floats, ahead: Floats
) -> bool:
    """Reads all texts of one shape; False where the shape is too rare for it to pay or has the day in letters."""
    first = texts[same[0]]
    found = reader.match(first)
    if found is None and first.isascii():
        return True  # another text of this shape is no time either
    if found is None or len(same) < 4 or not first.isascii() or reader.format == "dMy" or found.group(6):
        return False
    block = letters[same]
    days = _days(reader, block[:, slice(*found.span(1))])
    parts = [_number(block, found.span(group)) for group in (2, 3, 4)]
    hour, minute, second = parts
    bad = (hour > 23) | (minute > 59) | (second > 59)
    first, last = found.span(5)
    fraction = _number(block, (first, last)) / 10.0 ** max(0, last - first)
    seconds[same] = np.where(bad, np.nan, days + hour * 3600 + minute * 60 + second + fraction)
    if found.group(7):
        ahead[same] = 0.0
    elif found.group(8):
        ahead[same] = _offset(block, found.span(8), found.span(9), found.group(8)[0])
    ahead[same] = np.where(np.isnan(seconds[same]), np.nan, ahead[same])
    return True


def _offset(block: Letters, hours: tuple[int, int], minutes: tuple[int, int], sign: str) -> Floats:
    size = _number(block, (hours[0] + 1, hours[1])) * 3600 + _number(block, minutes) * 60
    return -size if sign == "-" else size


def _number(block: Letters, span: tuple[int, int]) -> Floats:
    """The digits of a span as numbers; 0 for a part that is not there."""
    value = np.zeros(len(block))
    for at in range(max(span[0], 0), max(span[1], 0)):
        value = value * 10 + (block[:, at].astype(np.float64) - _ZERO)
    return value


def _days(reader: Stamps, block: Letters) -> Floats:
    """Each day is looked up once."""
    texts = np.ascontiguousarray(block).view(f"U{block.shape[1]}").ravel()
    unique, at = np.unique(texts, return_inverse=True)
    known = [reader.day(str(text)) for text in unique]
    return np.array([np.nan if day is None else day for day in known])[at]
