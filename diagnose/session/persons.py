"""Named people and their roles: as what each may work on a visit. No form gives a licence."""

from collections.abc import Mapping

from diagnose.model.visit import Setup
from diagnose.words import say

AT_A_GATE = ("technician", "help_desk")  # whoever works at gates also takes calls
PLACES: Mapping[str, tuple[str, ...]] = {
    "help_desk": ("help_desk",),
    "technician": AT_A_GATE,
    "electrician": ("technician", "electrician", "help_desk"),
    "manager": AT_A_GATE,
    "administrator": AT_A_GATE,
}
ROLES = tuple(PLACES)
SEES_ALL_PRACTICE = ("manager", "administrator")


def may_be(role: str) -> tuple[str, ...]:
    """Where whoever has this role may work; everywhere where nobody is named (the role is '')."""
    return PLACES.get(role, ()) if role else PLACES["electrician"]


def place_of(setup: Setup) -> str:
    if setup.role == "help_desk":
        return "help_desk"
    return "electrician" if setup.electrician else "technician"


def barred(role: str, setup: Setup) -> str:
    """Why whoever has this role may not work as the setup says; '' where he may."""
    place = place_of(setup)
    if place in may_be(role):
        return ""
    return say("session.not_your_place", place=say(f"session.place_{place}"), role=role_says(role))


def role_says(role: str) -> str:
    return say(f"session.person_{role}") if role in ROLES else role
