"""`diagnose cases`: field cases played through the real session, and what a maintainer of cases needs."""

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path

from diagnose.cases.baseline import as_text, changes, raised, read_record, recorded
from diagnose.cases.check import problems_of_cases
from diagnose.cases.collect import Collected, Wanted, encoded
from diagnose.cases.coverage import coverage_problems, covered, read_coverage
from diagnose.cases.figures import MOST_NOT_ENCODED, case_figures
from diagnose.cases.model import FieldCase
from diagnose.cases.plain import as_plain
from diagnose.cases.read import FOLDER, case_files, read_all, read_case, read_folder, shipped_cases
from diagnose.cases.sheet import sheet
from diagnose.cases.temper import gathered, scores
from diagnose.cases.words import share
from diagnose.commands import folder_of, knowledge_of, screen_of
from diagnose.core.reason import Reasoner
from diagnose.errors import KnowledgeError, VisitError
from diagnose.kb.cache import load_knowledge
from diagnose.kb.check import read_register, safety_register
from diagnose.kb.safety import FILE, Register, differences, register_text
from diagnose.model.knowledge import KnowledgeBase
from diagnose.report.cases_page import page
from diagnose.store.atomic import give_file
from diagnose.terminal.cases import draw_cases, draw_changes, draw_tempered, play_cases


def cases(args: argparse.Namespace) -> int:
    """Plays the cases of a folder; or checks them, or says what one leaves open, or makes one of a visit."""
    if args.sheet:
        return _sheet(args)
    if args.from_visit:
        return _from_visit(args)
    if args.temper:
        return _temper(args)
    if args.check:
        return check_cases(knowledge_of(args), args.folder or shipped_cases())
    return _play(args)


def check(args: argparse.Namespace) -> int:
    """The knowledge check: the knowledge, then the field cases and the coverage list that lie beside it."""
    from diagnose.kb.check import main as check_knowledge

    args.knowledge = args.folder or args.knowledge
    folder = folder_of(args)
    if args.difference:
        return _difference(safety_register(args.difference), safety_register(folder))
    if args.register:
        return _register(folder)
    if code := check_knowledge(str(folder)):
        return code
    kb, cases = load_knowledge(folder), folder / FOLDER
    return max(check_cases(kb, cases) if cases.is_dir() else 0, _check_coverage(kb, folder))


def _difference(before: Register, after: Register) -> int:
    """Who, access, touches, proofs, cautions, runs_gate and stop-work, entry by entry."""
    found = list(differences(before, after))
    for entry, says in found:
        print(f"{entry}: {says}")
    print(f"{len(found)} difference(s) in safety")
    return 0


def _register(folder: Path) -> int:
    """Shows the difference to the register, for reading, and writes it anew."""
    before = read_register(folder) if (folder / FILE).exists() else {}
    after = safety_register(folder)
    _difference(before, after)
    (folder / FILE).parent.mkdir(exist_ok=True)
    give_file(folder / FILE, register_text(after).encode(), "FOLDER")
    return 0


def _check_coverage(kb: KnowledgeBase, folder: Path) -> int:
    listed, document, problems = read_coverage(folder)
    problems += coverage_problems(kb, listed, document)
    for problem in problems:
        print(problem)
    if listed.faults:
        often = share(covered(listed, least_lists=2))
        print(f"{len(problems)} problem(s); faults of the trade that an entry mends: {share(covered(listed))}")
        print(f"of those that two or more of the independent lists name: {often}")
    return 1 if problems else 0


def check_cases(kb: KnowledgeBase, folder: Path) -> int:
    """Every problem of the cases in a folder, or of one file, against the knowledge."""
    filed = list(read_all(case_files(folder) if folder.is_dir() else [folder]))
    problems = problems_of_cases(kb, filed)
    for problem in problems:
        print(problem)
    played = encoded([f.case for f in filed if f.case])
    print(f"{len(problems)} problem(s); {len(filed)} field cases, {len(played)} of them encoded")
    return 1 if problems else 0


def _sheet(args: argparse.Namespace) -> int:
    filed = read_case(args.sheet)
    if filed.case is None:
        raise KnowledgeError("the case cannot be read", tuple(map(str, filed.problems)))
    for line in sheet(knowledge_of(args), filed.case, args.open):
        print(line)
    return 0


def _play(args: argparse.Namespace) -> int:
    if args.processes < 1:
        raise VisitError("--processes must be at least 1")
    kb = knowledge_of(args)
    wanted = Wanted(_chosen(args), args.seed, args.processes, not args.quick, not args.quick)
    collected = play_cases(kb, wanted)
    if args.html:
        give_file(args.html, page(collected), "--html FILE")
    found = changes(read_record(args.baseline), recorded(collected.open)) if args.baseline else []
    if args.json:
        print(json.dumps({**as_plain(collected), "changes": [asdict(c) for c in found]}, indent=1))
    else:
        draw_cases(screen_of(args), collected)
        draw_changes(screen_of(args), found)
    if args.record and args.baseline:
        kept = raised(read_record(args.baseline), recorded(collected.open))
        give_file(args.baseline, as_text(kept).encode(), "--baseline FILE")
    return max(int(any(c.fell for c in found)), _too_little_encoded(collected))


def _too_little_encoded(collected: Collected) -> int:
    """1 when more questions than may be had no answer that the case should have held."""
    found = case_figures(collected.tool).not_encoded
    if found.value <= MOST_NOT_ENCODED:
        return 0
    print(f"diagnose: {share(found)} of the answers are not encoded, more than {MOST_NOT_ENCODED:.0%}; "
          "'diagnose cases --sheet FILE --open' says which", file=sys.stderr)  # fmt: skip
    return 1


def _temper(args: argparse.Namespace) -> int:
    """Which power of the likelihoods serves best on the cases set aside for fitting it."""
    reasoner = Reasoner(knowledge_of(args))
    aside = [c for c in _chosen(args) if c.fitting]
    if not aside:
        raise VisitError("no encoded case is set aside for fitting")
    draw_tempered(screen_of(args), reasoner.kb.settings.temper, scores(reasoner, list(gathered(reasoner, aside, 1))))
    return 0


def _chosen(args: argparse.Namespace) -> list[FieldCase]:
    """The encoded cases wanted, in the order of their files."""
    wanted = set(args.only.replace(",", " ").split())
    found = encoded(read_folder(args.folder or shipped_cases()))
    if unknown := wanted - {c.id for c in found}:
        raise VisitError(f"no encoded case is called {sorted(unknown)[0]!r}")
    found = [c for c in found if (not wanted or c.id in wanted) and args.half in (None, c.half)]
    if not found:
        raise VisitError("none of the cases is encoded; 'diagnose cases --sheet FILE' says what one has to answer")
    return found


def _from_visit(args: argparse.Namespace) -> int:
    """A closed visit with a proved cause, written down as a case that a person completes."""
    from diagnose.cases.from_visit import case_text
    from diagnose.commands import salvaged
    from diagnose.store import visits
    from diagnose.store.journal import read

    path = visits.find(visits.visits_folder(args.visits), args.from_visit)
    reasoner = Reasoner(knowledge_of(args))
    session = salvaged(reasoner, path, read(path), lambda text: screen_of(args).line(text))
    name = path.stem.replace("-", "_")
    target = args.output / f"{name}.yaml"
    if target.exists():
        raise VisitError(f"{target} is there already; move it, or choose another folder with --output FOLDER")
    give_file(target, case_text(reasoner.kb, session, name).encode(), "--output FOLDER")
    print(f"Case: {target}. Complete what says TO DO, then: diagnose cases --check {target}")
    return 0
