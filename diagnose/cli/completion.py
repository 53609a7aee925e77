"""`diagnose completion`: what a shell reads at its start to complete this program."""

import argparse

from argcomplete.shell_integration import shellcode

from diagnose.words import say

SHELLS = ("bash", "zsh", "fish", "tcsh")
PROGRAM = "diagnose"


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("shell", choices=SHELLS, help=say("cli.completion_shell"))


def run(args: argparse.Namespace) -> int:
    """Printed, so that the person decides where it goes."""
    print(shellcode([PROGRAM], shell=args.shell))
    return 0
