"""The numbers of the reasoning that no single entry owns: words for strengths, and the settings; schema too."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.model.named import Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Scales:
    """The one table of words -> numbers. `strength` in 0..1; `frequency` and `complaint` are relative weights."""

    strength: Mapping[str, float]
    frequency: Mapping[str, float]
    complaint: Mapping[str, float]
    complaint_floor: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Numbers of the reasoning, all judgement, all in one place.

    `first_cut` is the look that tells which device is meant, asked after the opening where it fits; '' none.
    `outside_cause` stands for everything that is not listed, `designed_cause` for a gate that does what it should.
    `two_fault_odds` is the odds that a faulty gate has a second, independent fault.
    Below `conclude_at` for the leading cause, checks that tell at least `least_bits_per_minute` are asked even
    where none pays for itself: being right first time is worth more than the minutes alone.
    `asking_minutes` is what reading and answering costs on top of a check's own minutes.
    `slip` is the chance that a definite answer is wrong; `unsure_slip` the same for 'not sure',
    `caller_slip` for what a caller tells by eye, `heard_slip` for what was heard in somebody's own words.
    `temper` is the power to which the likelihood of every answer is raised, because answers are less independent and
    strengths less sure than the tables say; fitted on field cases that no knowledge is written from, by log score.
    `careless_slip` is the chance of a wrong answer on a visit whose answers cannot be trusted; from `misfit_at` on
    (natural logarithm of the factor by which that explains the answers better) people are told so.
    `botched_repair` is the chance that a remedy for the right cause does not take. After `most_failed` remedies that
    did not end the trouble the tool says that it knows no further. From `act_at` on a cause is likely enough to be
    mended.
    `caller_before` and `caller_after` are the cautions around every work that brings a caller's hands near the gate;
    `meanwhile` those that hold until somebody comes, whatever is wrong.
    """

    opening: Words
    first_cut: str = ""
    made_safe_check: str
    outside_cause: str
    designed_cause: str
    two_fault_odds: float
    asking_minutes: float
    slip: float
    unsure_slip: float
    caller_slip: float
    heard_slip: float = 0.08
    temper: float
    careless_slip: float
    misfit_at: float
    botched_repair: float
    most_failed: int = 3
    act_at: float = 0.3
    specialist_minutes: float
    conclude_at: float
    least_bits_per_minute: float
    caller_before: str = ""
    caller_after: str = ""
    meanwhile: Words = ()
    source: str
