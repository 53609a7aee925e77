"""Explain mode on a screen: one frame after the other, bars before and after, at the reader's pace."""

from collections.abc import Callable, Iterable

from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.frames import Bar, Frame
from diagnose.terminal.screen import Screen

SIZE = 20
NOTICEABLE = 0.005


def draw_frames(screen: Screen, kb: KnowledgeBase, frames: Iterable[Frame], pause: Callable[[], None]) -> None:
    """Every frame; `pause` runs after each and may end it all by raising EOFError."""
    for number, frame in enumerate(frames):
        screen.line()
        screen.hanging(f"{number}. ", frame.happened, "bold")
        for order in frame.stop_work:
            screen.hanging("!! ", kb.cautions[order].says, "bold red")
        if number:
            screen.line(f"   {frame.bits:+.2f} bit")
        for bar in frame.bars:
            screen.hanging(f"   {moving(bar)} ", kb.causes[bar.cause].says)
        try:
            pause()
        except EOFError:
            return


def moving(bar: Bar, size: int = SIZE) -> str:
    """'[####++......] 20 -> 30 %': '+' is what was gained, '-' what was lost."""
    before, after = round(bar.before * size), round(bar.after * size)
    marks = "#" * min(before, after) + "+" * max(after - before, 0) + "-" * max(before - after, 0)
    told = f"{bar.after:4.0%}" if abs(bar.after - bar.before) < NOTICEABLE else f"{bar.before:.0%} -> {bar.after:.0%}"
    return f"[{marks:.<{size}}] {told}"
