"""Draws the conclusion: ranked causes with evidence, test, remedy, proof, cautions; or whom to call."""

from collections.abc import Collection

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.session.state import Session
from diagnose.session.summary import NOTICEABLE_DECIBANS, STANDS_OUT, Ranked, Summary, in_words, state_says, summarise
from diagnose.session.wording import WHO, WHY_WORDS, answer_says, ask_text
from diagnose.terminal.draw import bar
from diagnose.terminal.fit import draw_fit
from diagnose.terminal.screen import Screen

DETAILED = 2  # causes shown in full; the rest on one line


def draw_conclusion(
    screen: Screen, reasoner: Reasoner, session: Session, conclusion: Conclusion, told: Collection[str] = ()
) -> None:
    """The whole result of a visit so far; `told` are the stop-work orders shown in full before."""
    kb, summary = reasoner.kb, summarise(reasoner, session, conclusion)
    draw_stop_work(screen, kb, conclusion, told)
    unfinished = bool(conclusion.next.check) and not session.concluded
    screen.heading("So far" if unfinished else "Conclusion")
    if conclusion.next.check:
        screen.line("Not concluded: more would be asked." if unfinished else "You asked to conclude.")
    else:
        screen.line(WHY_WORDS[conclusion.next.why])
    draw_fit(screen, kb, session, conclusion)
    if summary.outside:
        draw_escalation(screen, kb, session, summary)
    if summary.designed:
        screen.line("The sensor seems to do what it was set up to do. Show the site why before changing anything.")
    if summary.ranked[0].probability < STANDS_OUT:
        screen.line("Nothing stands out yet. Prove a cause by its test before any remedy, or go on asking.", "bold")
    if session.setup.role == "help_desk":
        screen.line("Tests and remedies are for whoever may do them on site, not for the caller.", "bold")
    cautioned: set[str] = set()
    for number, ranked in enumerate(summary.ranked, start=1):
        full = number <= DETAILED and ranked.cause.id != kb.settings.outside_cause
        _draw_ranked(screen, kb, number, ranked, cautioned if full else None)
    _draw_order(screen, kb, summary)
    screen.line()
    screen.line(
        "This is decision support, not a conformity statement. Local codes and licensed practice decide. "
        "Prove every protective function again after any change."
    )


def draw_stop_work(screen: Screen, kb: KnowledgeBase, conclusion: Conclusion, shown: Collection[str] = ()) -> None:
    """Every stop-work order that rules raised: in full unless it was `shown` before and is confirmed since."""
    for order in conclusion.stands:
        caution, confirmed = kb.cautions[order], order not in conclusion.stop_work
        if confirmed and order in shown:
            says = caution.says.removeprefix("STOP WORK: ").partition(". ")[0].rstrip(".")
            screen.line()
            screen.hanging("!! ", f"Stop-work still stands: {says}.", "bold red")
        else:
            open_still = [] if confirmed else ["NOT CONFIRMED SAFE YET."]
            screen.alarm([caution.says, f"Tell: {caution.tell}", f"Tag: {caution.tag}", *open_still])


def draw_escalation(screen: Screen, kb: KnowledgeBase, session: Session, summary: Summary) -> None:
    """What to pass on when nothing on the list fits."""
    screen.line("This does not look like anything on the list. Do not replace parts on a guess.", "bold")
    screen.line("Pass on to a specialist, with this summary:")
    screen.hanging(" - ", f"Complaint: {kb.complaints[session.complaint].says}")
    if session.words:
        screen.hanging(" - ", f"In the site's words: {session.words}")
    for answer in session.given:
        if answer.says_something:
            check = kb.checks[answer.check]
            screen.hanging(
                " - ", f"{ask_text(check, session.setup.role)} - {answer_says(check, answer, session.setup.role)}"
            )
    fitting = ", ".join(f"{r.cause.says} ({r.probability:.0%})" for r in summary.ranked[1:3])
    if fitting:
        screen.hanging(" - ", f"Nearest on the list: {fitting}")


def _draw_ranked(screen: Screen, kb: KnowledgeBase, number: int, ranked: Ranked, told: set[str] | None) -> None:
    """In full with the cautions already `told` cut short; only the test when `told` is None."""
    cause = ranked.cause
    screen.line()
    screen.hanging(f"{number}. ", f"{cause.says} - {in_words(ranked.probability)}", "bold")
    screen.line(f"   {bar(ranked.probability, 20)}", "dim")
    if told is None:
        screen.hanging("   ", f"Test: {cause.test}")
        return
    screen.hanging("   ", cause.explain)
    _draw_evidence(screen, kb, ranked)
    screen.hanging("   Test: ", cause.test)
    _draw_cautions(screen, kb, cause, told)
    _draw_remedy(screen, kb, cause)
    screen.hanging("   Proof: ", f"{cause.proof} (about {cause.proof_minutes:g} min)")
    screen.hanging("   Source: ", kb.sources[cause.source].cite, "dim")


def _draw_evidence(screen: Screen, kb: KnowledgeBase, ranked: Ranked) -> None:
    rival = kb.causes[ranked.rival].says
    for word, sign in (("For", 1), ("Against", -1)):
        shown = [w for w in ranked.evidence if w.decibans * sign >= NOTICEABLE_DECIBANS][:4]
        for weight in shown:
            says = f"{kb.findings[weight.finding].says}: {state_says(kb, weight.finding, weight.state)}"
            screen.hanging(f"   {word}: ", f"{says} ({weight.decibans:+.0f} dB)")
    screen.hanging("   ", f"(evidence weighed against: {rival})", "dim")


def _draw_cautions(screen: Screen, kb: KnowledgeBase, cause: Cause, told: set[str]) -> None:
    """Of the access group, the cause and its remedy; in full the first time."""
    access = kb.access[cause.remedy.access].cautions if cause.remedy.access else ()
    for caution in dict.fromkeys((*access, *cause.cautions, *cause.remedy.cautions)):
        says = kb.cautions[caution].says
        short = f"as above: {says.partition('. ')[0].rstrip('.')}."
        screen.hanging("   CAUTION  ", short if caution in told else says, "bold yellow")
        told.add(caution)


def _draw_remedy(screen: Screen, kb: KnowledgeBase, cause: Cause) -> None:
    remedy = cause.remedy
    access = f", after: {kb.access[remedy.access].says}" if remedy.access else ""
    screen.hanging("   Remedy: ", f"about {remedy.minutes:g} min, {WHO[remedy.who]}{access}")
    screen.steps(remedy.steps)
    if remedy.parts:
        screen.hanging("   Parts: ", "; ".join(remedy.parts))
    for touched in remedy.touches:
        screen.hanging("   Afterwards: ", kb.proofs[touched].says)


def _draw_order(screen: Screen, kb: KnowledgeBase, summary: Summary) -> None:
    for causes, probability in summary.pairs[:2]:
        both = " AND ".join(kb.causes[c].says for c in causes)
        screen.hanging("Two faults at once: ", f"{both} ({probability:.0%})")
    if len(summary.order) > 1:
        screen.line()
        screen.line("Try the remedies in this order (most likely per minute first), and prove each:")
        screen.steps(
            f"{kb.causes[c].says} ({kb.causes[c].remedy.minutes + kb.causes[c].proof_minutes:g} min)"
            for c in summary.order[:4]
        )
        screen.hanging(f"   {min(len(summary.order), 4) + 1}. ", "call the specialist")
