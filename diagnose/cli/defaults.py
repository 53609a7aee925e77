"""What the settings say, put where an option was not given."""

import argparse
from collections.abc import Mapping

from diagnose.store.settings import Setting

EVERYWHERE = ("visits", "knowledge", "database")
AT_START = ("sensors", "gear", "without")
BEGINS = (None, "start")  # the commands that begin a visit: no other takes a role or gear that nobody typed


def apply(args: argparse.Namespace, found: Mapping[str, Setting]) -> None:
    """An option that was typed always wins."""
    for name in EVERYWHERE:
        if name in found and getattr(args, name, None) == "":
            setattr(args, name, found[name].value)
    if args.command in BEGINS:
        _begin(args, found)


def _begin(args: argparse.Namespace, found: Mapping[str, Setting]) -> None:
    named = args.gear is not None or args.sensors is not None
    for name in AT_START:
        if name in found and getattr(args, name) is None and not (named and name != "without"):
            setattr(args, name, found[name].value)
    if "role" in found and not (args.help_desk or args.technician or args.electrician):
        setattr(args, found["role"].value, True)
