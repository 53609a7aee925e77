"""Every command and option of the command line."""

import argparse
from pathlib import Path
from typing import Any

from diagnose import __version__
from diagnose.case_options import add_options as add_case_options
from diagnose.triplog_options import add_options as add_trip_log_options

EXAMPLES = """examples:
  diagnose                          start a visit
  diagnose --help-desk              guide a caller on the phone
  diagnose resume                   go on with the last visit
  diagnose replay transcripts_demo/ghost_in_rain.yaml
"""


def parser() -> argparse.ArgumentParser:
    """All commands and options."""
    top = argparse.ArgumentParser(
        prog="diagnose",
        description="Troubleshoot vehicle-detection sensors at automatic gates and barriers.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"gate-diagnose {__version__}")
    _common_options(top)
    _visit_options(top)
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    _visit_options(commands.add_parser("start", help="start a visit (the same as no command)"), again=True)
    _visits(commands)
    check = commands.add_parser("check", help="check a knowledge folder; every problem with file:line:column")
    check.add_argument("folder", nargs="?", default="", help="default: the shipped knowledge")
    check.add_argument("--register", action="store_true", help="show what changed in safety, and register it so")
    check.add_argument(
        "--difference", type=Path, default=None, metavar="FOLDER", help="safety against other knowledge"
    )
    measure = commands.add_parser("measure", help="simulated visits: how often right, how many minutes")
    _measure_options(measure)
    add_case_options(commands)
    spoken = commands.add_parser("languages", help="which languages there are, and what one does not say yet")
    spoken.add_argument("language", nargs="?", default="", help="a code or a folder: list every text it lacks")
    spoken.add_argument("--template", metavar="FILE", default="", help="write the knowledge's texts to be translated")
    calc = commands.add_parser("calc", help="calculators for the gate: supply, contacts, scan height, sun ...")
    calc.add_argument("words", nargs="*", metavar="NAME INPUT=VALUE", help="none: list them; only a name: asks")
    _keeping(commands)
    add_trip_log_options(commands)
    _practice_options(commands)
    _serve_options(commands)
    _pack_options(commands)
    _card_options(commands)
    commands.add_parser("calculators", help="list the calculators a knowledge base may name")
    commands.add_parser("paths", help="say where files are kept")
    for command in commands.choices.values():
        _common_options(command, again=True)
    return top


def _visits(commands: Any) -> None:
    resume = commands.add_parser("resume", help="go on with a visit")
    resume.add_argument("name", nargs="?", default="last", help="its name or the start of it; default: the last")
    commands.add_parser("list", help="list visits, newest first")
    show = commands.add_parser("show", help="show a visit")
    show.add_argument("name", nargs="?", default="last")
    show.add_argument("--json", action="store_true")
    replay = commands.add_parser("replay", help="play a script or a visit file again")
    replay.add_argument("files", nargs="+", type=Path, metavar="FILE")
    replay.add_argument("--json", action="store_true", help="print one JSON object per file (schema 1)")
    replay.add_argument("--verify", action="store_true", help="compare with the transcript beside each script")
    replay.add_argument("--refresh", action="store_true", help="write the transcript beside each script")


def _keeping(commands: Any) -> None:
    """Commands over kept visits."""
    record = commands.add_parser("record", help="write the record of a visit for customer and file")
    record.add_argument(
        "name", nargs="?", default="last", help="a visit's name or the start of it; default: the last"
    )
    record.add_argument("--customer", action="store_true", help="only the customer's version")
    for ending in ("html", "pdf", "json"):
        record.add_argument(f"--{ending}", action="store_true", help=f"as {ending}; default: html and json")
    record.add_argument("-o", "--output", default=".", metavar="FOLDER")
    hand = commands.add_parser("handover", help="copy a visit file for somebody else")
    hand.add_argument("name", nargs="?", default="last")
    hand.add_argument("-o", "--output", default="", metavar="FILE")
    take = commands.add_parser("takeover", help="go on with a visit file that was handed over")
    take.add_argument("file", type=Path)
    take.add_argument("--electrician", action="store_true", default=False, help="you are licensed for mains work")
    take.add_argument("--by", default="", metavar="NAME", help="who takes over, for the record")
    history = commands.add_parser("history", help="earlier visits: by words, site or sensor kind")
    history.add_argument("words", nargs="*")
    history.add_argument("--place", default="", metavar="SITE", help="part of the site's name")
    history.add_argument("--kind", default="", metavar="KIND", help="sensor kind, e.g. laser")
    history.add_argument("--limit", type=int, default=20, metavar="N")
    for flag, dest in (("--export", "export"), ("--import", "import_"), ("--backup", "backup")):
        history.add_argument(flag, dest=dest, type=Path, default=None, metavar="FILE")
    profile = commands.add_parser("profile", help="make a device or site profile by asking")
    profile.add_argument("kind", choices=("device", "site"))
    profile.add_argument("-o", "--output", default="", metavar="FILE", help="default: device.yaml or site.yaml")
    learn = commands.add_parser("learn", help="what confirmed visits teach about frequencies, before and after")
    learn.add_argument("--on", action="store_true", help="use them from now on")
    learn.add_argument("--off", action="store_true", help="go back to the expert's frequencies")
    for command in (history, learn):
        command.add_argument("--database", default="", metavar="URL", help="default: a file in your data folder")


def _practice_options(commands: Any) -> None:
    practice = commands.add_parser("practice", help="an invented faulty gate to work on, with a coach")
    practice.add_argument("--trainee", default="me", metavar="NAME", help="whose progress (default: me)")
    practice.add_argument("--lesson", default="", metavar="NAME", help="a rung of the ladder; default: the one due")
    practice.add_argument("--family", default="", metavar="FAMILY", help="only causes of this family")
    practice.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help="e.g. laser,loop")
    practice.add_argument("--seed", type=int, default=None, metavar="N", help="the same seed draws the same gate")
    practice.add_argument("--case", type=Path, default=None, metavar="FILE", help="a case written by a trainer")
    practice.add_argument("--unaided", action="store_true", help="the coach stays silent until the debrief")
    practice.add_argument("--overview", action="store_true", help="for the trainer: who is weak where")
    practice.add_argument("--check", nargs="+", type=Path, default=[], metavar="FILE", help="check written cases")
    practice.add_argument("--again", type=Path, default=None, metavar="FILE", help="play a kept exercise again")
    practice.add_argument("--folder", default="", metavar="FOLDER", help="where progress is kept")
    explain = commands.add_parser("explain", help="step through a visit, a script or an exercise; the belief moves")
    explain.add_argument("name", nargs="?", default="last", help="a visit's name or a file; default: the last visit")


def _serve_options(commands: Any) -> None:
    serve = commands.add_parser("serve", help="visits, calls, records and practice in a browser on this machine")
    serve.add_argument("--host", default="127.0.0.1")
    serve.add_argument("--port", type=int, default=8000, help="0: any free one")
    serve.add_argument("--open-to-network", action="store_true", help="let other machines in; needs a password")
    serve.add_argument("--password-file", default="", metavar="FILE", help="or the variable DIAGNOSE_PASSWORD")
    serve.add_argument("--certificate", default="", metavar="FILE", help="for https, with --key")
    serve.add_argument("--key", default="", metavar="FILE")
    serve.add_argument(
        "--profile", action="append", default=[], metavar="FILE", help="a device or site profile to offer"
    )
    serve.add_argument("--practice", default="", metavar="FOLDER", help="where progress is kept")
    serve.add_argument("--database", default="", metavar="URL", help="default: a file in your data folder")


def _pack_options(commands: Any) -> None:
    pack = commands.add_parser("pack", help="one HTML file that diagnoses in a browser without a network")
    pack.add_argument("-o", "--output", default="diagnose.html", metavar="FILE")
    pack.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help="only these, e.g. laser,loop")
    pack.add_argument(
        "--profile", action="append", default=[], metavar="FILE", help="a device or site profile to include"
    )


def _card_options(commands: Any) -> None:
    card = commands.add_parser("card", help="a printable field card for a complaint and a sensor kind")
    card.add_argument("complaint", nargs="*", metavar="COMPLAINT", help="its id, or free words")
    card.add_argument("--all", action="store_true", help="every complaint (and kind, unless --sensors)")
    card.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help="one card for each, e.g. laser")
    card.add_argument("--pages", type=int, choices=(1, 2), default=2)
    card.add_argument("--paper", choices=("a4", "letter"), default="a4")
    for ending in ("html", "pdf"):
        card.add_argument(f"--{ending}", action="store_true", help=f"as {ending}; default: html")
    card.add_argument("-o", "--output", default=".", metavar="FOLDER")
    role = card.add_mutually_exclusive_group()
    role.add_argument("--electrician", action="store_true", default=False, help="for one licensed for mains work")
    role.add_argument("--help-desk", action="store_true", default=False, help="for one on the phone with a caller")
    for kind in ("device", "site"):
        card.add_argument(f"--{kind}", default=argparse.SUPPRESS, metavar="PROFILE", help=f"{kind} profile")
    card.add_argument("--cases", type=int, default=100, metavar="N", help="simulated visits for the share it settles")
    card.add_argument("--seed", type=int, default=1, metavar="N")
    card.add_argument("--processes", type=int, default=2, metavar="N")


def _measure_options(measure: argparse.ArgumentParser) -> None:
    measure.add_argument("--cases", type=int, default=50, metavar="N", help="visits per way of asking (default 50)")
    measure.add_argument("--seed", type=int, default=1, metavar="N", help="the same seed draws the same faults")
    measure.add_argument("--processes", type=int, default=2, metavar="N")
    measure.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help="e.g. laser,loop")
    measure.add_argument("--alone", action="store_true", help="only the tool's own policy, no comparisons")
    measure.add_argument("--robustness", action="store_true", help="wrong knowledge, wrong answers, missing checks")
    measure.add_argument(
        "--without-checks", type=int, default=0, metavar="N", help="minutes lost without each of the N most asked"
    )
    measure.add_argument(
        "--small", type=int, default=20, metavar="N", help="small problems solved exactly (default 20)"
    )
    measure.add_argument("--html", type=Path, default=None, metavar="FILE", help="write a page with plots here")


def _common_options(command: argparse.ArgumentParser, again: bool = False) -> None:
    """Options that may stand before or after a command; the second place leaves the first one's value alone."""

    def add(flag: str, default: object, text: str, **more: Any) -> None:
        command.add_argument(flag, default=argparse.SUPPRESS if again else default, help=text, **more)

    add("--knowledge", "", "use this knowledge instead of the shipped one", metavar="FOLDER")
    add("--visits", "", "keep visits here instead of in your data folder", metavar="FOLDER")
    add("--lang", "", "speak this language (also DIAGNOSE_LANG): a code, or a folder of .po files", metavar="CODE")
    add("--plain", False, "no colour, plain line input (also TERM=dumb, ACCESSIBLE=1)", action="store_true")
    add("--width", 0, argparse.SUPPRESS, type=int)


def _visit_options(command: argparse.ArgumentParser, again: bool = False) -> None:
    default = argparse.SUPPRESS if again else None
    role = command.add_mutually_exclusive_group()
    for flag, text in (
        ("--help-desk", "you are on the phone with a caller"),
        ("--technician", "you are at the gate"),
        ("--electrician", "you are at the gate and licensed for mains work"),
    ):
        role.add_argument(flag, action="store_true", help=text, default=default or False)
    command.add_argument("--sensors", default=default, metavar="KINDS", help="sensor kinds on site, e.g. laser,loop")
    command.add_argument(
        "--device", default=default, metavar="PROFILE", help="device profile (file, or a shipped id)"
    )
    command.add_argument("--site", default=default, metavar="PROFILE", help="site profile (file, or a shipped id)")
    command.add_argument(
        "--without", default=default, metavar="TOOLS", help="tools not at hand, e.g. ladder,multimeter"
    )
    command.add_argument("--name", default=default, metavar="TEXT", help="what this site is called in your list")
    command.add_argument("--from-card", default=default, metavar="NUMBER", help="go on from a field card's number")
