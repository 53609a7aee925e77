"""The page of a log on a telephone, by day and by night: nothing to push sideways, letters large enough to read."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from diagnose.report.triplog_page import page
from diagnose.triplog.judge import judge
from tests.triplog.made import planted

LEAST_PX = 11.0
LETTERS = """[...document.querySelectorAll('svg')].filter(s => s.getBoundingClientRect().width).flatMap(s => {
  const box = s.getBoundingClientRect(), scale = box.width / s.viewBox.baseVal.width;
  return [...s.querySelectorAll('text')].map(t => {
    const at = t.getBoundingClientRect();
    return [parseFloat(getComputedStyle(t).fontSize) * scale, at.left - box.left, box.right - at.right,
            [at.left, at.top, at.right, at.bottom]];
  });
})"""
SHINES = """(() => {
  const light = c => c.match(/[\\d.]+/g).slice(0, 3).map(Number).reduce((a, b) => a + b) / 765;
  const body = getComputedStyle(document.body), text = document.querySelector('svg.phone text');
  return [light(body.backgroundColor), light(body.color), light(getComputedStyle(text).fill)];
})()"""


def overlap(one: list[float], other: list[float]) -> bool:
    across, up = min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1])
    return across > 1 and up > 4  # boxes of letters are taller than the letters


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_is_read_on_a_telephone(browser: Browser, tmp_path: Path, scheme: str) -> None:
    log = planted("low_sun", 3)
    path = tmp_path / "page.html"
    path.write_bytes(page(log, judge(log), ["a file"], []))
    context = browser.new_context(viewport={"width": 360, "height": 740}, color_scheme=scheme)  # type: ignore[arg-type]
    try:
        shown = context.new_page()
        shown.goto(path.as_uri())
        assert shown.evaluate("document.documentElement.scrollWidth") == 360
        assert shown.evaluate("[...document.querySelectorAll('figure')].every(f => f.scrollWidth <= f.clientWidth)")
        letters = shown.evaluate(LETTERS)
        assert len(letters) > 40
        assert min(size for size, _, _, _ in letters) >= LEAST_PX
        assert min(min(left, right) for _, left, right, _ in letters) >= -1
        boxes = [box for *_, box in letters]
        assert [(a, b) for n, a in enumerate(boxes) for b in boxes[:n] if overlap(a, b)] == []
        paper, ink, soft = shown.evaluate(SHINES)
        assert (paper > ink + 0.5 and paper > soft + 0.5) if scheme == "light" else (paper + 0.5 < min(ink, soft))
    finally:
        context.close()
