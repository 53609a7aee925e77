"""Entries stand in the folder and file of their subject, and nowhere else."""

import pytest

from diagnose.kb.check import problems_of
from diagnose.kb.files import read_files, shipped_folder
from diagnose.kb.load import load_entries
from diagnose.kb.places import FILE_OF

FILES = read_files(shipped_folder("knowledge"))


def placed(moved: dict[str, str], **changed: str) -> list[str]:
    """What the check says once files bear another name, or sections of them another text."""
    files = {moved.get(name, name): changed.get(name, text) for name, text in FILES.items()}
    return [str(p) for p in problems_of(load_entries(files))]


@pytest.mark.parametrize("file", sorted({*FILE_OF.values()}))
def test_a_file_in_another_folder_or_of_another_name_is_told_where_it_belongs(file: str) -> None:
    own = f"supply/{file}.yaml"
    for other in ("supply/more.yaml", "shared/supply.yaml", "supply.yaml"):
        told = placed({own: other})
        right = own if other.startswith("supply/") or file != "causes" else "SUBJECT/causes.yaml"
        assert told and all(p.startswith(f"{other}:") and f"move it to {right}" in p for p in told)


def test_an_id_goes_by_its_prefix_and_one_without_goes_to_the_subject_without() -> None:
    files = dict(FILES)
    files["wiring/checks.yaml"] = FILES["wiring/checks.yaml"].replace("\n  wir_flex_test:", "\n  flex_test:")
    assert files != FILES
    told = [str(p) for p in problems_of(load_entries(files)) if "move it to" in str(p)]
    assert len(told) == 1 and "'flex_test'" in told[0] and "first_looks/checks.yaml" in told[0]


def test_two_subjects_never_share_a_prefix() -> None:
    files = {**FILES, "x.yaml": "subjects:\n  slats: {prefix: sup, says: slats}\n"}
    told = [str(p) for p in problems_of(load_entries(files))]
    assert len(told) == 1 and told[0].startswith("x.yaml:2:") and "is the prefix of 'supply'" in told[0]
