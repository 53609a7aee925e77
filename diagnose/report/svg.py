"""A small plot frame as inline SVG: axes, ticks, and marks as single paths."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape

HIGH, TOP, BOTTOM = 320, 12, 40


@dataclass(frozen=True, slots=True)
class Width:
    """How wide a picture is, with its margins; `few` of the marks along it have room for a word."""

    wide: int
    left: int
    right: int
    name: str
    few: float


DESK = Width(860, 66, 24, "desk", 1.0)
PHONE = Width(350, 66, 22, "phone", 0.5)
"""Drawn for a screen of 360 points: letters keep their size, fewer ticks stand along the axis."""


@dataclass(slots=True)
class Plot:
    """A frame from `x` low..high and `y` low..high (up the page); marks are drawn in the order they are added."""

    title: str
    x: tuple[float, float]
    y: tuple[float, float]
    says: str = ""
    high: int = HIGH
    width: Width = DESK
    _marks: list[str] = field(default_factory=list)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Data -> picture."""
        across = (x - self.x[0]) / ((self.x[1] - self.x[0]) or 1)
        up = (y - self.y[0]) / ((self.y[1] - self.y[0]) or 1)
        room = self.width.wide - self.width.left - self.width.right
        return self.width.left + across * room, self.high - BOTTOM - up * (self.high - TOP - BOTTOM)

    def boxes(self, boxes: Iterable[tuple[float, float, float, float]], style: str) -> None:
        """Filled rectangles (x, y, x, y) as one path."""
        parts = []
        for x0, y0, x1, y1 in boxes:
            (a, b), (c, d) = self.at(x0, y0), self.at(x1, y1)
            parts.append(f"M{a:.1f} {b:.1f}H{max(c, a + 0.6):.1f}V{d:.1f}H{a:.1f}Z")
        self._path("".join(parts), style)

    def dots(self, points: Iterable[tuple[float, float]], style: str) -> None:
        """Round dots as one path of strokes without length."""
        self._path("".join("M{:.1f} {:.1f}h0".format(*self.at(x, y)) for x, y in points), style)

    def line(self, points: Sequence[tuple[float, float]], style: str, closed: bool = False) -> None:
        """One line through the points."""
        steps = ["{:.1f} {:.1f}".format(*self.at(x, y)) for x, y in points]
        self._path("M" + "L".join(steps) + ("Z" if closed else "") if steps else "", style)

    def _path(self, d: str, style: str) -> None:
        if d:
            self._marks.append(f'<path class="{style}" d="{d}"/>')

    def text(self, x: float, y: float, says: str) -> None:
        """A short word at a place."""
        a, b = self.at(x, y)
        self._marks.append(f'<text x="{a:.1f}" y="{b:.1f}" dx="6" dy="-6">{escape(says)}</text>')

    def drawn(
        self, across: Sequence[tuple[float, str]], up: Sequence[tuple[float, str]], x_says: str, y_says: str
    ) -> str:
        """The finished SVG with ticks and names of both axes."""
        axes = []
        for x, says in across:
            a, b = self.at(x, self.y[0])
            axes.append(f'<path class="grid" d="M{a:.1f} {TOP}V{b:.1f}"/>')
            axes.append(f'<text x="{a:.1f}" y="{b + 15:.1f}" text-anchor="middle">{escape(says)}</text>')
        for y, says in up:
            a, b = self.at(self.x[0], y)
            axes.append(f'<path class="grid" d="M{a:.1f} {b:.1f}H{self.width.wide - self.width.right}"/>')
            axes.append(f'<text x="{a - 6:.1f}" y="{b + 4:.1f}" text-anchor="end">{escape(says)}</text>')
        middle = (TOP + self.high - BOTTOM) / 2
        axes.append(
            f'<text x="{self.width.wide / 2}" y="{self.high - 6}" text-anchor="middle">{escape(x_says)}</text>'
        )
        turned = f'transform="rotate(-90 12 {middle})"'
        axes.append(f'<text x="12" y="{middle}" text-anchor="middle" {turned}>{escape(y_says)}</text>')
        label = escape(f"{self.title}. {self.says}")
        box = f"0 0 {self.width.wide} {self.high}"
        head = f'<svg class="{self.width.name}" viewBox="{box}" role="img" aria-label="{label}">'
        return head + "".join(axes) + "".join(self._marks) + "</svg>"


def ticks(low: float, high: float, most: int = 8) -> list[float]:
    """Round numbers from low to high, at most `most` of them."""
    step = 1.0
    for step in (s * 10.0**e for e in range(-2, 9) for s in (1, 2, 5)):
        if (high - low) / step <= most:
            break
    first = -(-low // step)
    return [(first + k) * step for k in range(int((high - first * step) // step) + 1)]
