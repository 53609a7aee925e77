"""Years of visits in one folder: the list, the history and a search beside a bare reading of the same files.

`python -m tests.bench.visits [visits]`, by default 5,000. Run by hand, it is no test: it prints ratios to a reference
of the same run, which hardly depend on what else the machine does.
"""

import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Conclude, Event, Reply, to_plain
from diagnose.store.history import intake
from diagnose.store.history.history import History
from diagnose.store.sealed import VERSION, written
from diagnose.store.visits import listing
from tests.bench.clock import ms, timed
from tests.shipped import knowledge

ANSWERS, SITES = 20, 300
FIRST = datetime(2020, 1, 1, tzinfo=UTC)


def main() -> None:
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "visits"
        folder.mkdir()
        for n in range(number):
            _write(folder, n)
        _, bare = timed(lambda: [p.read_bytes() for p in folder.glob("*.visit")])
        print(f"{number:,} visits; their bytes alone, the reference of the ratios: {ms(bare)}")
        with History(str(Path(place) / "history.db")) as history:
            for says, work in _works(folder, history).items():
                print(f"{says:34} {_line(work, bare)}")


def _line(work: Callable[[], object], bare: float) -> str:
    _, first = timed(work)
    _, again = timed(work)
    return f"first {ms(first):>10} = {first / bare:8.1f}   again {ms(again):>10} = {again / bare:6.2f}"


def _works(folder: Path, history: History) -> dict[str, Callable[[], object]]:
    kb = knowledge()

    def take_in() -> object:
        return intake.take_in(history, kb, folder.glob("*.visit"))

    return {
        "list": lambda: list(listing(folder)),
        "history: files that changed": take_in,
        "history: their names": lambda: dict(intake.names(history, folder)),
        "history: words": lambda: history.search("ghost", limit=20, kb=kb),
        "learn: confirmed causes": history.confirmed,
        "pages: a search": lambda: (take_in(), history.search("site 17", "", "laser", 51, kb)),
    }


def _write(folder: Path, number: int) -> None:
    """As `Journal` writes it, without forcing 22 lines to disk one by one."""
    checks = list(knowledge().checks.values())[:ANSWERS]
    begin = Begin(
        Setup(devices=("laser",)),
        "ghost_opening",
        site=f"site {number % SITES}",
        digest=knowledge().digest,
        id=f"{number}",
    )
    answers = [Reply(c.id, c.plausible[0] if c.plausible else next(iter(c.options), "yes")) for c in checks]
    events: list[Event] = [begin, *answers, Conclude()]
    at = FIRST + timedelta(hours=7 * number)
    lines = (
        written({"v": VERSION, "n": n, "at": at.isoformat(timespec="seconds"), "event": to_plain(e)})
        for n, e in enumerate(events, start=1)
    )
    (folder / f"{at:%Y%m%d-%H%M%S}.visit").write_bytes(b"".join(line + b"\n" for line in lines))


if __name__ == "__main__":
    main()
