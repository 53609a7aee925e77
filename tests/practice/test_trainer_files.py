"""What a trainer has written: never over another file unasked."""

from pathlib import Path

import pytest

from diagnose.cli import practice
from diagnose.errors import VisitError
from tests.terminal.test_practice import args


def test_a_table_goes_over_another_file_only_with_force(tmp_path: Path) -> None:
    path = tmp_path / "all.csv"
    path.write_text("of somebody else\n")
    with pytest.raises(VisitError, match="--force"):
        practice.run(args(tmp_path, export=path))
    assert path.read_text() == "of somebody else\n"
    assert practice.run(args(tmp_path, export=path, force=True)) == 0
    assert path.read_text().startswith("trainee,")
