"""The folder of visits: finding one, listing all."""

import json
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from platformdirs import user_data_path

from diagnose.errors import VisitError
from diagnose.model.gear import Gear
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.events import Begin, Close, Conclude, Event, Named, Noted, Pictured, Proved, Repaired, Reply
from diagnose.session.grounds import unfit_gear
from diagnose.store.journal import read
from diagnose.store.listed import Listed, listed
from diagnose.store.moved import words_of
from diagnose.store.recover import Recovered
from diagnose.store.sealed import MAX_LINE
from diagnose.store.touched import noted
from diagnose.words import say

LEAST_NUMBER = 6  # characters of a number


def visits_folder(chosen: str = "") -> Path:
    """Where visits are kept: the chosen folder, else the user's data folder."""
    return Path(chosen) if chosen else user_data_path("gate-diagnose") / "visits"


def require_writable(folder: Path) -> None:
    """Make the folder where there is none. Raises VisitError when no visit could be kept in it."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise VisitError(say("store.no_visits_there", folder=folder, why=error.strerror)) from error


def find(folder: Path, name: str) -> Path:
    """A visit by its name, the start of it, what it was called, its number, or 'last': the one that was written to
    last. Raises VisitError."""
    paths = _oldest_first(folder)
    if Path(name).suffix == ".visit" and Path(name).is_file():
        return Path(name)
    matches = [p for p in paths if _begun(p)][-1:] if name == "last" else [p for p in paths if p.stem == name]
    matches = matches or [p for p in paths if p.stem.startswith(name)] or _called(paths, name)
    if len(matches) == 1:
        return matches[0]
    if not paths:
        raise VisitError(say("store.no_visits_yet", folder=folder))
    if matches:
        raise VisitError(say("store.several_visits", number=len(matches), name=repr(name)))
    raise VisitError(say("store.no_visit", name=repr(name), folder=folder))


def _called(paths: Sequence[Path], name: str) -> list[Path]:
    """Those that somebody called so, else those whose own number begins so; a few characters are no number."""
    called = [p for p in paths if name and words_of(p.stem) == name]
    return called or [p for p in paths if len(name) >= LEAST_NUMBER and number_in(p).startswith(name)]


def number_in(path: Path) -> str:
    """The number that a visit has in every copy; '' where none can be read. Only its first line is looked at."""
    with suppress(OSError, ValueError, KeyError, TypeError):
        if path.is_file():
            with path.open("rb") as file:
                return str(json.loads(file.readline(MAX_LINE))["event"].get("id", ""))
    return ""


def _begun(path: Path) -> bool:
    """Not the empty file of a start that was cut off."""
    with suppress(OSError):
        return path.stat().st_size > 0
    return False


def _oldest_first(folder: Path) -> list[Path]:
    """In the order in which they were written to last, whatever the clocks said then.

    Those of which that was not noted - they came from elsewhere, or from an earlier version - stand among them by the
    time in the name; 'T-10' is the eleventh visit that began in second T.
    """
    paths = sorted(folder.glob("*.visit"), key=lambda p: (p.stem[:15], len(p.stem), p.stem))
    keys = {p.stem: (p.stem[:15], -1, number) for number, p in enumerate(paths)}
    highest = ""
    for place, (name, time) in enumerate(noted(folder)):
        highest = max(highest, time)
        if name in keys:
            keys[name] = (highest, place, 0)
    return sorted(paths, key=lambda p: keys[p.stem])


def listing(folder: Path) -> Iterator[Listed]:
    """All visits, newest first; a damaged one is listed with what is wrong with it."""
    yield from listed(folder, _oldest_first(folder)[::-1], _looked)


def _looked(path: Path) -> Listed:
    try:
        return _listed(path, read(path))
    except VisitError as error:
        return Listed(path.stem, "", "", "", 0, False, str(error))


def _listed(path: Path, found: Recovered) -> Listed:
    begin = found.events[0] if found.events and isinstance(found.events[0], Begin) else None
    return Listed(
        name=path.stem,
        began=found.times[0] if found.times else "",
        complaint=begin.complaint if begin else "",
        site=begin.site if begin else "",
        answers=sum(isinstance(e, Reply) for e in found.events),
        concluded=isinstance(_last_step(found.events), Conclude | Close),
        damage=found.says(path.name),
        mended=_mended(found.events),
    )


def _last_step(events: Sequence[Event]) -> Event | None:
    """Without what was only put beside the visit."""
    return next((e for e in reversed(events) if not isinstance(e, Noted | Pictured)), None)


def _mended(events: Sequence[Event]) -> tuple[str, ...]:
    """The cause of every repair that is followed by a passed proof."""
    good, last = dict[str, None](), ""
    for event in events:
        if isinstance(event, Repaired):
            last = event.cause
        elif isinstance(event, Proved) and event.passed and last:
            good[last] = None
    return tuple(good)


def gear_at(kb: KnowledgeBase, folder: Path, site: str) -> Gear:
    """The devices that the last visit to this site named, where the knowledge knows them; () where none did."""
    for visit in at_site(folder, site):
        found = read(folder / f"{visit.name}.visit")
        told = (e for e in reversed(found.events) if isinstance(e, Begin | Named))
        gear = next((g for e in told if (g := e.gear if isinstance(e, Named) else e.setup.gear)), ())
        if gear and not unfit_gear(kb, gear):
            return gear
    return ()


def at_site(folder: Path, site: str) -> list[Listed]:
    """Earlier visits to a site of this name, whatever its case and spacing, newest first."""
    wanted = site.casefold().split()
    return [v for v in listing(folder) if wanted and v.site.casefold().split() == wanted]
