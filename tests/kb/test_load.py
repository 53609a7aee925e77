"""Files -> entries -> KnowledgeBase: everything wrong at once, each at its own place."""

from pathlib import Path

import pytest

from diagnose.errors import KnowledgeError
from diagnose.kb.files import digest, read_files
from diagnose.kb.load import assemble, load_entries
from diagnose.kb.text import Problem
from diagnose.model.knowledge import KnowledgeBase
from tests.kb.minimal import FILES, changed, line_of, problems


def loaded(text: str) -> list[Problem]:
    """The problems of one more file beside the good ones."""
    return problems({**FILES, "more.yaml": text})


def minimal() -> KnowledgeBase:
    return assemble(load_entries(FILES), "test")


@pytest.mark.parametrize(
    ("text", "line", "column", "says"),
    [
        ("sorces: {}\n", 1, 1, "unknown section 'sorces'; known: sources, cautions,"),
        ("tools: [a]\n", 1, 1, "'tools' must hold entries, each with an id"),
        ("- a\n", 1, 1, "the file must hold sections"),
        ("", 1, 1, "the file must hold sections"),
        ("tools: {Meter: x}\n", 1, 9, "id 'Meter': use lower-case letters, digits and _ only"),
        ("tools: {a-b: x}\n", 1, 9, "id 'a-b'"),
        ("tools:\n  probe:\n", 2, 3, "'probe' needs a text"),
        ("tools:\n  probe: 5\n", 2, 3, "'probe' needs a text"),
        ("sources:\n  one: two\n", 2, 3, "'one' must hold fields"),
        ("tools:\n  meter: again\n", 2, 3, "'meter' is already defined in shared.yaml:13:9"),
        ("scales:\n  source: src\n", 1, 1, "'scales' is already defined in shared.yaml:21:1"),
        ("sources:\n  one: {cite: x}\n", 2, 3, "'kind' is missing; add it"),
        ("sources:\n  one: {cite: x, kind: rumour}\n", 2, 18, "'kind': Input should be 'standard'"),
        (
            "sources:\n  one: {cite: x, kind: paper, yaer: 5}\n",
            2,
            31,
            "'yaer' is not a known field; known here: cite, kind",
        ),
        ("access:\n  a: {says: x, minutes: long, source: src}\n", 2, 16, "'minutes': Input should be a valid number"),
    ],
)
def test_schema_problems_with_their_place(text: str, line: int, column: int, says: str) -> None:
    (problem,) = loaded(text)
    assert says in problem.says
    assert (problem.file, problem.line, problem.column) == ("more.yaml", line, column)


def test_all_problems_at_once() -> None:
    """One run reports syntax, schema and reference problems of all files."""
    broken = {
        **FILES,
        "bad_yaml.yaml": "a: [1\nb: 2\n",
        "bad_fields.yaml": "sources:\n  one: {cite: 5, kind: rumour, more: 1}\n  two: {}\n",
        "bad_names.yaml": "complaints:\n  odd: {says: x, caller_says: [x], meanwhile: [y], source: nope}\n",
    }
    found = problems(broken)
    assert [(p.file, p.line) for p in found] == [
        ("bad_fields.yaml", 2), ("bad_fields.yaml", 2), ("bad_fields.yaml", 2),
        ("bad_fields.yaml", 3), ("bad_fields.yaml", 3),
        ("bad_names.yaml", 2), ("bad_yaml.yaml", 2),
    ]  # fmt: skip


def test_nested_field_is_named_with_its_fields() -> None:
    files, name = changed("minutes: 10, access: box", "minutes: 10, acess: box")
    (problem,) = problems(files)
    assert problem.line == line_of(files[name], "acess")
    assert "'remedy.acess' is not a known field; known here: steps, minutes" in problem.says


@pytest.mark.parametrize("single", ["scales", "settings"])
def test_missing_single_section(single: str) -> None:
    start = FILES["shared.yaml"].index(f"{single}:\n")
    text = FILES["shared.yaml"]
    rest = text[:start] + (text[text.index("settings:\n") :] if single == "scales" else "")
    (problem,) = problems({**FILES, "shared.yaml": rest})
    assert problem.says == f"no file has a '{single}:' section; add it"


def test_one_word_stands_for_a_list() -> None:
    kb = minimal()
    assert kb.checks["volts"].only_if == {"made_safe": ("yes",)}
    assert kb.rules["dark_means_low"].when == {"lamp": ("out",), "volts_verdict": ("below",)}
    assert kb.findings["lamp"].states == {"lit": ("lit",), "dim": ("dim",), "out": ("out",)}


def test_finding_takes_what_it_leaves_out_from_its_check() -> None:
    kb = minimal()
    lamp, volts = kb.findings["lamp"], kb.findings["volts"]
    assert (lamp.id, lamp.check, lamp.fact, lamp.says, lamp.source) == (
        "lamp",
        "lamp",
        "lamp",
        "Is the lamp lit?",
        "src",
    )
    assert volts.fact == "volts_verdict" and kb.checks["volts"].finding is volts


def test_order_of_files_and_entries_does_not_matter() -> None:
    """Not even for the order of the records, on which ties and screens rest."""
    files = {**FILES, "more.yaml": "tools: {torch: a torch, ladder: a ladder}\n"}
    backwards = {name: files[name] for name in reversed(files)}
    assert repr(assemble(load_entries(backwards), "test")) == repr(assemble(load_entries(files), "test"))


def test_read_files_leaves_profiles_out(tmp_path: Path) -> None:
    for name in ("b.yaml", "sub/a.yaml", "profiles/p.yaml", "note.txt"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(f"# {name}", "utf-8")
    assert read_files(tmp_path) == {"b.yaml": "# b.yaml", "sub/a.yaml": "# sub/a.yaml"}


def test_file_that_is_no_text_is_a_friendly_error(tmp_path: Path) -> None:
    (tmp_path / "x.yaml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(KnowledgeError, match="no UTF-8 text"):
        read_files(tmp_path)


def test_digest_tells_any_change() -> None:
    """Also text moved from one file to another, and a file renamed."""
    texts = [{"a": "xy", "b": ""}, {"a": "x", "b": "y"}, {"a": "xy"}, {"c": "xy", "b": ""}, {"a": "xY", "b": ""}]
    texts.append({"a": "x\0b\0y"})
    assert len({digest(t) for t in texts}) == len(texts)
    assert digest({"a": "x"}) == digest({"a": "x"})


def test_a_trait_stands_for_every_kind_with_it_also_one_that_comes_later() -> None:
    files = {**FILES, "entries.yaml": FILES["entries.yaml"].replace("devices: [loop]", "devices: [buried]")}
    assert files != FILES and assemble(load_entries(files), "test").causes["loose"].devices == ("loop",)
    files["mat.yaml"] = "kinds:\n  mat: {says: pressure mat, traits: [buried]}\n"
    kb = assemble(load_entries(files), "test")
    assert kb.causes["loose"].devices == ("loop", "mat") == kb.checks["volts"].devices
