"""What a trainer asks of `diagnose practice`: the overview, all exercises as a table, an examination to sign."""

import argparse
import json
from pathlib import Path

from diagnose.cli.shared import screen_of
from diagnose.errors import VisitError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice import progress_file
from diagnose.practice.exam import sittings
from diagnose.practice.lessons import families_of, today
from diagnose.practice.progress import Progress
from diagnose.present.exam import exam_record
from diagnose.present.practised import practised
from diagnose.present.tables import csv_text
from diagnose.report.exam_page import exam_page
from diagnose.store.atomic import give_file
from diagnose.terminal.practice_overview import draw_overview
from diagnose.words import say


def run(args: argparse.Namespace, kb: KnowledgeBase) -> int:
    """Raises VisitError where a file cannot be written, or there is nothing to write."""
    folder, screen = progress_file.practice_folder(args.folder), screen_of(args)
    found, wrong = progress_file.everybody(folder)
    if args.export:
        table = _exported(args.export, found, families_of(kb))
        give_file(args.export, table, "--export FILE", args.force)
    if args.exam_record:
        give_file(args.exam_record, _record(folder, args.trainee, kb), "--exam-record FILE", args.force)
    if args.overview:
        draw_overview(screen, found, families_of(kb), today())
    for path in filter(None, (args.export, args.exam_record)):
        screen.line(say("practice.kept", path=path))
    for says in wrong:
        screen.pair(say("practice.not_used"), says)
    return 0


def _exported(path: Path, found: list[Progress], families: dict[str, str]) -> bytes:
    """JSON for a file named so, else comma separated."""
    table = practised(found, families)
    if path.suffix == ".json":
        return json.dumps({"schema": 1, "exercises": table.records()}, ensure_ascii=False, indent=1).encode()
    return csv_text(table).encode()


def _record(folder: Path, trainee: str, kb: KnowledgeBase) -> bytes:
    sat = sittings(progress_file.load(folder, trainee)[0])
    if not sat:
        raise VisitError(say("practice.no_exam", trainee=trainee))
    return exam_page(exam_record(sat[-1], families_of(kb)))
