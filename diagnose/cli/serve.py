"""`diagnose serve`: the pages on this machine, or - with a password - on its network."""

import argparse
import os
from typing import TYPE_CHECKING

from diagnose.cli.shared import reasoner_of, visits_of
from diagnose.cli.user import users_option
from diagnose.errors import UsersError, VisitError
from diagnose.practice.progress_file import practice_folder
from diagnose.store.passwords import require_strong
from diagnose.store.profiles import offered
from diagnose.store.settings import secret
from diagnose.store.users import KnownUsers, users_path
from diagnose.store.visits import require_writable
from diagnose.words import say

if TYPE_CHECKING:
    from diagnose.web.keeper import Doorkeeper
    from diagnose.web.server import Address

LOOPBACK = ("127.0.0.1", "::1", "localhost")
VARIABLE = "DIAGNOSE_PASSWORD"
WANTED = ("starlette", "uvicorn", "python_multipart", "multipart", "argon2", "zxcvbn")


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--host", default="127.0.0.1")
    parser.add_argument("--port", type=int, default=8000, help=say("cli.serve_port"))
    parser.add_argument("--open-to-network", action="store_true", help=say("cli.serve_open"))
    parser.add_argument(
        "--password-file", default="", metavar="FILE", help=say("cli.serve_password", variable=VARIABLE)
    )
    users_option(parser)
    parser.add_argument(
        "--trusted-proxy", action="append", default=[], metavar="ADDRESS", help=say("cli.serve_proxy")
    )
    parser.add_argument("--public-name", action="append", default=[], metavar="NAME", help=say("cli.serve_name"))
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
        from diagnose.web.server import require_certificate, serve
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in WANTED:
            raise
        raise VisitError(say("cli.serve_packages")) from error
    address = _address(args)
    keeper = _keeper(args, address)
    require_certificate(address)
    reasoner, places = reasoner_of(args), Places(visits_of(args), practice_folder(args.practice), args.database)
    require_writable(places.visits)
    serve(context_of(reasoner, keeper, places, offered(args.profile)), address)
    print(say("cli.stopped"))
    return 0


def _address(args: argparse.Namespace) -> "Address":
    """Raises VisitError where others would come in unasked."""
    from diagnose.web.server import Address

    local = args.host in LOOPBACK
    if not local and not args.open_to_network:
        raise VisitError(say("cli.serve_closed", host=args.host))
    proxies, names = tuple(args.trusted_proxy), tuple(args.public_name)
    return Address(args.host, args.port, local, args.certificate, args.key, proxies, names)


def _keeper(args: argparse.Namespace, address: "Address") -> "Doorkeeper":
    """The named users where there are any, else the one password. Raises VisitError, UsersError."""
    from diagnose.web.keeper import Doorkeeper

    known, password = KnownUsers(users_path(args.users)), _password(args)
    if known.now():
        if password:
            raise UsersError(say("cli.serve_users_or_password", path=users_path(args.users)))
        return Doorkeeper(users=known)
    if args.users:
        raise UsersError(say("cli.serve_no_users", path=args.users))
    if address.open and not password:
        raise VisitError(say("cli.serve_no_password", variable=VARIABLE))
    if password:
        require_strong(password)
    return Doorkeeper(password)


def _password(args: argparse.Namespace) -> str:
    """From a file or the environment, never from the command line, where everybody on the machine can read it."""
    file = args.password_file or os.environ.get(f"{VARIABLE}_FILE", "")
    return secret(file) if file else os.environ.get(VARIABLE, "")
