"""`diagnose calculators`: what the knowledge may compute."""

import argparse

from diagnose.calc.registry import CALCULATORS


def add_options(_: argparse.ArgumentParser) -> None:
    """None of its own."""


def run(_: argparse.Namespace) -> int:
    """Every calculator with its inputs and its words."""
    for name, calculator in CALCULATORS.items():
        given = ", ".join([*calculator.required, *(f"{o}?" for o in calculator.optional)])
        print(f"{name}: {calculator.says}\n    ({given}) -> {', '.join(calculator.words)}")
    return 0
