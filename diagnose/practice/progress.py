"""One trainee's progress as a frozen value, and its plain form. Keeping it on disk is progress_file's."""

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from diagnose.errors import DiagnoseError
from diagnose.practice.ladder import LADDER
from diagnose.practice.mastery import Mastery
from diagnose.words import say

VERSION = 1
MOST_KEPT = 500  # exercises remembered one by one; mastery remembers all
MOST_TEXT = 200
LAST = 8  # exercises that a skill is told of


@dataclass(frozen=True, slots=True)
class WorkedExercise:
    """One exercise as it is remembered. `score` 0..100; `day` a day number; `brier` -1 when nothing was stated;
    `splits`: looks that parted the open links well, of how many; `passed` by evidence, not by luck; `devices`: kinds
    of sensor; `name`: its file. Files of earlier versions have none of the last four."""

    day: int
    seed: int
    lesson: str
    families: tuple[str, ...]
    score: float
    minutes: float
    best: float
    brier: float
    ended: str
    slips: tuple[str, ...]
    splits: tuple[int, int] = (0, 0)
    passed: bool = True
    devices: tuple[str, ...] = ()
    name: str = ""

    @property
    def ratio(self) -> float:
        """Minutes to those of the program's way, whose mending counts at least one."""
        return self.minutes / max(self.best, 1.0)


@dataclass(frozen=True, slots=True)
class Progress:
    """Mastery per cause family and per lesson, and the exercises worked, oldest first."""

    trainee: str
    families: Mapping[str, Mastery] = field(default_factory=dict)
    lessons: Mapping[str, Mastery] = field(default_factory=dict)
    worked: tuple[WorkedExercise, ...] = ()

    def after(self, done: WorkedExercise) -> "Progress":
        """With one more exercise; one of a file counts once."""
        if done.name and any(w.name == done.name for w in self.worked):
            return self
        success = min(max(done.score / 100.0, 0.0), 1.0)
        families = dict(self.families)
        for family in done.families:
            families[family] = self._of(self.families, family).after(success, done.day)
        lessons = dict(self.lessons)
        if done.lesson in {x.id for x in LADDER}:
            lessons[done.lesson] = self._of(self.lessons, done.lesson).after(success, done.day)
        worked = (*self.worked, done)[-MOST_KEPT:]
        return replace(self, families=families, lessons=lessons, worked=worked)

    @staticmethod
    def _of(known: Mapping[str, Mastery], name: str) -> Mastery:
        return known.get(name, Mastery())

    def slips(self) -> Counter[str]:
        """How often each reasoning slip was made."""
        return Counter(s for w in self.worked for s in w.slips)

    def splits(self, last: int = LAST) -> tuple[int, int]:
        """Of the looks of the last exercises: how many parted the open links well, of how many."""
        recent = [w.splits for w in self.worked[-last:]]
        return sum(well for well, _ in recent), sum(of for _, of in recent)


def to_plain(progress: Progress) -> dict[str, Any]:
    """As JSON values."""
    return {
        "version": VERSION,
        "trainee": progress.trainee,
        "families": {k: asdict(m) for k, m in progress.families.items()},
        "lessons": {k: asdict(m) for k, m in progress.lessons.items()},
        "worked": [asdict(w) for w in progress.worked],
    }


def from_plain(plain: Any) -> Progress:
    """The inverse. Raises DiagnoseError for anything a progress file cannot say, whoever wrote it."""
    if not isinstance(plain, dict):
        raise DiagnoseError(say("practice.no_progress"))
    if type(version := plain.get("version")) is not int or version != VERSION:
        raise DiagnoseError(say("practice.progress_format", found=repr(version), reads=VERSION))
    return Progress(
        _text(plain.get("trainee")),
        {_text(k): _mastery(m) for k, m in _table(plain.get("families")).items()},
        {_text(k): _mastery(m) for k, m in _table(plain.get("lessons")).items()},
        tuple(_worked(w) for w in _list(plain.get("worked"))[-MOST_KEPT:]),
    )


def _mastery(plain: Any) -> Mastery:
    table = _table(plain)
    a, b = _number(table, "a", 1.0, 1e6), _number(table, "b", 1.0, 1e6)
    return Mastery(a, b, _whole(table, "last"), _whole(table, "streak"))


def _worked(plain: Any) -> WorkedExercise:
    table = _table(plain)
    return WorkedExercise(
        _whole(table, "day"),
        _whole(table, "seed"),
        _text(table.get("lesson")),
        tuple(_text(f) for f in _list(table.get("families"))),
        _number(table, "score", 0.0, 100.0),
        _number(table, "minutes", 0.0, 1e6),
        _number(table, "best", 0.0, 1e6),
        _number(table, "brier", -1.0, 1.0),
        _text(table.get("ended")),
        tuple(_text(s) for s in _list(table.get("slips"))),
        _splits(table.get("splits", [0, 0])),
        table.get("passed", table.get("ended") == "solved") is True,
        tuple(_text(d) for d in _list(table.get("devices", []))),
        _text(table.get("name", "")),
    )


def _splits(value: Any) -> tuple[int, int]:
    pair = dict(zip(("well", "of"), _list(value), strict=False))
    return _whole(pair, "well"), _whole(pair, "of")


def _table(value: Any) -> dict[str, Any]:
    if not isinstance(value, dict) or len(value) > MOST_KEPT:
        raise DiagnoseError(say("practice.bad_table"))
    return value


def _list(value: Any) -> list[Any]:
    if not isinstance(value, list | tuple):
        raise DiagnoseError(say("practice.bad_list"))
    return list(value)


def _text(value: Any) -> str:
    if not isinstance(value, str) or len(value) > MOST_TEXT:
        raise DiagnoseError(say("practice.bad_word"))
    return value


def _number(table: Mapping[str, Any], name: str, low: float, high: float) -> float:
    value = table.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise DiagnoseError(say("practice.bad_number", name=name))
    if not low <= value <= high:
        raise DiagnoseError(say("practice.bad_range", name=name, low=f"{low:g}", high=f"{high:g}"))
    return float(value)


def _whole(table: Mapping[str, Any], name: str) -> int:
    value = _number(table, name, 0.0, 1e9)
    if value != int(value):
        raise DiagnoseError(say("practice.bad_whole", name=name))
    return int(value)
