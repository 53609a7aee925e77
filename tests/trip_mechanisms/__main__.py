"""Write logs and their truth into a folder, one folder a log."""

import argparse
import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from tests.trip_mechanisms import KEPT, LEARN, MECHANISMS, make
from tests.trip_mechanisms.clock import iso
from tests.trip_mechanisms.model import Made, Options, Truth


def main() -> None:
    asked = _arguments()
    told = []
    for name in asked.only or MECHANISMS:
        for seed in asked.seeds:
            told.append(_written(make(name, seed), asked.folder))
    (asked.folder / "truth.json").write_text(json.dumps(told, indent=1), encoding="utf-8")
    print(f"{len(told)} logs in {asked.folder}")


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.trip_mechanisms", description=__doc__)
    parser.add_argument("folder", type=Path, metavar="OUT_DIR")
    parser.add_argument("--seeds", type=_seeds, default=LEARN, help="learn, kept, or FIRST-LAST (default: learn)")
    parser.add_argument("--only", action="append", choices=list(MECHANISMS), metavar="MECH", help="may come again")
    return parser.parse_args()


def _seeds(text: str) -> range:
    if text in {"learn", "kept"}:
        return LEARN if text == "learn" else KEPT
    first, _, last = text.partition("-")
    return range(int(first), int(last or first) + 1)


def _written(log: Made, folder: Path) -> dict[str, Any]:
    place = folder / f"{log.mechanism}_{log.seed:02d}"
    place.mkdir(parents=True, exist_ok=True)
    for name, text in log.files.items():
        (place / name).write_text(text, encoding="utf-8", newline="")
    return {
        "folder": place.name,
        **_truth(log.truth),
        "options": asdict(log.options),
        "arguments": words(log.options),
    }


def _truth(truth: Truth) -> dict[str, Any]:
    """Times as text, since people read them."""
    told = asdict(truth)
    told["planted"] = [iso(t) for t in truth.planted]
    for key in ("windows", "outages"):
        told[key] = [[iso(a), iso(b)] for a, b in told[key]]
    return told | {"span": [iso(t) for t in truth.span]}


def words(o: Options) -> list[str]:
    """What stands after the file's name on the command line."""
    out = [f"--zone={o.zone}", f"--dates={o.dates}"]
    out += [f"--{key}-column={heading}" for key, heading in o.columns.items()]
    out += [f"--word={word}={role}" for word, role in o.words.items()]
    out += [f"--{key}={value}" for key, value in (("weather", o.weather), ("moves", o.moves)) if value]
    out += [f"--position={o.position[0]},{o.position[1]}"] if o.position else []
    return out + ([f"--look={o.look:.0f}"] if o.look is not None else [])


if __name__ == "__main__":
    main()
