"""Logs of gates with a planted cause, made without sight of the analysis that reads them.

Every log has vehicles let in, walk tests, outages and some other trips; most have the gate's movements. The seeds
`LEARN = range(10)` are there to mend an analysis by; those of `KEPT = range(10, 20)` are left alone until the last
run. Logs in which nothing is planted can be had with any seed. `python -m tests.trip_mechanisms FOLDER` writes logs,
and `truth.json` beside them.
"""

from tests.trip_mechanisms import of_clock, of_gate, of_rate, of_sky, of_weather
from tests.trip_mechanisms.build import made
from tests.trip_mechanisms.model import Made, Mechanism

LEARN = range(10)
KEPT = range(10, 20)

MECHANISMS: dict[str, Mechanism] = {
    m.name: m for group in (of_weather, of_sky, of_clock, of_gate, of_rate) for m in group.MECHANISMS
}
NULLS = tuple(name for name, m in MECHANISMS.items() if m.null)


def make(name: str, seed: int) -> Made:
    return made(MECHANISMS[name], seed)
