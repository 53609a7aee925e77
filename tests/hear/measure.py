"""How well the reader hears sentences that nobody wrote phrases from: figures, no test.

python -m tests.hear.measure
"""

from collections.abc import Iterable, Mapping
from pathlib import Path

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


def main() -> None:
    listener, said = Listener(knowledge()), entries("paraphrases.yaml")
    for half, rest in (("learning", 1), ("judging", 0)):
        print(f"facts, {half}:", facts(listener, (e for e in said if int(e["id"][2:]) % 2 == rest)))
    for name in ("danger_learning.yaml", "danger_judging.yaml"):
        pairs = entries(name)
        missed = sum(not listener.read(e["danger"]).dangers for e in pairs)
        false = sum(bool(listener.read(e["harmless"]).dangers) for e in pairs)
        print(f"{name}: dangers missed {missed} of {len(pairs)}, raised by harmless twins {false}")


if __name__ == "__main__":
    main()
