"""What is shipped, and what the papers beside it say, against the tree itself."""

import argparse
import ast
import hashlib
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.cli.parser import parser

ROOT = Path(__file__).parents[1]
LONGEST_FUNCTION = 40
LONGEST_FILE = 300
MODULES = sorted((ROOT / "diagnose").rglob("*.py"))


def digests(folder: Path) -> dict[str, str]:
    files = (p for p in folder.rglob("*") if p.is_file() and "__pycache__" not in p.parts)
    return {p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in files}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    pytest.importorskip("hatchling", reason="building without the network needs the build backend")
    folder = tmp_path_factory.mktemp("wheel")
    options = ["--no-deps", "--no-build-isolation", "--no-cache-dir", "-q", "-w", str(folder)]
    subprocess.run([sys.executable, "-m", "pip", "wheel", *options, str(ROOT)], check=True, timeout=120)
    (built,) = folder.glob("*.whl")
    return built


@pytest.mark.parametrize("name", ["knowledge", "transcripts_demo"])
def test_the_wheel_holds_the_content_of_the_tree(wheel: Path, tmp_path: Path, name: str) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path)
    shipped = digests(tmp_path / "diagnose" / f"_{name}")
    assert shipped == digests(ROOT / name)
    assert shipped


def test_the_wheel_holds_every_module_and_nothing_from_outside(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {p.relative_to(ROOT).as_posix() for p in MODULES} | {"diagnose/py.typed"} <= names
    assert all(re.match(r"diagnose/|gate_diagnose-[^/]+\.dist-info/", name) for name in names)


def test_the_installed_wheel_reads_its_own_knowledge(wheel: Path, tmp_path: Path) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path)
    command = [sys.executable, "-c", "import sys; from diagnose.cli import main; sys.exit(main())", "paths"]
    environment = {"PYTHONPATH": str(tmp_path), "HOME": str(tmp_path)}
    done = subprocess.run(command, env=environment, cwd=tmp_path, capture_output=True, text=True, check=True)
    assert f"knowledge: {tmp_path / 'diagnose' / '_knowledge'}" in done.stdout


def commands() -> dict[str, argparse.ArgumentParser]:
    (choices,) = (a.choices for a in parser()._actions if isinstance(a, argparse._SubParsersAction))
    return dict(choices)


def test_the_readme_s_commands_are_the_program_s() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    table = re.search(r"\| command \|.*?\n\n", text, re.DOTALL)
    assert table
    named = set(re.findall(r"`diagnose ?([a-z-]*)[^`]*`", table[0]))
    assert {name or "start" for name in named} == set(commands())


def test_help_and_the_parser_start_without_the_engine() -> None:
    code = "import sys; from diagnose.cli.parser import parser; parser([]); print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert not {"numpy", "yaml", "pydantic", "rich", "experta"} & set(done.stdout.split())


def test_a_command_says_how_many_threads_to_take_before_numpy_takes_them() -> None:
    code = "import os, sys; from diagnose.cli import main; early = 'numpy' in sys.modules; main(['paths']); "
    code += "print(early, os.environ['OPENBLAS_NUM_THREADS'])"
    left = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=left, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "False 1"


def test_a_name_that_is_a_command_too_is_only_a_name() -> None:
    words = ["--name", "card", "start", "--sensors", "laser"]
    args = parser(words).parse_args(words)
    assert (args.command, args.name, args.sensors) == ("start", "card", "laser")


def test_every_option_the_papers_name_exists() -> None:
    known = {flag for p in (parser(), *commands().values()) for a in p._actions for flag in a.option_strings}
    lines = [
        line for name in ("README.md", "DEVELOPERS.md") for line in (ROOT / name).read_text("utf-8").splitlines()
    ]
    ours = "\n".join(line for line in lines if not re.search(r"\b(pip|pipx|uv|ruff|pytest)\b", line))
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", ours))
    assert {"--help-desk", "--json", "--verify", "--plain"} <= named <= known


def test_the_developers_paper_names_every_module_folder() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    named = set(re.findall(r"^\| `(\w+)/?`", text, re.MULTILINE))
    folders = {p.parent.name for p in (ROOT / "diagnose").glob("*/__init__.py")}
    files = {p.stem for p in (ROOT / "diagnose").glob("*.py")} - {"__init__", "__main__"}
    assert named == folders | files


def tracked() -> Iterator[tuple[Path, str]]:
    """Files that are or may be committed, with their text."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard", "-z"], cwd=ROOT, capture_output=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    for name in filter(None, listed.stdout.decode().split("\0")):
        path = ROOT / name
        if path.is_file():
            yield path, path.read_text("utf-8", "replace")


PATHS = re.compile(r"(?<![\w.\-/$\]])/(?:work|root|home|tmp/team)(?:/|\b(?![\w\]]))")
HOSTS = re.compile(r"(?i)//[\w.-]*(?:pypi|pythonhosted|artifactory|nexus|registry)|\bpypi\.\w|//[^\s\"']+/simple\b")


def test_no_file_holds_a_path_of_a_machine_or_a_registry() -> None:
    found = [
        f"{path.relative_to(ROOT)}: {hit[0]}"
        for path, text in tracked()
        for pattern in (PATHS, HOSTS)
        for hit in pattern.finditer(text)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("parts", "caught"),
    [
        (("see ", "/", "work", "/main/x"), True), (("'", "/", "root", "'"), True), (("/tmp", "/team/x"), True),
        (("https:", "//", "pypi", ".org/x"), True), (("index = https:", "//mirror.example/", "simple"), True),
        (("pip from ", "pypi", ".org"), True), (("https:", "//files.", "pythonhosted", ".org/a"), True),
        (("network/work",), False), (("../work/x",), False), (("shared/registry.py",), False), (("rework",), False),
    ],
)  # fmt: skip
def test_the_search_for_paths_and_hosts_finds_them(parts: tuple[str, ...], caught: bool) -> None:
    text = "".join(parts)
    assert bool(PATHS.search(text) or HOSTS.search(text)) is caught


def test_functions_and_files_stay_short() -> None:
    for path in MODULES:
        text = path.read_text("utf-8")
        assert len(text.splitlines()) <= LONGEST_FILE, path.name
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                length = (node.end_lineno or 0) - node.lineno + 1
                assert length <= LONGEST_FUNCTION, f"{path.name}: {node.name} has {length} lines"


def test_no_class_name_stands_twice() -> None:
    """Two things of one name are told apart by nobody."""
    named: dict[str, list[str]] = {}
    for path in MODULES:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ClassDef):
                named.setdefault(node.name, []).append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert len(named) > 100
    assert {name: places for name, places in named.items() if len(places) > 1} == {}
