"""How well the reader hears sentences that nobody wrote phrases from: figures, no test.

python -m tests.hear.measure
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.hear.reader import Listener
from diagnose.kb.text import parse
from tests.shipped import knowledge

HERE = Path(__file__).parent
Entry = Mapping[str, str]


def entries(name: str) -> list[Entry]:
    path = HERE / name
    found: list[Entry] = parse(path.read_text("utf-8"), path.name).value
    return found


def facts(listener: Listener, sentences: Iterable[Entry]) -> str:
    """Of the facts that were said: heard, heard as something else of the same check, not heard; and others heard."""
    right = other = silent = beside = 0
    for each in sentences:
        heard = {f.about: f.option for f in listener.read(each["says"]).facts}
        said = heard.pop(each["check"], None)
        right, other, silent = (
            right + (said == each["option"]),
            other + (said not in (None, each["option"])),
            silent + (said is None),
        )
        beside += len(heard)
    return f"heard {right}, otherwise {other}, not heard {silent}; of other checks {beside}"


@dataclass(frozen=True)
class Score:
    """Of the facts of messages: heard, heard as something else of the same check, not heard; and others heard."""

    right: int
    wrong: int
    missed: int
    extra: int

    @property
    def recall(self) -> float:
        return self.right / (self.right + self.wrong + self.missed)

    @property
    def precision(self) -> float:
        return self.right / (self.right + self.wrong + self.extra)

    def says(self) -> str:
        counts = f"heard {self.right}, wrong {self.wrong}, not heard {self.missed}, extra {self.extra}"
        return f"recall {self.recall:.3f}, precision {self.precision:.3f}; {counts}"


def first_words(listener: Listener, rest: int) -> Score:
    """Every second message; only checks count of which some message of either half tells a fact."""
    messages = first_messages()
    told = {check for each in messages for check in each["facts"]}
    counts = [_score(listener, each, told) for each in messages if int(each["id"][2:]) % 2 == rest]
    return Score(*(sum(each) for each in zip(*counts, strict=True)))


def first_messages() -> Sequence[Mapping[str, Any]]:
    found: Sequence[Mapping[str, Any]] = parse(
        (HERE / "first_words.yaml").read_text("utf-8"), "first_words.yaml"
    ).value
    return found


def _score(listener: Listener, message: Mapping[str, Any], told: set[str]) -> tuple[int, int, int, int]:
    heard = {f.about: f.option for f in listener.read(message["says"]).facts if f.about in told}
    facts = {check: o if isinstance(o, list | tuple) else [o] for check, o in message["facts"].items()}
    right = sum(heard.get(check) in options for check, options in facts.items())
    missed = sum(check not in heard for check in facts)
    return right, len(facts) - right - missed, missed, sum(check not in facts for check in heard)


def main() -> None:
    listener, said = Listener(knowledge()), entries("paraphrases.yaml")
    for half, rest in (("learning", 1), ("judging", 0)):
        print(f"facts, {half}:", facts(listener, (e for e in said if int(e["id"][2:]) % 2 == rest)))
        print(f"first messages, {half}:", first_words(listener, rest).says())
    for name in ("danger_learning.yaml", "danger_judging.yaml"):
        pairs = entries(name)
        missed = sum(not listener.read(e["danger"]).dangers for e in pairs)
        false = sum(bool(listener.read(e["harmless"]).dangers) for e in pairs)
        print(f"{name}: dangers missed {missed} of {len(pairs)}, raised by harmless twins {false}")


if __name__ == "__main__":
    main()
