"""What a command says to programs: one JSON object on standard output, with a schema number."""

import argparse
import json
from dataclasses import asdict, is_dataclass
from typing import Any

from diagnose.words import say

SCHEMA = 1  # fields are only ever added within a number


def json_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help=say("cli.one_json"))


def print_json(**parts: Any) -> None:
    """Records as objects, in the order given."""
    print(json.dumps({"schema": SCHEMA, **parts}, indent=1, default=_plain))


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    return [*value] if isinstance(value, set | frozenset) else str(value)
