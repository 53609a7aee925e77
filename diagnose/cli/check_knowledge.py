"""`diagnose check-knowledge`: every problem of a knowledge folder; what changed in safety."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from diagnose.cases.check import problems_of_cases
from diagnose.cases.collect import encoded
from diagnose.cases.coverage import coverage_problems, covered, read_coverage
from diagnose.cases.read import FOLDER, case_files, read_all
from diagnose.cases.words import share
from diagnose.cli.review import bring_up, note, show, show_unread
from diagnose.cli.shared import folder_of
from diagnose.errors import KnowledgeError
from diagnose.kb.cache import load_knowledge
from diagnose.kb.check import main as check_knowledge
from diagnose.kb.check import read_register, safety_register
from diagnose.kb.review import ROLES, SEALED
from diagnose.kb.safety import FILE, Register, register_text
from diagnose.kb.weaker import differences
from diagnose.model.knowledge import KnowledgeBase
from diagnose.store.atomic import give_file
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", nargs="?", default="", help=say("cli.check_folder"))
    parser.add_argument("--register", action="store_true", help=say("cli.check_register"))
    parser.add_argument("--unread", choices=ROLES, default="", help=say("cli.check_unread"))
    parser.add_argument("--read", nargs=2, default=(), metavar=("ROLE", "FILE"), help=say("cli.check_read"))
    parser.add_argument("--difference", type=Path, default=None, metavar="FOLDER", help=say("cli.check_difference"))


def run(args: argparse.Namespace) -> int:
    """The knowledge, then the field cases and the coverage list that lie beside it."""
    args.knowledge = args.folder or args.knowledge
    folder = folder_of(args)
    if args.difference:
        return _difference(safety_register(args.difference), safety_register(folder))
    if args.register:
        return _register(folder)
    if args.unread:
        show_unread(folder, args.unread)
        return 0
    if args.read:
        note(folder, _role(args.read[0]), args.read[1])
        return 0
    if code := check_knowledge(str(folder)):
        show(folder)
        return code
    kb, cases = load_knowledge(folder), folder / FOLDER
    code = max(check_cases(kb, cases) if cases.is_dir() else 0, _check_coverage(kb, folder))
    show(folder)
    return code


def _role(name: str) -> str:
    if name not in ROLES:
        raise KnowledgeError(say("knowledge.no_role", role=name, known=", ".join(ROLES)))
    return name


def _difference(before: Register, after: Register) -> int:
    """Who, access, touches, proofs, cautions, runs_gate and stop-work, entry by entry."""
    found = [(entry, says) for entry, says in differences(before, after) if entry != SEALED]
    for entry, says in found:
        print(f"{entry}: {says}")
    print(say("cli.differences", n=len(found)))
    return 0


def _register(folder: Path) -> int:
    """Shows the difference to the register, for reading, and writes it anew."""
    before = read_register(folder) if (folder / FILE).exists() else {}
    after = safety_register(folder)
    _difference(before, after)
    (folder / FILE).parent.mkdir(exist_ok=True)
    give_file(folder / FILE, register_text(after).encode(), "FOLDER", force=True)
    bring_up(folder)
    return 0


def _check_coverage(kb: KnowledgeBase, folder: Path) -> int:
    listed, document, problems = read_coverage(folder)
    problems += coverage_problems(kb, listed, document)
    for problem in problems:
        print(problem)
    if listed.faults:
        often = share(covered(listed, least_lists=2))
        print(say("cli.check_coverage", problems=problems_says(problems), share=share(covered(listed))))
        print(say("cli.check_often", share=often))
    return 1 if problems else 0


def check_cases(kb: KnowledgeBase, folder: Path) -> int:
    """Every problem of the cases in a folder, or of one file, against the knowledge."""
    filed = list(read_all(case_files(folder) if folder.is_dir() else [folder]))
    problems = problems_of_cases(kb, filed)
    for problem in problems:
        print(problem)
    played = encoded([f.case for f in filed if f.case])
    print(say("cli.check_cases", problems=problems_says(problems), cases=len(filed), encoded=len(played)))
    return 1 if problems else 0


def problems_says(problems: Sequence[object]) -> str:
    return say("cli.problems", n=len(problems))
