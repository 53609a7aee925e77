"""`diagnose practice`: an invented faulty gate to work on, with a coach; and what a trainer needs."""

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from diagnose.cli import practice_trainer
from diagnose.cli.parser import force_option
from diagnose.cli.shared import knowledge_of, screen_of, sensors_of
from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice import exercise_file, progress_file
from diagnose.practice.case_file import PracticeCase, check_case, gate_of, load_case
from diagnose.practice.debrief import debrief
from diagnose.practice.entries import Drawn, ExerciseFile
from diagnose.practice.exam import GATES, exam_gate, next_gate, sittings
from diagnose.practice.exercise import replayed
from diagnose.practice.exercise_file import EXERCISES, VISITS
from diagnose.practice.gate import Gate
from diagnose.practice.ladder import AGAIN, EXAM, Lesson
from diagnose.practice.lessons import drawn_for, families_of, lesson_named, practice_reasoner, today
from diagnose.practice.moves import Move
from diagnose.practice.progress import Progress
from diagnose.present.debrief import review_of
from diagnose.present.exam import exam_record
from diagnose.terminal.ask import Asker
from diagnose.terminal.first_lesson import FirstLesson
from diagnose.terminal.practice import Practice
from diagnose.terminal.practice_draw import draw_debrief
from diagnose.terminal.practice_overview import draw_exam, draw_trainee
from diagnose.terminal.reader import choose_reader
from diagnose.terminal.screen import Screen
from diagnose.words import say


def add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--trainee", default="me", metavar="NAME", help=say("cli.practice_trainee"))
    parser.add_argument("--lesson", default="", metavar="NAME", help=say("cli.practice_lesson"))
    parser.add_argument("--first", action="store_true", help=say("cli.practice_first"))
    parser.add_argument("--family", default="", metavar="FAMILY", help=say("cli.practice_family"))
    parser.add_argument("--sensors", default=argparse.SUPPRESS, metavar="KINDS", help=say("cli.kinds"))
    parser.add_argument("--seed", type=int, default=None, metavar="N", help=say("cli.practice_seed"))
    parser.add_argument("--case", type=Path, default=None, metavar="FILE", help=say("cli.practice_case"))
    parser.add_argument("--unaided", action="store_true", help=say("cli.practice_unaided"))
    parser.add_argument("--overview", action="store_true", help=say("cli.practice_overview"))
    parser.add_argument("--check", nargs="+", type=Path, default=[], metavar="FILE", help=say("cli.practice_check"))
    parser.add_argument("--again", type=Path, default=None, metavar="FILE", help=say("cli.practice_again"))
    parser.add_argument("--same", type=Path, default=None, metavar="FILE", help=say("cli.practice_same"))
    parser.add_argument("--exam", action="store_true", help=say("cli.practice_exam"))
    parser.add_argument("--exam-record", type=Path, default=None, metavar="FILE", help=say("cli.practice_record"))
    parser.add_argument("--export", type=Path, default=None, metavar="FILE", help=say("cli.practice_export"))
    force_option(parser)
    parser.add_argument("--folder", default="", metavar="FOLDER", help=say("cli.practice_folder"))


def run(args: argparse.Namespace) -> int:
    """An exercise; or the overview, the check of cases, an exercise played again."""
    reasoner = practice_reasoner(knowledge_of(args))
    if args.overview or args.export or args.exam_record:
        return practice_trainer.run(args, reasoner.kb)
    if args.check:
        return _check(reasoner, args.check)
    if args.first:
        _first(reasoner, screen_of(args), args.plain)
        return 0
    if args.again:
        return _again(args, reasoner)
    return _exercise(args, reasoner)


def _check(reasoner: Reasoner, paths: Sequence[Path]) -> int:
    problems = [says for path in paths for says in check_case(reasoner, path)]
    print(*problems, sep="\n") if problems else print(say("practice.no_problems", n=len(paths)))
    return 1 if problems else 0


def _again(args: argparse.Namespace, reasoner: Reasoner) -> int:
    """What came of an exercise; one that was cut off is gone on with first."""
    screen, kept = screen_of(args), exercise_file.load(reasoner, args.again)
    if kept.says:
        screen.line(kept.says, "bold")
    gate, moves = kept.recording.gate, kept.recording.moves
    if kept.drawn and not kept.counted:
        with exercise_file.reopened(args.again) as file:
            return _finish(args, reasoner, screen, kept.drawn, gate, moves, file)
    seen = debrief(reasoner, gate, moves)
    draw_debrief(screen, review_of(reasoner, gate.truth, replayed(reasoner, gate, moves), seen))
    return 0


def _first(reasoner: Reasoner, screen: Screen, plain: bool) -> None:
    """The first lesson, with the half-worked gate at its end; what is done there counts for nothing."""
    reader = choose_reader(plain)
    begun = FirstLesson(reasoner, screen, Asker(screen, reader)).run()
    if begun is None:
        return
    play = Practice(reasoner, begun.gate, screen, reader, begun=begun)
    gate, end = begun.gate, play.run()
    draw_debrief(screen, review_of(reasoner, gate.truth, end, debrief(reasoner, gate, play.moves)))
    screen.line(say("practice.first_done"))


@dataclass(frozen=True, slots=True)
class _Given:
    """What is worked on: the gate, the lesson it counts for, and the trainer's case where it is one."""

    gate: Gate
    lesson: Lesson
    case: PracticeCase | None = None


def _given(args: argparse.Namespace, reasoner: Reasoner, progress: Progress, screen: Screen) -> _Given:
    """Raises DiagnoseError."""
    if args.case:
        case = load_case(args.case)
        return _Given(gate_of(reasoner, case), case.lesson, case)
    if args.same:
        return _Given(exercise_file.load(reasoner, args.same).recording.gate, AGAIN)
    if args.exam:
        screen.line(say("practice.exam_begins", number=next_gate(progress), of=GATES))
        lesson, gate = exam_gate(reasoner, progress, args.seed)
        return _Given(gate, lesson)
    if not progress.worked:
        screen.line(say("practice.new_here"))
    group, _ = progress_file.everybody(progress_file.practice_folder(args.folder))
    lesson = lesson_named(args.lesson, progress, group)
    screen.line(say("practice.preparing", lesson=lesson.says))
    return _Given(drawn_for(reasoner, progress, lesson, args.seed, args.family, sensors_of(args)), lesson)


def _exercise(args: argparse.Namespace, reasoner: Reasoner) -> int:
    screen, folder = screen_of(args), progress_file.practice_folder(args.folder)
    progress, damage = progress_file.load(folder, args.trainee)
    if damage:
        screen.line(damage, "bold")
    if left := exercise_file.unfinished(folder / EXERCISES, args.trainee):
        screen.line(say("practice.cut_off", path=left))
    given = _given(args, reasoner, progress, screen)
    case, lesson = given.case, given.lesson
    told = (case.words, case.story) if case else ("", "")
    recipe = exercise_file.recipe_of(given.gate, reasoner.kb.digest)
    aided = lesson.aided and not args.unaided
    drawn = Drawn(recipe, args.trainee, lesson.id, lesson.hints, aided, *told)
    return _finish(args, reasoner, screen, drawn, given.gate, (), None)


def _finish(
    args: argparse.Namespace,
    reasoner: Reasoner,
    screen: Screen,
    drawn: Drawn,
    gate: Gate,
    moves: tuple[Move, ...],
    file: ExerciseFile | None,
) -> int:
    """From the moves on that are made already, every further one on disk at once; then what came of it."""
    folder = progress_file.practice_folder(args.folder)
    keeping, reader = exercise_file.Keeping(folder / EXERCISES, drawn, file), choose_reader(args.plain)
    begun = replayed(reasoner, gate, moves)
    play = Practice(reasoner, gate, screen, reader, drawn.hints, drawn.aided, begun, keeping.move)
    end = play.run(drawn.words)
    if not keeping.file:
        return 0
    seen = debrief(reasoner, gate, play.moves)
    draw_debrief(screen, review_of(reasoner, gate.truth, end, seen))
    if drawn.story:
        screen.pair(say("practice.story"), drawn.story)
    with keeping.file as written:
        progress = exercise_file.count(folder, reasoner.kb, gate, end, seen, drawn, written)
    screen.line(say("practice.kept", path=written.path))
    screen.line(say("practice.see_again", path=written.path, name=written.path.stem, visits=folder / VISITS))
    _afterwards(screen, progress, drawn.lesson, reasoner.kb, folder)
    return 0


def _afterwards(screen: Screen, progress: Progress, lesson: str, kb: KnowledgeBase, folder: Path) -> None:
    """How the examination stands, or what comes next on the ladder."""
    if lesson == EXAM.id:
        draw_exam(screen, exam_record(sittings(progress)[-1], families_of(kb)))
    else:
        draw_trainee(screen, progress, families_of(kb), today(), progress_file.everybody(folder)[0])
