"""What the points sheet of a field card settles at field cases. Run by hand, it is no test.

python -m tests.bench.field_card [--half judging] [--columns 12]

A player reads the printed sheet and nothing else: he looks at every row that his case answers, adds up, applies the
margin, and where it leaves two causes too close, does their deciding test once. He has the sheet of the complaint
that he would choose first and of the kind of sensor that the case is about. Of the judging half only figures are
printed.
"""

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial

from diagnose.cards.grow import Grower
from diagnose.cards.marks import MarkedCaution
from diagnose.cards.points import PointsSheet
from diagnose.cards.points_compose import PointsComposer
from diagnose.cards.weigh import COLUMNS
from diagnose.cases.model import FieldCase
from diagnose.cases.person import Person
from diagnose.cases.read import read_folder, shipped_cases
from diagnose.core.reason import Reasoner
from diagnose.core.rules import fixpoint
from diagnose.kb.cache import load_knowledge
from diagnose.kb.files import shipped_folder
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.report.card_back import back_fits

KINDS = {"laser_scanner": "laser", "inductive_loop": "loop", "safety_edge": "edge"}  # as case files call them


@dataclass(frozen=True, slots=True)
class OnPaper:
    """How one case went: the cause that was settled on ('' for none) and how, and whether its remedy mends a fault.

    `printed`: some column's remedy would; `led`: that of the cause with the most points would.
    """

    complaint: str
    cause: str
    by_margin: bool
    right: bool
    printed: bool
    led: bool
    looked: int


def played(kb: KnowledgeBase, case: FieldCase, complaint: str, sheet: PointsSheet) -> OnPaper:
    """The case by the printed sheet."""
    person = Person(kb, case, 1)
    person.on_site = True
    answers = {look.check: person.answer(kb.checks[look.check], {}).value for look in sheet.looks}
    totals = sheet.totals(answers)
    won = sheet.winner(totals)
    if not won and (test := sheet.decides(totals)):
        letter = test.speaks_for(person.answer(kb.checks[test.look.check], {}).value)
    else:
        letter = won
    causes = {c.letter: c.cause for c in sheet.columns}
    first = max((c for c in sheet.columns if c.cause), key=lambda c: totals[sheet.columns.index(c)])
    counted = sum(any(answers[look.check] in a.values for a in look.answers) for look in sheet.looks)
    return OnPaper(
        complaint,
        causes.get(letter, ""),
        bool(won),
        mends(case, causes.get(letter, "")),
        any(mends(case, c) for c in causes.values()),
        mends(case, first.cause),
        counted,
    )


def mends(case: FieldCase, cause: str) -> bool:
    return bool(cause) and any(case.mends(i, cause) for i in range(len(case.faults)))


def told(name: str, done: Sequence[OnPaper]) -> str:
    """One line of figures."""
    margin = [d for d in done if d.by_margin]
    tested = [d for d in done if d.cause and not d.by_margin]
    right, count = sum(d.right for d in done), len(done)
    return (
        f"{name:18} {count:3d} cases: settled rightly {right} ({right / count:.0%}); "
        f"by the margin {sum(d.right for d in margin)} of {len(margin)}, "
        f"by a deciding test {sum(d.right for d in tested)} of {len(tested)}; "
        f"most points {sum(d.led for d in done)}; among the columns {sum(d.printed for d in done)}; "
        f"rows that count {sum(d.looked for d in done) / count:.1f}"
    )


def results(kb: KnowledgeBase, half: str, columns: int) -> Iterator[OnPaper]:
    reasoner = Reasoner(kb, partial(fixpoint, kb))

    @cache
    def sheet(complaint: str, kind: str) -> PointsSheet:
        grower = Grower(reasoner, Setup("technician", False, None, (kind,)), complaint)
        composer = PointsComposer(grower, columns)
        front = tuple(MarkedCaution(f"!{n}", kb.cautions[c].says, False) for n, c in enumerate(composer.cautions, 1))
        return composer.beside({}, front).sheet(lambda sheet: back_fits(sheet, "a4"))

    for case in read_folder(shipped_cases()):
        if case.encoded and case.half == half:
            complaint, kind = case.encoded.complaints[0], KINDS.get(case.sensor_family, case.sensor_family)
            yield played(kb, case, complaint, sheet(complaint, kind))


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--half", choices=("learning", "judging"), default="learning")
    parser.add_argument("--columns", type=int, default=COLUMNS)
    args = parser.parse_args()
    done = list(results(load_knowledge(shipped_folder("knowledge")), args.half, args.columns))
    for complaint in sorted({d.complaint for d in done}):
        print(told(complaint, [d for d in done if d.complaint == complaint]))
    print(told(args.half, done))


if __name__ == "__main__":
    main()
