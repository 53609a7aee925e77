"""The options of `diagnose cases`, apart from the command so that other commands start without it."""

from pathlib import Path
from typing import Any


def add_options(commands: Any) -> None:
    """Add the command to the parsers of `commands`."""
    cases = commands.add_parser("cases", help="field cases: how often right at gates the tool did not invent")
    cases.add_argument("folder", nargs="?", type=Path, default=None, help="default: the shipped cases")
    cases.add_argument("--half", choices=("learning", "judging"), default=None, help="only this half; default: both")
    cases.add_argument("--only", default="", metavar="IDS", help="only these cases, e.g. FC01,FC03")
    cases.add_argument("--seed", type=int, default=1, metavar="N", help="draws where several answers have weights")
    cases.add_argument("--processes", type=int, default=2, metavar="N")
    cases.add_argument(
        "--quick", action="store_true", help="only the tool as it is: nothing spoilt, nothing compared"
    )
    cases.add_argument("--json", action="store_true", help="print one JSON object (schema 1)")
    cases.add_argument("--html", type=Path, default=None, metavar="FILE", help="write a page with plots here")
    cases.add_argument("--baseline", type=Path, default=None, metavar="FILE", help="compare with recorded figures")
    cases.add_argument("--record", action="store_true", help="with --baseline: write what improved into the file")
    cases.add_argument("--temper", action="store_true", help="fit the tempering on the cases set aside for it")
    cases.add_argument("--check", action="store_true", help="only check the cases against the knowledge")
    cases.add_argument("--sheet", type=Path, default=None, metavar="FILE", help="the checks to answer for one case")
    cases.add_argument("--open", action="store_true", help="with --sheet: only what the case leaves open")
    cases.add_argument("--from-visit", default="", metavar="NAME", help="write a closed, proved visit as a case")
    cases.add_argument("-o", "--output", type=Path, default=Path(), metavar="FOLDER", help="where that case goes")
