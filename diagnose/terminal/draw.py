"""Lays out what a visit shows while it asks: a check, its help, notices, why, what is likely, the answers."""

from collections.abc import Iterable

from diagnose.model.knowledge import Check
from diagnose.model.visit import Answer, Role
from diagnose.present.answers import Answers
from diagnose.present.cautions import Cautions, SaidCaution
from diagnose.present.explained import ExplainedCause
from diagnose.present.notices import Doubt, Order
from diagnose.present.question import Help, Question
from diagnose.present.reasons import Likely, Why, Workings
from diagnose.present.strip import Strip
from diagnose.session.parse import Parsed
from diagnose.session.wording import answer_says
from diagnose.terminal.commands import COMMANDS, EVERY, UNLESS_ANSWER, WITHOUT_ANSWER, told, word
from diagnose.terminal.screen import Screen
from diagnose.words import say


def draw_before(screen: Screen, question: Question) -> None:
    """What comes before a check: its cautions, and the set-up it needs when that is still to be paid for."""
    draw_cautions(screen, question.cautions)
    if question.first:
        screen.line(question.first)


def draw_cautions(screen: Screen, cautions: Cautions) -> None:
    """Those of this step in one block; general ones below it, once a visit."""
    draw_box(screen, cautions.special)
    if cautions.general:
        screen.line(say("present.general_cautions"), "dim")
        bullets(screen, (c.says for c in cautions.general))


def draw_box(screen: Screen, cautions: Iterable[SaidCaution]) -> None:
    for caution in cautions:
        screen.hanging(f"{say('present.caution')}  ", caution.says, "bold yellow")


def draw_all_cautions(screen: Screen, cautions: Iterable[SaidCaution]) -> None:
    """Every caution of the visit so far."""
    screen.heading(say("present.all_cautions"))
    bullets(screen, [c.says for c in cautions] or [say("present.no_cautions")])


def draw_question(screen: Screen, question: Question) -> None:
    """A check, its minutes and its numbered answers; the question once more where they fill a small screen."""
    mark = screen.written
    draw_question_line(screen, question)
    if question.stand:
        screen.hanging("   ", question.stand)
    screen.hanging("   ", "; ".join(question.costs), "dim")
    screen.numbered(question.options.values())
    if question.reading:
        screen.hanging("   ", question.reading.says, "dim")
    if screen.out_of_sight(mark):
        draw_question_line(screen, question)


def draw_question_line(screen: Screen, question: Question) -> None:
    """Only the question, with its number."""
    screen.hanging(f"{question.number}. ", question.asked, "bold")


def draw_help(screen: Screen, told: Help) -> None:
    """How to do the check, what good and bad look like, its cautions, this device's lamps and the source."""
    screen.heading(say("present.how_to"))
    screen.line(told.says)
    screen.pair(say("present.good"), told.good)
    screen.pair(say("present.bad"), told.bad)
    for caution in told.cautions:
        screen.pair(say("present.caution"), caution)
    for lamp, says in told.lamps:
        screen.pair(lamp, says)
    screen.pair(say("present.source"), told.source)
    screen.line(say("terminal.help_again", help=word("help")))


def draw_commands(screen: Screen, commands: Iterable[str] = (*WITHOUT_ANSWER, *COMMANDS, *UNLESS_ANSWER)) -> None:
    """Every word that can be typed; at a question all of them."""
    screen.heading(say("terminal.you_can_type"))
    for typed, says in told(commands):
        screen.hanging(f"  {typed:8} ", says)


def draw_at_end(screen: Screen) -> None:
    """What may be typed after a conclusion."""
    screen.line()
    screen.line(say("terminal.at_end", **{command: word(command) for command in EVERY}))


def draw_understood(screen: Screen, role: Role, check: Check, parsed: Parsed) -> None:
    """What an answer was taken for, with any assumption."""
    says = answer_says(check, Answer(check.id, parsed.value, parsed.sure, note=parsed.words), role)
    screen.hanging("   = ", says + (f" ({parsed.note})" if parsed.note else ""))


def draw_orders(screen: Screen, orders: Iterable[Order], shown: Iterable[str] = ()) -> None:
    """Every stop-work order: in full once; shortly where it was `shown` before, marked while it is not confirmed."""
    for order in orders:
        if order.confirmed and order.id in shown:
            screen.line()
            screen.hanging("!! ", say("present.still_stands", short=order.short), "bold red")
        elif order.id in shown:
            stands = say("present.still_stands", short=order.short)
            screen.alarm([say("present.stop_work"), stands, say("present.not_confirmed")])
        else:
            open_still = [] if order.confirmed else [say("present.not_confirmed")]
            told = [f"{say('present.tell')}: {order.tell}", f"{say('present.tag')}: {order.tag}"]
            screen.alarm([order.says, *told, *open_still])


def draw_doubt(screen: Screen, doubt: Doubt) -> None:
    """What does not fit, and which answers to look at again."""
    screen.hanging(f"{say('present.look_again')}  ", doubt.says, "bold yellow")
    for again in doubt.again:
        says = say("present.answered", asked=again.asked, said=again.said)
        screen.hanging(" - ", f"{says} ({word('change')} {again.number})")
    screen.hanging("   ", say("terminal.keep_or_change"), "dim")


def draw_why(screen: Screen, why: Why) -> None:
    """Why the next step is what it is: what it saves and what each answer would leave."""
    screen.heading(why.title)
    screen.line(why.says)
    if why.gain:
        screen.line(why.gain)
    bullets(screen, why.prospects)


def draw_likely(screen: Screen, likely: Iterable[Likely]) -> None:
    """The leading causes with a bar each."""
    screen.heading(say("present.likely_so_far"))
    for cause in likely:
        screen.hanging(f"{bar(cause.probability, 10)} ", f"{cause.says}: {cause.words}")


def bar(probability: float, size: int) -> str:
    """A bar of ASCII marks, readable aloud as its length."""
    full = round(probability * size)
    return "[" + "#" * full + "." * (size - full) + "]"


def draw_chain(screen: Screen, strips: Iterable[Strip]) -> None:
    """How the chain of each device and of the gate stands."""
    screen.heading(say("present.strips"))
    draw_strips(screen, strips)


def draw_strips(screen: Screen, strips: Iterable[Strip]) -> None:
    for strip in strips:
        screen.hanging(" - ", strip.says, "dim")


def draw_weights(screen: Screen, workings: Workings) -> None:
    """Weights of evidence of the leader against its runner-up, in the order asked."""
    screen.heading(say("present.how_it_led"))
    screen.line(workings.against)
    for row in (*workings.weights, workings.total):
        screen.hanging(f"{row.weight:>6}  ", row.says)


def draw_rules(screen: Screen, workings: Workings) -> None:
    """Every calculation and every rule that fired."""
    screen.heading(say("present.calculations_and_rules"))
    if not workings.computed and not workings.rules:
        screen.line(say("present.none_so_far"))
    draw_computed(screen, workings.computed)
    for rule in workings.rules:
        screen.hanging(f"{say('present.rule_label')}: ", rule)


def draw_computed(screen: Screen, computed: Iterable[str]) -> None:
    for says in computed:
        screen.hanging(f"{say('present.computed')}: ", says)


def draw_answers(screen: Screen, answers: Answers) -> None:
    """Everything answered so far, numbered for 'change', with what calculations made of it."""
    screen.heading(say("present.answers"))
    screen.hanging("  0. ", f"{say('present.complaint')}: {answers.complaint}")
    for given in answers.given:
        lost = "" if given.counted else f" ({say('present.not_counted')})"
        origin = f" [{given.origin}]" if given.origin else ""
        screen.hanging(f"{given.number:3d}. ", f"{given.asked} - {given.said}{origin}{lost}")
    bullets(screen, answers.aside)
    draw_computed(screen, answers.computed)


def bullets(screen: Screen, items: Iterable[str]) -> None:
    for text in items:
        screen.hanging(" - ", text)


def draw_explained(screen: Screen, cause: ExplainedCause) -> None:
    """A cause laid open: its ways along the chain, then every finding with what shows it below."""
    screen.heading(cause.says)
    bullets(screen, cause.ways)
    screen.heading(say("present.what_it_shows"))
    for line in cause.findings:
        screen.hanging("- ", f"{line.says}: {line.states}")
        screen.hanging("    ", line.by, "dim")
