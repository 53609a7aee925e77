"""Where an entry stands: one folder a subject, one file a sort of entry, one prefix a folder."""

from collections.abc import Iterator

from diagnose.kb.load import Loaded
from diagnose.kb.text import Problem
from diagnose.words import say

FILE_OF = {"causes": "causes", "checks": "checks", "calculations": "rules", "rules": "rules"}
UNPREFIXED = ("causes",)  # their ids are words of people's visits, older than the prefixes


def misplaced(loaded: Loaded) -> Iterator[Problem]:
    """Entries outside the folder and file where a reader looks for them. No `subjects:`, no layout to keep."""
    subjects = loaded.entries["subjects"]
    prefixes = {s.prefix: s.id for s in reversed(subjects.values())}
    for subject in subjects.values():
        if prefixes[subject.prefix] != subject.id:
            says = say("knowledge.is_the_prefix_of_already", prefix=subject.prefix, prefixes=prefixes[subject.prefix])
            yield loaded.problem(("subjects", subject.id, "prefix"), says)
    for path, document in loaded.origin.items() if subjects else ():
        if path[0] in FILE_OF:
            here = document.file.rpartition("/")[0]
            known = here if here in subjects else "SUBJECT"
            folder = known if path[0] in UNPREFIXED else _subject(path[1], prefixes)
            right = f"{folder}/{FILE_OF[path[0]]}.yaml"
            if document.file != right:
                yield loaded.problem(
                    path,
                    say(
                        "knowledge.stands_in_move_it_to", path=path[0], path2=path[1], file=document.file, right=right
                    ),
                )


def _subject(entry: str, prefixes: dict[str, str]) -> str:
    """The folder whose prefix the id begins with, else the one without a prefix."""
    return prefixes.get(entry.split("_")[0]) or prefixes.get("", "SUBJECT")
