"""Draws what a session core says: a check, its help, why it is asked, what is likely."""

from diagnose.calc.unit_table import BASES
from diagnose.core.reason import Conclusion, Reasoner, open_groups
from diagnose.model.knowledge import Check, Contradiction, KnowledgeBase
from diagnose.model.visit import Answer
from diagnose.session.doubts import Doubt
from diagnose.session.parse import Parsed, options_of
from diagnose.session.plain_facts import LAMP
from diagnose.session.state import Session
from diagnose.session.summary import cautions_for, in_words, state_says, why_this_check
from diagnose.session.wording import WHY_WORDS, answer_says, ask_text, origin_says
from diagnose.terminal.screen import Screen

COMMANDS = {
    "help": "how to do this check, what is good, what is bad",
    "why": "why this check, and what each answer would change",
    "likely": "what is likely so far, and how that came about",
    "workings": "the same with every calculation and rule behind it",
    "back": "take the last answer back",
    "change": "change an earlier answer: 'change 3'",
    "answers": "everything answered so far",
    "done": "stop asking and conclude now",
    "leave": "save and leave; 'diagnose resume' goes on here",
}
WITHOUT_ANSWER = {
    "?": "don't know; after an answer ('2?'): not sure of it",
    "cannot": "can't check this here",
    "skip": "leave this one out",
}
LEADERS = 2  # shown for each possible answer


def draw_before(
    screen: Screen, kb: KnowledgeBase, session: Session, check: Check, new_cautions: tuple[str, ...]
) -> None:
    """What comes before a check: its cautions, and the set-up it needs when that is still to be paid for."""
    screen.line()
    group = kb.access.get(check.access)
    for caution in new_cautions:
        screen.hanging("CAUTION  ", kb.cautions[caution].says, "bold yellow")
    if group and group.id not in open_groups(kb, session.given):
        screen.line(f"First: {group.says} (about {group.minutes:g} min).")


def draw_question(screen: Screen, kb: KnowledgeBase, session: Session, check: Check) -> None:
    """A check, its minutes and its numbered answers; the question once more where they fill a small screen."""
    mark = screen.written
    draw_question_line(screen, session, check)
    if session.setup.role == "help_desk" and check.stand:
        screen.hanging("   ", f"Have them stand {check.stand}.")
    facts = [f"{check.minutes:g} min", *(kb.tools[t] for t in check.tools)]
    screen.hanging("   ", "; ".join(facts), "dim")
    screen.numbered(options_of(check, session.setup.role == "help_desk").values())
    if check.kind == "quantity":
        base = BASES[check.unit]
        screen.hanging("   ", f"In {base.wanted}, for example {base.example}", "dim")
    if screen.out_of_sight(mark):
        draw_question_line(screen, session, check)


def draw_question_line(screen: Screen, session: Session, check: Check) -> None:
    """Only the question, with its number."""
    asked = [*(a.check for a in session.given), check.id]
    screen.hanging(f"{asked.index(check.id) + 1}. ", ask_text(check, session.setup.role), "bold")


def draw_help(screen: Screen, kb: KnowledgeBase, session: Session, check: Check) -> None:
    """How to do the check, what good and bad look like, its cautions, this device's lamps and the source."""
    screen.heading("How to do this check")
    screen.line(check.help)
    screen.pair("Good", check.good)
    screen.pair("Bad", check.bad)
    for caution in cautions_for(kb, check):
        screen.pair("Caution", kb.cautions[caution].says)
    if "lamp" in check.ask.casefold():
        for name, says in session.setup.profile.items():
            if name.startswith(LAMP):
                screen.pair(f"This device's {name.removeprefix(LAMP)} lamp", str(says))
    screen.pair("Source", kb.sources[check.source].cite)
    screen.line("('help' again: what else you can type)")


def draw_commands(screen: Screen) -> None:
    """Every word that can be typed instead of an answer."""
    screen.heading("You can type")
    for word, says in {**WITHOUT_ANSWER, **COMMANDS}.items():
        screen.hanging(f"  {word:8} ", says)


def draw_understood(screen: Screen, session: Session, check: Check, parsed: Parsed) -> None:
    """What an answer was taken for, with any assumption."""
    says = answer_says(check, Answer(check.id, parsed.value, parsed.sure), session.setup.role)
    screen.hanging("   = ", says + (f" ({parsed.note})" if parsed.note else ""))


def draw_doubt(screen: Screen, session: Session, doubt: Contradiction) -> None:
    """Answers that cannot all be right, and which ones to look at again."""
    numbers = [n for n, a in enumerate(session.given, start=1) if a.check in doubt.recheck]
    again = " or ".join(f"'change {n}'" for n in numbers)
    screen.hanging("CHECK  ", doubt.says + (f" Look again: {again}." if again else ""), "bold yellow")


def draw_misfit(screen: Screen, kb: KnowledgeBase, session: Session, misfit: Doubt) -> None:
    """The one answer that fits the others so badly that it is worth looking at again."""
    number = next((n for n, a in enumerate(session.given, start=1) if a.check == misfit.check), 0)
    if number:
        question = ask_text(kb.checks[misfit.check], session.setup.role)
        says = f"'{question}' does not fit the other answers (wrong with {misfit.wrong:.0%} by the numbers)."
        screen.hanging("CHECK  ", f"{says} Look again: 'change {number}'.", "bold yellow")


def draw_why(screen: Screen, reasoner: Reasoner, conclusion: Conclusion) -> None:
    """Why the proposed check is asked: what it saves and what each answer would leave."""
    step, kb = conclusion.next, reasoner.kb
    screen.heading("Why this check" if step.check else "Why stop here")
    screen.line(WHY_WORDS[step.why])
    if step.gain is None:
        return
    gain = step.gain
    finding = kb.findings[gain.option.finding]
    screen.line(
        f"It costs about {gain.minutes:g} min and is expected to save {gain.saves:.0f} min of repair work; "
        f"it tells {gain.bits:.2f} bit. It separates causes by: {finding.says}."
    )
    for prospect in why_this_check(reasoner, conclusion):
        leaders = ", ".join(f"{kb.causes[c].says} {p:.0%}" for c, p in prospect.leaders[:LEADERS])
        screen.hanging(
            " - ", f"{state_says(kb, finding.id, prospect.state)} ({prospect.probability:.0%}): then {leaders}"
        )


def draw_likely(screen: Screen, reasoner: Reasoner, conclusion: Conclusion, most: int = 5) -> None:
    """The leading causes with a bar each."""
    screen.heading("Likely so far")
    for cause, probability in conclusion.belief.ranked()[:most]:
        screen.hanging(f"{bar(probability, 10)} ", f"{reasoner.kb.causes[cause].says}: {in_words(probability)}")


def bar(probability: float, size: int) -> str:
    """A bar of ASCII marks, readable aloud as its length."""
    full = round(probability * size)
    return "[" + "#" * full + "." * (size - full) + "]"


def draw_answers(screen: Screen, kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> None:
    """Everything answered so far, numbered for 'change', with what calculations made of it."""
    screen.heading("Answers so far")
    screen.hanging("  0. ", f"Complaint: {kb.complaints[session.complaint].says}")
    for number, answer in enumerate(session.given, start=1):
        check = kb.checks[answer.check]
        mark = " (no longer counted)" if answer.check in conclusion.stale else ""
        origin = origin_says(answer, session.setup.role)
        says = answer_says(check, answer, session.setup.role) + (f" [{origin}]" if origin else "") + mark
        screen.hanging(f"{number:3d}. ", f"{ask_text(check, session.setup.role)} - {says}")
    for outcome in conclusion.known.outcomes.values():
        screen.hanging("Computed: ", outcome.says)
