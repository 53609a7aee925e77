"""What CI locks: every package with its hash, in a release that pyproject.toml allows, from no place by name."""

import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

TOP = Path(__file__).parent.parent
LOCKED = TOP / ".ci" / "locked.txt"
LINE = re.compile(r"[a-z0-9][a-z0-9-]*==[0-9][A-Za-z0-9.+!]* --hash=sha256:[0-9a-f]{64}")

pytestmark = pytest.mark.skipif(not LOCKED.is_file(), reason="not in a source distribution")


def lines() -> list[str]:
    return [line for line in LOCKED.read_text("utf-8").splitlines() if not line.startswith("#")]


def test_each_line_is_a_package_and_its_hash_and_names_no_place() -> None:
    assert len(lines()) > 50
    assert [line for line in lines() if not LINE.fullmatch(line)] == []
    assert "://" not in LOCKED.read_text("utf-8")


def test_everything_that_is_wanted_is_locked_in_a_release_above_its_floor() -> None:
    project = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = [*project["dependencies"], *extras["test"], *extras["lint"], *extras["web"], *extras["pdf"]]
    locked = dict(line.partition(" ")[0].split("==") for line in lines())
    assert [w for w in wanted if not _locked(Requirement(w), locked)] == []


def _locked(wanted: Requirement, locked: dict[str, str]) -> bool:
    release = locked.get(re.sub("[-_.]+", "-", wanted.name).lower())
    return release is not None and wanted.specifier.contains(release, prereleases=True)


def told(folder: Path, knows: bool, holes: bool) -> subprocess.CompletedProcess[str]:
    """With an invented pip-audit, whose database answers or does not."""
    vulns = [{"id": "INVENTED-1"}] if holes else []
    known = {"name": "x", "version": "1", "vulns": vulns} if knows else {"name": "x", "skip_reason": "no answer"}
    program = folder / "pip-audit"
    program.write_text(f"#!{sys.executable}\nprint({json.dumps(json.dumps({'dependencies': [known]}))})\n", "utf-8")
    program.chmod(0o755)
    place = {**os.environ, "PATH": f"{folder}:{Path(sys.executable).parent}:/usr/bin:/bin"}
    run = [sys.executable, str(TOP / ".ci" / "vulnerable")]
    return subprocess.run(run, env=place, capture_output=True, text=True, check=False)


@pytest.mark.parametrize(
    ("knows", "holes", "code", "says"),
    [
        (True, True, 1, "INVENTED-1"),
        (True, False, 0, "no hole is known"),
        (False, False, 0, "no database of holes is at hand"),
    ],
)
def test_a_known_hole_ends_ci_and_without_a_database_it_is_said(
    tmp_path: Path, knows: bool, holes: bool, code: int, says: str
) -> None:
    done = told(tmp_path, knows, holes)
    assert (done.returncode, done.stderr) == (code, "") and says in done.stdout
