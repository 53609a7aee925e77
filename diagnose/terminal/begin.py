"""The few questions before the first check: who asks, which sensors, what is wrong."""

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from functools import partial

from diagnose.model.gear import Gear
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Role
from diagnose.session.events import Begin
from diagnose.session.gear_words import gear_says, names_jobs
from diagnose.session.match import by_commonness, complains, match_complaint
from diagnose.session.parse import number_of
from diagnose.session.regear import geared
from diagnose.session.wording import places
from diagnose.terminal.ask import Asker, GoBack
from diagnose.terminal.gear import gear_in
from diagnose.words import say


class SaidComplaint(Exception):
    """What is wrong was told at a question for something else."""


SPACES = r"[\s,;+&]+"  # between kinds of sensor


def ask_begin(kb: KnowledgeBase, draft: Begin, known: Collection[str], ask: Asker, before: Gear = ()) -> Begin:
    """Ask what is not known yet; `known` names what options already settled: role, devices. Raises Leave.

    `before`: the devices that an earlier visit to the site named, which Enter takes.
    """
    if "devices" not in known:
        draft = replace(draft, setup=replace(draft.setup, gear=before))
    questions = [question for name, question in _QUESTIONS.items() if name not in known]
    drafts = [draft]
    while len(drafts) <= len(questions):
        try:
            drafts.append(questions[len(drafts) - 1](kb, drafts[-1], ask))
        except GoBack:
            words, drafts = drafts[-1].words, drafts[: max(1, len(drafts) - 1)]
            drafts[-1] = replace(drafts[-1], words=words)
        except SaidComplaint as said:
            drafts[-1] = replace(drafts[-1], words=". ".join(filter(None, (drafts[-1].words, str(said)))))
            ask.screen.line(say("terminal.complaint_kept"))
    return drafts[-1]


def _unless_complaint(kb: KnowledgeBase, typed: str) -> None:
    """Raises SaidComplaint where the line tells what is wrong."""
    if complains(kb, typed):
        raise SaidComplaint(typed)


def _role(kb: KnowledgeBase, draft: Begin, ask: Asker) -> Begin:
    ask.screen.line()
    ask.screen.line(say("terminal.where"), "bold")
    role = ask.choose(places(), say("terminal.where_help"), partial(_unless_complaint, kb))
    place: Role = "help_desk" if role == "help_desk" else "technician"
    return replace(draft, setup=replace(draft.setup, role=place, electrician=role == "electrician"))


def _devices(kb: KnowledgeBase, draft: Begin, ask: Asker) -> Begin:
    ask.screen.line()
    ask.screen.line(say("terminal.which_sensors"), "bold")
    ask.screen.numbered(kb.devices.values())
    ask.screen.line(say("terminal.name_them"))
    if draft.setup.gear:
        ask.screen.hanging(f"{say('terminal.gear_before')} ", gear_says(kb, draft.setup.gear))
    while True:
        typed = ask.said(say("terminal.sensors_help"), list(kb.devices))
        if not typed and draft.setup.gear:
            return replace(draft, setup=geared(draft.setup))
        words = [] if typed == "?" else [word for word in re.split(SPACES, typed) if word]
        chosen = [_named(word, kb.devices) for word in words]
        if all(chosen):
            devices = tuple(d for d in kb.devices if d in chosen)
            ask.screen.hanging("   = ", ", ".join(kb.devices[d] for d in devices) or say("present.not_known"))
            return replace(draft, setup=replace(draft.setup, devices=devices, gear=()))
        if all(found or word.isdigit() for found, word in zip(chosen, words, strict=True)):
            ask.screen.line(say("terminal.sensors_please", most=len(kb.devices)))
            continue
        if not names_jobs(kb, typed):  # 'overhead laser protects' sounds like a complaint too
            _unless_complaint(kb, typed)
        if gear := gear_in(kb, typed, ask):
            return replace(draft, setup=geared(draft.setup, gear))


def _named(word: str, devices: Mapping[str, str]) -> str:
    """The id of the sensor kind meant by a number, an id or the beginning of one word of its name, or ''."""
    if number := number_of(word, len(devices)):
        return list(devices)[number - 1]
    lowered = word.casefold()
    begins = re.compile(rf"(?<!\w){re.escape(lowered)}")
    hits = [d for d, says in devices.items() if begins.search(says.casefold()) or d == lowered]
    return lowered if lowered in devices else hits[0] if len(hits) == 1 else ""


def _complaint(kb: KnowledgeBase, draft: Begin, ask: Asker) -> Begin:
    complaint, words = ask_complaint(kb, ask, draft.words)
    return replace(draft, complaint=complaint, words=words)


def ask_complaint(kb: KnowledgeBase, ask: Asker, said: str = "") -> tuple[str, str]:
    """(complaint id, the words it was said in or ''); `said` are words that came before. Raises Leave, GoBack."""
    names, words = by_commonness(kb), said
    ask.screen.line()
    ask.screen.line(say("terminal.what_is_wrong"), "bold")
    if not match_complaint(kb, said):
        said = ""
        _list_all(kb, names, ask)
    while True:
        typed, said = said or ask.said(say("terminal.complaint_help"), names), ""
        if chosen := _picked(typed, names):
            ask.screen.hanging("   = ", kb.complaints[chosen].says)
            return chosen, words
        if matches := match_complaint(kb, typed):
            names, words = matches, typed
            ask.screen.line(say("page.which_fits"), "bold")
            ask.screen.numbered(kb.complaints[n].says for n in names)
            ask.screen.line(say("terminal.fits_how"))
        elif typed:
            ask.screen.line(say("terminal.nothing_like_that", most=len(names)))
        else:
            names = by_commonness(kb)
            _list_all(kb, names, ask)


def _list_all(kb: KnowledgeBase, names: list[str], ask: Asker) -> None:
    """Every complaint, shortly where the screen is small; what may be typed stands last, beside the prompt."""
    said = [kb.complaints[n] for n in names]
    full = [c.says for c in said]
    ask.screen.numbered(full if ask.screen.has_room(full) else [c.short or c.says for c in said])
    ask.screen.line(say("terminal.say_it"), "bold")


def _picked(typed: str, names: list[str]) -> str:
    number = number_of(typed, len(names))
    return names[number - 1] if number else typed.casefold() if typed.casefold() in names else ""


_QUESTIONS: Mapping[str, Callable[[KnowledgeBase, Begin, Asker], Begin]] = {
    "role": _role,
    "devices": _devices,
    "complaint": _complaint,
}
