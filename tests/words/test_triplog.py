"""A trip log in a language nobody speaks: no English is left on the screen or the page."""

import io
import re
from pathlib import Path

from diagnose.model.knowledge import KnowledgeBase
from diagnose.report.triplog_page import page
from diagnose.terminal.screen import Screen
from diagnose.terminal.triplog import draw_answers_added, draw_plots, draw_read, draw_tests, draw_verdict
from diagnose.terminal.triplog_asked import LogFiles
from diagnose.terminal.triplog_files import load
from diagnose.triplog.grid import make_grid
from diagnose.triplog.judge import judge
from diagnose.triplog.meaning import answers
from diagnose.triplog.neighbour_says import lines_of
from diagnose.triplog.sources import lags
from diagnose.words import say
from tests.shipped import knowledge
from tests.words.pseudo import plain_words

NAMES = {
    "log",
    "csv",
    "UTC",
    "time",
    "trip",
    "rubbish",
    "inf",
}  # of the file, its words, its clock; a ratio without end


def test_the_screen_the_page_and_what_goes_into_a_visit(pseudo_kb: KnowledgeBase, tmp_path: Path) -> None:
    out = io.StringIO()
    screen = Screen(out, 80, plain=True)
    log, told = load(_files(tmp_path), None)
    verdict = judge(log)
    assert verdict.patterns
    draw_read(screen, told.lines, told.bad)
    draw_verdict(screen, pseudo_kb, verdict, lines_of(log, verdict, ()))
    draw_plots(screen, log, make_grid(log).episodes, lags(log))
    draw_tests(screen, verdict)
    draw_answers_added(screen, pseudo_kb, answers(verdict, pseudo_kb, {}), "V1")
    assert set(plain_words(out.getvalue())) <= NAMES
    body = page(log, verdict, told.lines, told.bad).decode().partition("<body>")[2]
    assert set(plain_words(re.sub(r"<svg.*?>|<[^>]*>|class=\"[^\"]*\"", " ", body))) <= NAMES


def _files(folder: Path) -> LogFiles:
    """Trips every night at three and a few by day, with a row that cannot be used."""
    days = list(enumerate((f"2026-03-{day:02d}" for day in range(1, 29)), start=1))
    lines = ["time,event", *(f"{day} 03:{7 * n % 30:02d}:{11 * n % 60:02d},trip" for n, day in days)]
    lines += [f"{day} {(5 * n + 6) % 24:02d}:{17 * n % 60:02d}:{37 * n % 60:02d},trip" for n, day in days[::2]]
    path = folder / "log.csv"
    path.write_text("\n".join([*lines, "rubbish,trip"]), "utf-8")
    return LogFiles(path, zone="UTC")


def test_every_pattern_has_a_title_and_something_to_do() -> None:
    names = knowledge().trip_log.patterns
    said = [say(f"triplog.{kind}_{name}") for name in names for kind in ("means", "then")]
    assert len(set(said)) == 2 * len(names)
