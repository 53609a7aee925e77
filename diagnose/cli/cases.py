"""`diagnose cases`: field cases played through the real session, and what a maintainer of cases needs."""

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path

from diagnose.cases.baseline import as_text, changes, raised, read_record, recorded
from diagnose.cases.collect import Collected, WantedRuns, encoded
from diagnose.cases.figures import MOST_NOT_ENCODED, case_figures
from diagnose.cases.from_visit import case_text
from diagnose.cases.model import FieldCase
from diagnose.cases.plain import as_plain
from diagnose.cases.read import read_case, read_folder, shipped_cases
from diagnose.cases.sheet import sheet
from diagnose.cases.temper import gathered, scores
from diagnose.cases.words import share
from diagnose.cli.check_knowledge import check_cases
from diagnose.cli.parser import force_option
from diagnose.cli.shared import knowledge_of, salvaged, screen_of, visits_of
from diagnose.core.reason import Reasoner
from diagnose.errors import KnowledgeError, VisitError
from diagnose.present.figures import percent
from diagnose.report.cases_page import page
from diagnose.store.atomic import give_file, require_free
from diagnose.store.journal import read
from diagnose.store.visits import find
from diagnose.terminal.cases import draw_cases, draw_changes, draw_tempered, play_cases
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", nargs="?", type=Path, default=None, help=say("cli.cases_folder"))
    parser.add_argument("--half", choices=("learning", "judging"), default=None, help=say("cli.cases_half"))
    parser.add_argument("--only", default="", metavar="IDS", help=say("cli.cases_only"))
    parser.add_argument("--seed", type=int, default=1, metavar="N", help=say("cli.cases_seed"))
    parser.add_argument("--processes", type=int, default=2, metavar="N")
    parser.add_argument("--quick", action="store_true", help=say("cli.cases_quick"))
    parser.add_argument("--json", action="store_true", help=say("cli.one_json"))
    parser.add_argument("--html", type=Path, default=None, metavar="FILE", help=say("cli.page_with_plots"))
    parser.add_argument("--baseline", type=Path, default=None, metavar="FILE", help=say("cli.cases_baseline"))
    parser.add_argument("--record", action="store_true", help=say("cli.cases_record"))
    parser.add_argument("--temper", action="store_true", help=say("cli.cases_temper"))
    parser.add_argument("--check", action="store_true", help=say("cli.cases_check"))
    parser.add_argument("--sheet", type=Path, default=None, metavar="FILE", help=say("cli.cases_sheet"))
    parser.add_argument("--open", action="store_true", help=say("cli.cases_open"))
    parser.add_argument("--from-visit", default="", metavar="NAME", help=say("cli.cases_from_visit"))
    parser.add_argument("-o", "--output", type=Path, default=Path(), metavar="FOLDER", help=say("cli.cases_output"))
    force_option(parser)


def run(args: argparse.Namespace) -> int:
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


def _sheet(args: argparse.Namespace) -> int:
    filed = read_case(args.sheet)
    if filed.case is None:
        raise KnowledgeError(say("cli.cases_unreadable"), tuple(map(str, filed.problems)))
    for line in sheet(knowledge_of(args), filed.case, args.open):
        print(line)
    return 0


def _play(args: argparse.Namespace) -> int:
    if args.processes < 1:
        raise VisitError(say("cli.at_least", option="--processes", least=1))
    if args.html:
        require_free(args.html, "--html FILE", args.force)
    kb = knowledge_of(args)
    wanted = WantedRuns(_chosen(args), args.seed, args.processes, not args.quick, not args.quick)
    collected = play_cases(kb, wanted)
    if args.html:
        give_file(args.html, page(collected), "--html FILE", args.force)
    found = changes(read_record(args.baseline), recorded(collected.open)) if args.baseline else []
    if args.json:
        print(json.dumps({**as_plain(collected), "changes": [asdict(c) for c in found]}, indent=1))
    else:
        draw_cases(screen_of(args), collected)
        draw_changes(screen_of(args), found)
    if args.record and args.baseline:
        kept = raised(read_record(args.baseline), recorded(collected.open))
        give_file(args.baseline, as_text(kept).encode(), "--baseline FILE", force=True)
    return max(int(any(c.fell for c in found)), _too_little_encoded(collected))


def _too_little_encoded(collected: Collected) -> int:
    """1 when more questions than may be had no answer that the case should have held."""
    found = case_figures(collected.tool).not_encoded
    if found.value <= MOST_NOT_ENCODED:
        return 0
    told = say("cli.cases_too_few", share=share(found), most=percent(MOST_NOT_ENCODED))
    print(f"diagnose: {told}", file=sys.stderr)
    return 1


def _temper(args: argparse.Namespace) -> int:
    """Which power of the likelihoods serves best on the cases set aside for fitting it."""
    reasoner = Reasoner(knowledge_of(args))
    aside = [c for c in _chosen(args) if c.fitting]
    if not aside:
        raise VisitError(say("cli.cases_none_aside"))
    draw_tempered(screen_of(args), reasoner.kb.settings.temper, scores(reasoner, list(gathered(reasoner, aside, 1))))
    return 0


def _chosen(args: argparse.Namespace) -> list[FieldCase]:
    """The encoded cases wanted, in the order of their files."""
    wanted = set(args.only.replace(",", " ").split())
    found = encoded(read_folder(args.folder or shipped_cases()))
    if unknown := wanted - {c.id for c in found}:
        raise VisitError(say("cli.cases_unknown", name=sorted(unknown)[0]))
    found = [c for c in found if (not wanted or c.id in wanted) and args.half in (None, c.half)]
    if not found:
        raise VisitError(say("cli.cases_none_encoded"))
    return found


def _from_visit(args: argparse.Namespace) -> int:
    """A closed visit with a proved cause, written down as a case that a person completes."""
    path = find(visits_of(args), args.from_visit)
    reasoner = Reasoner(knowledge_of(args))
    reasoner, session = salvaged(reasoner, path, read(path), screen_of(args).line)
    name = path.stem.replace("-", "_")
    target = args.output / f"{name}.yaml"
    give_file(target, case_text(reasoner.kb, session, name).encode(), "--output FOLDER", args.force)
    print(say("cli.cases_written", path=target))
    return 0
