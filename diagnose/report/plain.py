"""The record as JSON (schema 1, described in DEVELOPERS.md)."""

import json
from dataclasses import asdict

from diagnose.present.record import Record

SCHEMA = 1


def render(record: Record) -> bytes:
    """ASCII JSON with the fields of the record; decibans and probabilities unrounded."""
    return (json.dumps({"schema": SCHEMA, **asdict(record)}, indent=1) + "\n").encode()
