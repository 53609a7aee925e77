"""`diagnose functions`: what the knowledge may compute."""

import argparse

from diagnose.calc.registry import FOR_RULES


def add_options(_: argparse.ArgumentParser) -> None:
    """None of its own."""


def run(_: argparse.Namespace) -> int:
    """Every calculator with its inputs and its words."""
    for name, calculator in FOR_RULES.items():
        given = ", ".join(f"{i.name}{'' if i.required else '?'} {i.unit}".rstrip() for i in calculator.inputs)
        print(f"{name}: {calculator.title}\n    ({given}) -> {', '.join(calculator.words)}")
    return 0
