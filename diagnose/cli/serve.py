"""`diagnose serve`: the pages on this machine, or - with a password - on its network."""

import argparse
import os
from pathlib import Path

from diagnose.cli.shared import reasoner_of, visits_of
from diagnose.errors import VisitError
from diagnose.practice.progress_file import practice_folder
from diagnose.store.profiles import offered
from diagnose.store.visits import require_writable
from diagnose.words import say

LOOPBACK = ("127.0.0.1", "::1", "localhost")
VARIABLE = "DIAGNOSE_PASSWORD"
SHORTEST_PASSWORD = 10
WANTED = ("starlette", "uvicorn", "python_multipart", "multipart")


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--host", default="127.0.0.1")
    parser.add_argument("--port", type=int, default=8000, help=say("cli.serve_port"))
    parser.add_argument("--open-to-network", action="store_true", help=say("cli.serve_open"))
    parser.add_argument(
        "--password-file", default="", metavar="FILE", help=say("cli.serve_password", variable=VARIABLE)
    )
    parser.add_argument("--certificate", default="", metavar="FILE", help=say("cli.serve_certificate"))
    parser.add_argument("--key", default="", metavar="FILE")
    parser.add_argument("--profile", action="append", default=[], metavar="FILE", help=say("cli.serve_profile"))
    parser.add_argument("--practice", default="", metavar="FOLDER", help=say("cli.practice_folder"))
    parser.add_argument("--database", default="", metavar="URL", help=say("cli.default_database"))


def run(args: argparse.Namespace) -> int:
    """Serve until Ctrl-C. Every answer is on disk before its next page is shown, so stopping loses nothing."""
    try:
        import python_multipart  # noqa: F401  (starlette wants it only once a form arrives)

        from diagnose.web.context import Places, context_of
        from diagnose.web.guard import Doorkeeper
        from diagnose.web.server import Address, require_certificate, serve
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in WANTED:
            raise
        raise VisitError(say("cli.serve_packages")) from error
    address = Address(args.host, args.port, args.host in LOOPBACK, args.certificate, args.key)
    password = _password(args, address.local)
    require_certificate(address)
    reasoner, places = reasoner_of(args), Places(visits_of(args), practice_folder(args.practice), args.database)
    require_writable(places.visits)
    keeper = Doorkeeper(password, secure=bool(args.certificate))
    serve(context_of(reasoner, keeper, places, offered(args.profile)), address)
    print(say("cli.stopped"))
    return 0


def _password(args: argparse.Namespace, local: bool) -> str:
    """From a file or the environment, never from the command line, where everybody on the machine can read it."""
    file = args.password_file or os.environ.get(f"{VARIABLE}_FILE", "")
    password = _read_password(Path(file)) if file else os.environ.get(VARIABLE, "")
    if not local and not args.open_to_network:
        raise VisitError(say("cli.serve_closed", host=args.host))
    if not local and not password:
        raise VisitError(say("cli.serve_no_password", variable=VARIABLE))
    if password and len(password) < SHORTEST_PASSWORD:
        raise VisitError(say("cli.serve_short_password", least=SHORTEST_PASSWORD))
    return password


def _read_password(path: Path) -> str:
    try:
        return path.read_text("utf-8").strip()
    except (OSError, ValueError) as error:
        raise VisitError(say("cli.serve_password_file", path=path, why=error)) from error
