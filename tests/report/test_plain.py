"""The JSON beside the record."""

import json
from dataclasses import fields
from typing import Any

import pytest

from diagnose.present.record import Record
from diagnose.report import plain
from tests.report.visits import hostile, records_of, whole_records


def read(record: Record) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(plain.render(record))
    return loaded


def test_it_has_the_schema_and_every_field() -> None:
    loaded = read(whole_records()[1])
    assert loaded["schema"] == 1
    assert set(loaded) == {"schema", *(f.name for f in fields(Record))}
    assert loaded["repairs"][1]["passed"] is True


def test_probabilities_and_decibans_are_not_rounded() -> None:
    suspect, loaded = whole_records()[1].suspects[0], read(whole_records()[1])["suspects"][0]
    assert loaded["probability"] == suspect.probability
    assert loaded["evidence"][0]["decibans"] == suspect.evidence[0].decibans


@pytest.mark.parametrize("version", [0, 1])
def test_hostile_text_does_no_harm(version: int) -> None:
    data = plain.render(records_of(hostile())[version])
    assert data.isascii() and b"\\u202e" not in data and b"\\ud800" not in data
