"""`diagnose user`: who may log in to the pages, by name, with which role. Passwords are never on the command line."""

import argparse
import getpass
import os
import sys

from diagnose.cli.plainly import json_option, print_json
from diagnose.cli.shared import screen_of
from diagnose.errors import UsersError
from diagnose.session.persons import ROLES, role_says
from diagnose.store import users
from diagnose.store.settings import secret
from diagnose.words import say

VARIABLE = "DIAGNOSE_USER_PASSWORD"
ACTS = ("add", "list", "remove", "password", "role")


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("act", choices=ACTS)
    parser.add_argument("name", nargs="?", default="")
    parser.add_argument("--role", choices=ROLES, default="", help=say("cli.user_role"))
    parser.add_argument(
        "--password-file", default="", metavar="FILE", help=say("cli.serve_password", variable=VARIABLE)
    )
    users_option(parser)
    json_option(parser)


def users_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--users", default="", metavar="FILE", help=say("cli.users_file"))


def run(args: argparse.Namespace) -> int:
    """Says what it did."""
    path = users.users_path(args.users)
    if args.act == "list":
        return _list(args)
    if not args.name:
        raise UsersError(say("cli.user_which", act=args.act))
    if args.act in ("add", "role") and not args.role:
        raise UsersError(say("cli.user_which_role", known=", ".join(ROLES)))
    if args.act == "add":
        users.add(path, args.name, args.role, _password(args))
    elif args.act == "remove":
        users.remove(path, args.name)
    else:
        users.change(path, args.name, _password(args) if args.act == "password" else "", args.role)
    screen_of(args).row("", say(f"cli.user_{args.act}_done", name=args.name, path=path.resolve()))
    return 0


def _list(args: argparse.Namespace) -> int:
    found = sorted(users.read_users(users.users_path(args.users)).values(), key=lambda user: user.name.casefold())
    if args.json:
        print_json(users=[{"name": user.name, "role": user.role} for user in found])
        return 0
    for user in found:
        screen_of(args).row(f"{user.name}: ", role_says(user.role))
    if not found:
        screen_of(args).row("", say("cli.no_users"))
    return 0


def _password(args: argparse.Namespace) -> str:
    """From a file, a variable, or typed twice. Raises UsersError."""
    if file := args.password_file or os.environ.get(f"{VARIABLE}_FILE", ""):
        return secret(file)
    if given := os.environ.get(VARIABLE, ""):
        return given
    if not sys.stdin.isatty():
        raise UsersError(say("cli.user_no_password", variable=VARIABLE))
    typed = getpass.getpass(f"{say('cli.user_type')} ")
    if getpass.getpass(f"{say('cli.user_again')} ") != typed:
        raise UsersError(say("cli.user_differ"))
    return typed
