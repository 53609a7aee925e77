"""One line of words -> the devices at a gate: 'laser over the entry opens, loop closes, photo-eye protects'."""

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, count, dropwhile

from diagnose.errors import AnswerError
from diagnose.model.gear import JOBS, MOST, Device, Gear, slug
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.grounds import unfit_gear
from diagnose.session.parse import spoken_for
from diagnose.words import say

BETWEEN = re.compile(r"[,;\n]+|\.(?=\s|$)")  # devices; 2.5 m is one length
NOT_A_WORD = re.compile(r"[^\w]+")


def read_gear(kb: KnowledgeBase, line: str) -> Gear:
    """The devices in the order named, one between two commas or stops. Raises AnswerError at what is not understood.

    Of each part the words for a job at its end are what it does, all before them its name, which says its kind or is
    followed by the kind in brackets. Two of one name are told apart by a number.
    """
    parts = [part for each in BETWEEN.split(line) if (part := _without_small_words(each))]
    gear = tuple(_apart([_device(kb, part) for part in parts[: MOST + 1]]))
    if no := unfit_gear(kb, gear):
        raise AnswerError(no.says)
    return gear


def names_jobs(kb: KnowledgeBase, line: str) -> bool:
    """Whether the line names devices, and of each what it does."""
    try:
        return all(device.jobs for device in read_gear(kb, line))
    except AnswerError:
        return False


def _without_small_words(part: str) -> str:
    """The part from its first word that may begin a name."""
    small = spoken_for("session.words_before_name")
    return " ".join(dropwhile(lambda word: word.casefold() in small, part.split()))


def gear_says(kb: KnowledgeBase, gear: Gear) -> str:
    """The devices in a line that reads back as the same."""
    return ", ".join(device_says(kb, d) for d in gear)


def device_says(kb: KnowledgeBase, device: Device) -> str:
    """A device in words that read back as the same: its name, its kind where the name does not say it, its jobs."""
    jobs = [spoken_for(f"session.words_{job}")[0] for job in device.jobs]
    kind = [] if _kind(kb, device.name) == device.kind else [f"({device.kind.replace('_', ' ')})"]
    return " ".join([device.name, *kind, *jobs])


def _device(kb: KnowledgeBase, part: str) -> Device:
    in_brackets, outside = re.findall(r"\(([^)]*)\)", part), re.sub(r"\([^)]*\)", " ", part).split()
    name, jobs = _name_and_jobs(outside)
    kind = _kind(kb, " ".join(in_brackets)) or _kind(kb, name)
    if not kind:
        raise AnswerError(say("session.which_kind", part=part.strip()[:60], known=", ".join(kb.devices.values())))
    return Device(name or kb.devices[kind], kind, jobs)


def _name_and_jobs(words: list[str]) -> tuple[str, tuple[str, ...]]:
    """Words for a job count at the end only: a closing loop may open."""
    name, jobs = list(words), set[str]()
    while name:
        word = name[-1].casefold()
        job = next((job for job in JOBS if word in spoken_for(f"session.words_{job}")), "")
        if not job and word not in spoken_for("session.words_between"):
            break
        jobs |= {job}
        name.pop()
    return " ".join(name), tuple(job for job in JOBS if job in jobs)


def _kind(kb: KnowledgeBase, text: str) -> str:
    """The kind that the text speaks of first: a laser over the loop is a laser. '' where it speaks of none."""
    found = [(at, kind) for kind in kb.kinds for word in _called(kb, kind) if (at := _place(word, text)) >= 0]
    return min(found, default=(0, ""))[1]


def _called(kb: KnowledgeBase, kind: str) -> Iterator[str]:
    """What a kind is called: its id, what field cases call it, its trade words, and those words of its name that no
    other kind's name has."""
    record = kb.kinds[kind]
    yield from (kind, record.in_cases, *record.jargon)
    others = {w for k, other in kb.kinds.items() if k != kind for w in _words(f"{k} {other.says} {other.in_cases}")}
    common = {*others, *_words(say("session.words_no_kind"))}
    yield from (w for w in _words(f"{record.says} {record.in_cases}") if len(w) > 2 and w not in common)


def _words(text: str) -> list[str]:
    return [w for w in NOT_A_WORD.sub(" ", text.casefold().replace("_", " ")).split() if w]


def _place(word: str, text: str) -> int:
    """Where the words stand in the text, whole or in the plural; -1 where they do not."""
    wanted, there = _words(word), _words(text)
    for at in range(len(there) - len(wanted) + 1) if wanted else ():
        *before, last = there[at : at + len(wanted)]
        if before == wanted[:-1] and last in (wanted[-1], f"{wanted[-1]}s"):
            return at
    return -1


def _apart(devices: list[Device]) -> Iterator[Device]:
    taken = set[str]()
    for device in devices:
        names = chain([device.name], (f"{device.name} {number}" for number in count(2)))
        found = replace(device, name=next(name for name in names if slug(name) not in taken))
        taken.add(found.key)
        yield found
