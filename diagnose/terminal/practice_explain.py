"""A visit step by step on a screen: one frame after the other, bars before and after, at the reader's pace."""

from collections.abc import Callable, Iterable

from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.frames import Bar, Frame
from diagnose.present.figures import percent
from diagnose.terminal.screen import Screen
from diagnose.words import say

SIZE = 20
NOTICEABLE = 0.005
NOTICEABLE_BITS = 0.07  # 1.05 times


def draw_frames(screen: Screen, kb: KnowledgeBase, frames: Iterable[Frame], pause: Callable[[], None]) -> None:
    """Every frame; `pause` runs after each and may end it all by raising EOFError."""
    for number, frame in enumerate(frames):
        screen.line()
        screen.hanging(f"{number}. ", frame.happened, "bold")
        for order in frame.stop_work:
            screen.hanging("!! ", kb.cautions[order].says, "bold red")
        if number and abs(frame.bits) >= NOTICEABLE_BITS:
            key = "practice.narrower" if frame.bits > 0 else "practice.wider"
            screen.hanging("   ", say(key, times=f"{2 ** abs(frame.bits):.1f}"))
        for bar in frame.bars:
            screen.hanging(f"   {moving(bar)} ", kb.causes[bar.cause].says)
        try:
            pause()
        except EOFError:
            return


def moving(bar: Bar, size: int = SIZE) -> str:
    """'[####++......] 20 % -> 30 %': '+' is what was gained, '-' what was lost."""
    before, after = round(bar.before * size), round(bar.after * size)
    marks = "#" * min(before, after) + "+" * max(after - before, 0) + "-" * max(before - after, 0)
    same = abs(bar.after - bar.before) < NOTICEABLE
    told = percent(bar.after) if same else f"{percent(bar.before)} -> {percent(bar.after)}"
    return f"[{marks:.<{size}}] {told}"
