"""The knowledge in another language: every text of an entry has a key, and a file may say it anew.

`languages/<code>.po` beside the knowledge holds the texts, by keys such as causes.plug_out.remedy.steps.0. Nothing
but words changes: ids, numbers and conditions are no texts.
"""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

from diagnose.errors import LanguageError
from diagnose.kb.domain import option_for
from diagnose.kb.files import plain_text
from diagnose.kb.picture_words import with_words, words_in
from diagnose.model import knowledge as model
from diagnose.model import named, rules
from diagnose.model.knowledge import Check, Finding, KnowledgeBase
from diagnose.words import say
from diagnose.words.read import ENGLISH, parsed

FOLDER = "languages"
TEXTS: Mapping[type[Any], tuple[str, ...]] = {
    named.Source: ("cite",),
    named.Caution: ("says", "short", "tell", "tag", "meanwhile", "otherwise"),
    named.Access: ("says",),
    named.Complaint: ("says", "short", "caller_says", "meanwhile"),
    model.Cause: ("says", "explain", "remedy", "test", "proof", "caller"),
    model.CallerRemedy: ("steps", "proof"),
    model.Remedy: ("steps", "parts"),
    model.Effect: ("says",),
    model.Check: ("ask", "ask_caller", "stand", "help", "good", "bad", "options", "caller_options"),
    model.Finding: ("says", "called"),
    rules.Rule: ("says", "then"),
    rules.Then: ("contradiction",),
    rules.Contradiction: ("says",),
    rules.Calculation: ("says",),
    named.Kind: ("says",),
    named.Family: ("says",),
    named.Link: ("says", "short"),
    named.Proof: ("says", "after_caution"),
    named.Term: ("says", "means", "words"),
    named.WalkStep: ("tells", "breaks", "ask", "answers", "because"),
    named.WorkedGate: ("says", "words", "repaired", "steps"),
}
SECTIONS = (
    "sources",
    "cautions",
    "access",
    "complaints",
    "effects",
    "causes",
    "checks",
    "findings",
    "rules",
    "calculations",
    "kinds",
    "families",
    "links",
    "proofs",
    "terms",
    "walk",
    "examples",
)
WORD_TABLES = ("tools",)
NO_WORDS = ("", "never")  # 'never' asked of a caller is no text


def in_words_of(kb: KnowledgeBase, folder: Path, language: str) -> KnowledgeBase:
    """The knowledge with what a file beside it says in the language; the same where there is none."""
    path = folder / FOLDER / f"{language}.po"
    if language == ENGLISH or not path.is_file():
        return kb
    return translated(kb, said(path))


def said(path: Path) -> dict[str, str]:
    """The texts of one file, by key. Raises LanguageError."""
    try:
        texts = parsed(path.stem, {path.name: plain_text(path)}).texts
    except (OSError, UnicodeDecodeError) as error:
        raise LanguageError(say("store.cannot_read", path=path, why=error)) from error
    return {key: forms[0] for key, forms in texts.items()}


def texts_of(kb: KnowledgeBase) -> dict[str, str]:
    """Every text of the knowledge by its key: what a language file can say."""
    found: dict[str, str] = {}
    for section in SECTIONS:
        for name, record in getattr(kb, section).items():
            found.update(_texts(_worded(kb, record), f"{section}.{name}"))
    for table in WORD_TABLES:
        found.update(_texts(getattr(kb, table), table))
    for name, picture in kb.pictures.items():
        found.update(_texts(words_in(picture), f"pictures.{name}"))
    return found


def _worded(kb: KnowledgeBase, record: Any) -> Any:
    """A finding that only repeats the question of its check has no text of its own, a state by its name has one."""
    if not isinstance(record, Finding):
        return record
    unsaid = (state for state in record.states if not option_for(kb, record, state))
    called = {state: record.called.get(state, state.replace("_", " ")) for state in unsaid}
    return replace(record, says="" if _repeats(kb, record) else record.says, called=called)


def _repeats(kb: KnowledgeBase, finding: Finding) -> bool:
    return finding.check in kb.checks and finding.says == kb.checks[finding.check].ask


def _texts(value: Any, key: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        if value not in NO_WORDS:
            yield key, value
    elif is_dataclass(value):
        for name in TEXTS[type(value)]:
            yield from _texts(getattr(value, name), f"{key}.{name}")
    elif value is not None:
        for name, inner in _inside(value):
            yield from _texts(inner, f"{key}.{name}")


def _inside(value: Any) -> Iterator[tuple[Any, Any]]:
    yield from value.items() if isinstance(value, Mapping) else enumerate(value)


def translated(kb: KnowledgeBase, texts: Mapping[str, str]) -> KnowledgeBase:
    """The knowledge with these texts in place of its own; keys that it does not have are passed over."""
    tables: dict[str, Any] = {
        section: {name: _anew(record, f"{section}.{name}", texts) for name, record in getattr(kb, section).items()}
        for section in SECTIONS
    }
    tables["findings"] = {n: _finding(kb, tables["checks"], f, texts) for n, f in kb.findings.items()}
    tables["checks"] = {name: _with_finding(check, tables["findings"]) for name, check in tables["checks"].items()}
    words: dict[str, Any] = {table: _anew(getattr(kb, table), table, texts) for table in WORD_TABLES}
    pictures = {
        name: with_words(picture, _anew(words_in(picture), f"pictures.{name}", texts))
        for name, picture in kb.pictures.items()
    }
    return replace(kb, **tables, **words, pictures=pictures)


def _anew(value: Any, key: str, texts: Mapping[str, str]) -> Any:
    if isinstance(value, str):
        return texts.get(key, value) if value not in NO_WORDS else value
    if is_dataclass(value) and not isinstance(value, type):
        named = [f.name for f in fields(value) if f.name in TEXTS[type(value)]]
        return replace(value, **{name: _anew(getattr(value, name), f"{key}.{name}", texts) for name in named})
    if isinstance(value, Mapping):
        return {name: _anew(inner, f"{key}.{name}", texts) for name, inner in value.items()}
    return value if value is None else tuple(_anew(inner, f"{key}.{n}", texts) for n, inner in enumerate(value))


def _finding(kb: KnowledgeBase, checks: Mapping[str, Check], finding: Finding, texts: Mapping[str, str]) -> Finding:
    anew: Finding = _anew(_worded(kb, finding), f"findings.{finding.id}", texts)
    return anew if anew.says else replace(anew, says=checks[finding.check].ask)


def _with_finding(check: Check, findings: Mapping[str, Finding]) -> Check:
    return replace(check, finding=findings[check.finding.id]) if check.finding else check
