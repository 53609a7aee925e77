"""`diagnose paths`: where things lie."""

import argparse

from diagnose.cli.plainly import json_option, print_json
from diagnose.cli.shared import screen_of
from diagnose.kb.files import shipped_folder
from diagnose.store.history.place import history_url
from diagnose.store.records import records_folder
from diagnose.store.settings import all_set, settings_path
from diagnose.store.visits import visits_folder
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    json_option(parser)


def run(args: argparse.Namespace) -> int:
    """Says also where nothing lies yet."""
    database = all_set().get("database")
    found = {
        "visits": str(visits_folder(args.visits)),
        "records": str(records_folder()),
        "history": history_url(database.value if database else "").render_as_string(),
        "settings": str(settings_path()),
        "knowledge": args.knowledge or str(shipped_folder("knowledge")),
    }
    if args.json:
        print_json(**found)
        return 0
    for name, path in found.items():
        screen_of(args).row("", say(f"cli.path_{name}", path=path))
    return 0
