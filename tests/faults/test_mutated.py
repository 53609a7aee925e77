"""Shipped files with something spoiled in them: used, or refused with the place; never a traceback or a hang."""

import json
import random
import re
import time
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli.parser import parser
from diagnose.cli.triplog import files_of
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.errors import DiagnoseError, VisitError
from diagnose.kb import load as loading
from diagnose.kb.check import problems_of
from diagnose.kb.files import read_files, shipped_folder
from diagnose.kb.text import parse
from diagnose.practice import exercise_file, progress_file
from diagnose.practice.case_file import check_case
from diagnose.present.record_parts import records
from diagnose.present.times import times_of
from diagnose.report import html
from diagnose.session.plain import as_plain
from diagnose.session.session import conclude, salvage
from diagnose.session.visit_record import visit_record
from diagnose.store.history.history import History
from diagnose.store.journal import Journal, read
from diagnose.store.learned import Overlay
from diagnose.store.profiles import load_profile
from diagnose.terminal.replay import played
from diagnose.terminal.triplog_files import load as load_log
from diagnose.triplog.judge import judge
from tests.faults.limits import within
from tests.faults.mutate import mutated
from tests.faults.test_crash_points import EVERY_KIND, NOON
from tests.practice.gates import drops, shipped
from tests.shipped import begun, knowledge
from tests.store.sealed import seal

LIMIT_S = 20.0
PLACE = re.compile(r"^[^\n]*:\d+:\d+: ", re.M)
DEMOS, KNOWLEDGE = shipped_folder("transcripts_demo"), shipped_folder("knowledge")
LOG = ("--zone=-01:00", "--dates", "dmy", "--site", "demo_site", "--device", "demo_device")


@dataclass(frozen=True)
class Kind:
    """Whole files to spoil, what uses one, whether a refusal must say the line, and how many the full run makes."""

    whole: Callable[[Path], dict[str, bytes]]
    use: Callable[[Path], object]
    placed: bool
    full: int
    spoil: Callable[[random.Random, bytes], tuple[bytes, str]] = mutated


def taken_in(use: Callable[[Path], object], path: Path, placed: bool) -> str:
    """'used', or 'refused' with a message for people."""
    with within(LIMIT_S):
        try:
            use(path)
        except DiagnoseError as error:
            says = str(error)
            assert says.strip()
            assert not placed or PLACE.search(says) or says.startswith(f"{path.name}: "), says
            return "refused"
    return "used"


def files(folder: Path, pattern: str, without: str = "none") -> Callable[[Path], dict[str, bytes]]:
    found = {p.relative_to(folder).as_posix(): p for p in sorted(folder.glob(pattern))}
    return lambda _: {name: p.read_bytes() for name, p in found.items() if not name.startswith(without)}


def a_knowledge(path: Path) -> None:
    """The whole shipped knowledge with this file in it; what passes the check must also reason."""
    texts = {**shipped_texts(), **read_files(path.parents[len(path.parts) - path.parts.index("spoiled") - 2])}
    loaded = loading.load_entries(texts)
    if problems := problems_of(loaded):
        raise VisitError("\n".join(map(str, problems)))
    kb = loading.assemble(loaded, "spoiled")
    reasoner = Reasoner(kb, partial(fixpoint, kb))
    conclude(reasoner, begun())


@cache
def shipped_texts() -> dict[str, str]:
    return read_files(KNOWLEDGE)


def a_visit(path: Path) -> None:
    """Everything that is done with a visit file."""
    found = read(path)
    session, _ = salvage(knowledge(), found.events)
    conclusion = conclude(shipped(), session)
    as_plain(shipped(), session, conclusion)
    for record in records(shipped(), session, conclusion, times_of(found.events, found.times)):
        html.render(record)
    with History(str(path.with_suffix(".db"))) as kept:
        kept.save(visit_record(path.stem, session, found.times))
    with Journal.reopen(path)[0] as journal:
        journal.append(EVERY_KIND[3])


def whole_visit(folder: Path) -> dict[str, bytes]:
    with Journal.create(folder / "whole", NOON) as journal:
        for event in EVERY_KIND:
            journal.append(event)
    return {"x.visit": journal.path.read_bytes()}


ABSURD: tuple[Any, ...] = (
    None, True, -1, 0, 1e308, float("nan"), float("inf"), 10**400, "", "x", "\x1b[31m", "\ud800", "y" * 3000,
    [], [[]], {}, {"a": {}},
)  # fmt: skip


def resealed(chance: random.Random, whole: bytes) -> tuple[bytes, str]:
    """One value of one event is absurd, and the checksum fits."""
    lines = whole.split(b"\n")
    at = chance.randrange(len(EVERY_KIND))
    plain = json.loads(lines[at])
    place = chance.choice([plain, plain["event"], plain["event"], plain["event"].get("setup", plain["event"])])
    name = chance.choice([*place, "note", "value", "tools", "profile", "devices"])
    place[name] = chance.choice(ABSURD)
    plain["sum"] = seal(plain)
    lines[at] = json.dumps(plain, sort_keys=True).encode()
    return b"\n".join(lines), f"{name}={place[name]!r:.20}"


PARSER = parser(["triplog"])


def a_log(path: Path, *more: str) -> None:
    given = PARSER.parse_args(["triplog", *(more or [str(path)]), *LOG])
    log, _ = load_log(files_of(given, {}), None)
    judge(log)


def some_lines(name: str, most: int) -> Callable[[Path], dict[str, bytes]]:
    return lambda _: {name: b"".join((DEMOS / name).read_bytes().splitlines(keepends=True)[:most])}


def a_weather(path: Path) -> None:
    short = path.with_name("log.csv")
    short.write_bytes(some_lines("sun_trip_log.csv", 200)(path)["sun_trip_log.csv"])
    a_log(short, str(short), "--weather", str(path))


def a_case(path: Path) -> None:
    if problems := check_case(shipped(), path):
        raise VisitError("\n".join(problems))


def an_exercise(_: Path) -> dict[str, bytes]:
    kept = exercise_file.Recording(drops(), ())
    return {"x.json": json.dumps(exercise_file.as_plain(kept, knowledge().digest), indent=1).encode()}


def a_progress(path: Path) -> None:
    path.replace(progress_file.file_of(path.parent, "me"))
    progress_file.load(path.parent, "me")
    progress_file.everybody(path.parent)


def whole_progress(folder: Path) -> dict[str, bytes]:
    fresh, _ = progress_file.load(folder, "me")
    return {"x.json": progress_file.save(folder, fresh).read_bytes()}


def an_overlay(path: Path) -> None:
    overlay = Overlay(path.parent)
    path.replace(overlay.path)
    Reasoner(knowledge(), partial(fixpoint, knowledge()), weights=overlay.weights(knowledge()))


def whole_overlay(folder: Path) -> dict[str, bytes]:
    from diagnose.core.learn import learn

    overlay = Overlay(folder)
    overlay.switch_on(learn(knowledge(), ()))
    return {"x.json": overlay.path.read_bytes()}


def an_export(path: Path) -> None:
    with History(str(path.with_suffix(".db"))) as kept:
        kept.import_(path)


def whole_export(folder: Path) -> dict[str, bytes]:
    path = folder / "y.visit"
    path.write_bytes(whole_visit(folder)["x.visit"])
    a_visit(path)
    with History(str(path.with_suffix(".db"))) as kept:
        kept.export(folder / "export")
    return {"x.jsonl": (folder / "export").read_bytes()}


KINDS: dict[str, Kind] = {
    "knowledge": Kind(files(KNOWLEDGE, "*/*.yaml", without="profiles/"), a_knowledge, True, 900),
    "profile": Kind(files(KNOWLEDGE / "profiles", "*.yaml"), lambda p: load_profile(str(p)), True, 600),
    "script": Kind(files(DEMOS, "*.yaml"), lambda p: played(shipped(), p), True, 600),
    "case": Kind(files(DEMOS / "practice", "*.yaml"), a_case, True, 300),
    "visit": Kind(whole_visit, a_visit, False, 900),
    "sealed": Kind(whole_visit, a_visit, False, 700, resealed),
    "log": Kind(some_lines("sun_trip_log.csv", 300), a_log, False, 500),
    "weather": Kind(some_lines("sun_trip_log_weather.csv", 300), a_weather, False, 300),
    "exercise": Kind(an_exercise, lambda p: exercise_file.load(shipped(), p), False, 150),
    "progress": Kind(whole_progress, a_progress, False, 150),
    "learned": Kind(whole_overlay, an_overlay, False, 100),
    "export": Kind(whole_export, an_export, False, 100),
}


def spoiled(name: str, many: int, folder: Path, seed: int) -> Counter[str]:
    """So many spoiled files of a kind, each in a folder of its own."""
    kind, ended, wrong = KINDS[name], Counter[str](), list[str]()
    whole = kind.whole(folder)
    fine = folder / "fine" / "spoiled" / min(whole)
    fine.parent.mkdir(parents=True)
    fine.write_bytes(whole[min(whole)])
    assert taken_in(kind.use, fine, kind.placed) == "used"  # else every spoiled one would be refused for no merit
    for number in range(many):
        chance = random.Random(f"{name} {seed} {number}")
        source = chance.choice(sorted(whole))
        data, how = kind.spoil(chance, whole[source])
        path = folder / str(number) / "spoiled" / source
        path.parent.mkdir(parents=True)
        path.write_bytes(data)
        try:
            ended[taken_in(kind.use, path, kind.placed)] += 1
        except Exception as error:
            where = traceback.extract_tb(error.__traceback__)[-1]
            wrong.append(f"{seed} {number}: {source}, {how}: {error!r:.300} at {where.filename}:{where.lineno}")
    assert not wrong, "\n".join([f"{len(wrong)} of {many}", *wrong[:20]])
    return ended


@pytest.fixture(autouse=True)
def each_text_is_parsed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(loading, "parse", cache(parse))


@pytest.mark.parametrize("name", KINDS)
def test_some_spoiled_files(name: str, tmp_path: Path) -> None:
    few = max(2, KINDS[name].full // 200)
    assert spoiled(name, few, tmp_path, seed=1).total() == few


@pytest.mark.long
@pytest.mark.parametrize("name", KINDS)
def test_5_000_spoiled_files(name: str, tmp_path: Path) -> None:
    began = time.monotonic()
    ended = spoiled(name, KINDS[name].full, tmp_path, seed=2)
    print(f"\n{name}: {dict(ended)} in {time.monotonic() - began:.0f} s")
    assert ended["refused"] > 0
    assert sum(kind.full for kind in KINDS.values()) >= 5000
