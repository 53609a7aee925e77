"""The options of `diagnose triplog`, apart from the command so that other commands start without it."""

from pathlib import Path
from typing import Any


def add_options(commands: Any) -> None:
    """Add the command to the parsers of `commands`."""
    log = commands.add_parser("triplog", help="find the pattern in a log of nuisance trips")
    log.add_argument("file", type=Path, help="CSV with a time column, usually an event and a sensor column")
    for flag, text in (
        ("--moves", "CSV where every row is a movement of the gate"),
        ("--passes", "CSV where every row is a vehicle"),
        ("--weather", "CSV with rain, wind, temperature, humidity or visibility"),
        ("--html", "write a page with plots here"),
    ):
        log.add_argument(flag, type=Path, default=None, metavar="FILE", help=text)
    log.add_argument("--zone", default="", help="time zone of the clock: +01:00, UTC, or a tz database name")
    log.add_argument("--dates", default="", metavar="ORDER", help="ymd, dmy or mdy, where the file leaves it open")
    for column in ("time", "event", "sensor"):
        log.add_argument(f"--{column}-column", default="", metavar="NAME", help=f"heading or number of the {column}")
    log.add_argument("--word", action="append", default=[], metavar="WORD=trip|move|pass|ignore")
    log.add_argument("--unit", action="append", default=[], metavar="READING=UNIT", help="e.g. wind=km/h")
    log.add_argument("--gap", type=float, default=None, metavar="SECONDS", help="trips so close are one episode")
    log.add_argument("--site", default="", metavar="PROFILE", help="site profile: position")
    log.add_argument("--device", default="", metavar="PROFILE", help="device profile: look direction")
    log.add_argument("--position", default="", metavar="LATITUDE,LONGITUDE", help="degrees north and east")
    log.add_argument(
        "--look", action="append", default=[], metavar="AZIMUTH[,ELEVATION]",
        help="where a device looks, degrees from true north and above level; give both units of a pair",
    )  # fmt: skip
    log.add_argument(
        "--into", nargs="?", const="last", default="", metavar="VISIT",
        help="add what the log says to a visit as answers; without a name: the last",
    )  # fmt: skip
