"""A field case as frozen records, which are also the schema of its file.

The prose is written first, by somebody who has not seen the knowledge; `encoded` turns it into answers, by reading
the checks, without sight of what the tool concludes. The two stay together in one file.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Literal

from diagnose.model.gear import JOBS, Device, plain, slug
from diagnose.model.gear import Gear as Devices

Words = tuple[str, ...]
Said = str | float | Mapping[str, float]  # an answer, or several that a reasonable person might give, with weights
Who = Literal["field_tech", "helpdesk_with_caller", "caller_no_tools"]
Half = Literal["learning", "judging"]
Kind = Literal["listed", "outside", "designed"]

START, RESTING, ON_SITE = "start", "resting", "on_site"
AFTER = ("after_1", "after_2")  # the first fault alone is mended; the second alone
SET_ASIDE = 80  # of 256: with the given cases never among them, about a quarter of the learning half
GIVEN = "FC"  # the cases that came with the first field findings
STATES = (START, RESTING, ON_SITE, *AFTER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gear:
    """One device on the site. `papers`: its contact logic and numbers, in words."""

    name: str
    kind: str
    job: Words
    place: str
    height_m: float | None = None
    papers: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """What the faults reach in a state: a check there is answered explicitly, or it is 'not encoded'.

    `devices` are sensor kinds, or 'gate'; `links` are families of the knowledge.
    """

    devices: Words
    links: Words


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseState:
    """What checks show in one state, by check or by check@device.

    `healthy` checks were thought about and show their normal answer; `nobody` can tell; `no_fit` keeps what the
    person would say where no answer of the check fits. Later states say only what differs from `start`.
    """

    touched: Touched | None = None
    answers: Mapping[str, Said] = field(default_factory=dict)
    healthy: Words = ()
    nobody: Words = ()
    no_fit: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One true fault. `mended_by`: entries whose remedy truly mends it; none where the knowledge has none."""

    says: str
    mended_by: Words = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Encoded:
    """The case as answers. `complaints`: which of the listed ones the person would choose, best first.

    `said`: check -> answer that the complaint's own words hold. `must_not`: checks this person must not be asked.
    `present`: for trouble that comes and goes, the chance that it is there while a check is done.
    """

    complaints: Words
    profile: Mapping[str, str | float] = field(default_factory=dict)
    said: Mapping[str, Said] = field(default_factory=dict)
    must_not: Words = ()
    present: float = 0.5
    states: Mapping[str, CaseState]


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldCase:
    """One visit or call. Keys of `observations` that begin `visit_` are known only to somebody on site,
    `after_` only once that repair is done."""

    id: str
    invented: bool
    difficulty: Literal["easy", "medium", "hard", "outside_list", "as_designed"]
    sensor_family: str
    gate_type: str
    who: Who
    licence: bool | None = None  # of a technician: an electrician or not
    gear: tuple[Gear, ...]
    controller: str
    complaint: str
    intermittent: bool
    true_cause: str
    true_cause_family: str
    true_cause_device: str = ""
    second_cause: str | None = None
    second_cause_family: str | None = None
    second_cause_device: str | None = None
    observations: Mapping[str, str | float]
    red_herrings: Words = ()
    hazard: str
    correct_fix: str
    how_confirmed: str
    faults: tuple[Fault, ...] = ()  # as a list can hold them, first and second; none for 'outside_list'
    encoded: Encoded | None = None

    @property
    def kind(self) -> Kind:
        kinds: Mapping[str, Kind] = {"outside_list": "outside", "as_designed": "designed"}
        return kinds.get(self.difficulty, "listed")

    @property
    def by_phone(self) -> bool:
        return self.who != "field_tech"

    @property
    def devices(self) -> Words:
        """Sensor kinds on the site, each once, in the order given."""
        return tuple(dict.fromkeys(g.kind for g in self.gear))

    @property
    def named(self) -> Devices:
        """The devices as a visit names them. Numbers of a device's papers are those of the one that is meant."""
        numbers = {f: v for f, v in (self.encoded.profile if self.encoded else {}).items() if f.startswith("device.")}
        meant = self.meant(())
        return tuple(
            Device(g.name, g.kind, tuple(j for j in g.job if j in JOBS), numbers if slug(g.name) == meant else {})
            for g in self.gear
        )

    def meant(self, kinds: Words) -> str:
        """The key of the device that is meant where an answer names none: the faulty one if it is of these kinds
        (none: any), else the first that is."""
        faulty = [g for i in range(2) for g in self.gear if slug(g.name) == self.device_of(i)]
        return next((slug(g.name) for g in (*faulty, *self.gear) if not kinds or g.kind in kinds), "")

    def device_of(self, fault: int) -> str:
        """The key of the device with the fault, '' where it is the gate's."""
        said = (self.true_cause_device, self.second_cause_device)[fault]
        return next((slug(g.name) for g in self.gear if slug(g.name) == slug(said or "")), "")

    def mends(self, fault: int, cause: str) -> bool:
        """Whether the remedy for a cause truly mends the fault: the right entry, at the right device."""
        key, device = cause.partition("@")[2], self.device_of(fault)
        return plain(cause) in self.faults[fault].mended_by and (not key or not device or key == device)

    @property
    def covered(self) -> bool:
        """Every fault has an entry whose remedy mends it."""
        return bool(self.faults) and all(f.mended_by for f in self.faults)

    @property
    def half(self) -> Half:
        """The given cases are all for learning; a hash of the id splits the others."""
        given = self.id.startswith(GIVEN)
        return "learning" if given or sha256(self.id.encode()).digest()[0] % 2 == 0 else "judging"

    @property
    def fitting(self) -> bool:
        """Set aside, of the learning half, for fitting the number that tempers; no knowledge is written from it."""
        given = self.id.startswith(GIVEN)
        return not given and self.half == "learning" and sha256(self.id.encode()).digest()[1] < SET_ASIDE


def values_of(said: Said) -> list[str | float]:
    """Every value that may be answered."""
    if isinstance(said, str | int | float):
        return [said if isinstance(said, str) else float(said)]
    return list(said)


def check_of(key: str) -> str:
    """The check of an answer's key, which may name a device: check@device."""
    return key.partition("@")[0]
