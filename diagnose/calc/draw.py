"""Small text drawings, at most 40 columns wide."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

Lines = tuple[str, ...]

WIDEST = 40
_COLUMNS, _VIEW_ROWS = 30, 9
_TIME_COLUMNS = 29


def bar(share: float, width: int) -> str:
    """A bar `width` long at share 1; a share above 0 shows at least one mark."""
    filled = round(max(0.0, min(share, 1.0)) * width)
    return "#" * max(filled, 1 if share > 0 else 0)


def table(rows: Sequence[Sequence[str]], widths: Sequence[int]) -> Lines:
    """Cells under each other, the first column to the left and the others to the right."""
    return tuple(
        "".join(
            cell.ljust(width) if place == 0 else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    )


def bars(rows: Sequence[tuple[str, str, float]], label_width: int = 10, text_width: int = 10) -> Lines:
    """One bar per (label, text, share); the widths leave the rest of the line to the bars."""
    room = WIDEST - label_width - text_width - 1
    return tuple(
        f"{label:<{label_width}}{text:>{text_width}} {bar(share, room)}".rstrip() for label, text, share in rows
    )


def timeline(rows: Sequence[tuple[str, float, float]], end: float) -> Lines:
    """One line per (label, from, to): what is on when, all on one scale from 0 to `end`."""
    return tuple(f"{label:<10}{_span(start, stop, end)}" for label, start, stop in rows)


def _span(start: float, stop: float, end: float) -> str:
    first, last = (round(min(max(time / end, 0.0), 1.0) * _TIME_COLUMNS) for time in (start, stop))
    last = max(last, first + 1) if stop > start else last
    return (("_" * first + "#" * (last - first)).ljust(_TIME_COLUMNS, "_"))[:_TIME_COLUMNS]


@dataclass(frozen=True, slots=True)
class Body:
    """A moving part in a side view; metres."""

    near_m: float
    far_m: float
    bottom_m: float
    top_m: float


def side_view(reach_m: float, height_at: Callable[[float], float], block: Body | None = None) -> Lines:
    """The scan plane '*' from the sensor at the left over the road '=', a moving part '#', where they meet 'X'.

    `height_at` gives the plane's height in metres at a distance; heights and distances have their own scales.
    """
    last = _COLUMNS - 1
    top_m = max(height_at(0), height_at(reach_m), block.top_m if block else 0.0, 0.1)
    rows = [[" "] * _COLUMNS for _ in range(_VIEW_ROWS)]
    if block:
        for column in range(round(block.near_m / reach_m * last), round(block.far_m / reach_m * last) + 1):
            for row in range(_row(block.top_m, top_m), _row(block.bottom_m, top_m) + 1):
                rows[row][column] = "#"
    for column in range(_COLUMNS):
        if (height := height_at(reach_m * column / last)) >= 0:
            row = _row(height, top_m)
            rows[row][column] = "X" if rows[row][column] == "#" else "*"
    labels = [f"{top_m:.2f} m", *[""] * (_VIEW_ROWS - 2), "0.00 m"]
    width = max(map(len, labels))
    drawn = [f"{label:>{width}}|{''.join(row)}".rstrip() for label, row in zip(labels, rows, strict=True)]
    scale = "0" + f"{reach_m:.3g} m".rjust(last)
    return (*drawn, f"{'road':>{width}}|{'=' * _COLUMNS}", f"{'':{width + 1}}{scale}")


def _row(height_m: float, top_m: float) -> int:
    share = max(0.0, min(height_m / top_m, 1.0))
    return round((1 - share) * (_VIEW_ROWS - 1))
