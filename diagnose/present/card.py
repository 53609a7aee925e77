"""What a field card says, chosen once for the paper and the terminal: its head, its steps, its leaves, its foot."""

from diagnose.cards.card import Box, Card, PrintedBranch, Reach
from diagnose.cards.points import DecidingTest, PointsColumn, PointsLook, PointsSheet
from diagnose.present.figures import minutes, percent, rounded
from diagnose.session.wording import who_says
from diagnose.words import say

HARD_SPACE = "\u00a0"
DIGEST = 8  # signs of the knowledge's digest on the head


def title_says(card: Card) -> str:
    return say("card.title", complaint=card.complaint)


def meta_says(card: Card) -> str:
    """For which sensors and whom, and what it was printed from."""
    kinds, role = (f"{words[:1].upper()}{words[1:]}" for words in (card.kinds, card.role))
    return say("card.meta", kinds=kinds, role=role, digest=card.digest[:DIGEST], date=card.dated)


def share_says(share: float) -> str:
    """A share on one line; what is not nothing is never shown as 0 %."""
    says = percent(share) if share else say("session.percent", number=0)
    return says.replace(" ", HARD_SPACE)


def chance_says(line: PrintedBranch) -> str:
    """How likely an answer is at its step; '' where nothing is known of it."""
    return share_says(line.chance) if line.chance is not None else ""


def leaf_says(line: PrintedBranch) -> str:
    """What a branch ends in: '42 % likely, next C 12 %; neither: call 4YMV-6QN8'; '' where it names no cause."""
    if line.named is None:
        return ""
    named = line.named
    shares = {"likely": share_says(named.likely), "next_likely": share_says(named.runner_likely)}
    runner = named.runner_letter or say("report.quoted", words=named.runner)
    if line.mark:
        says = say("card.leaf_or_call", **shares, next=runner, number=line.mark)
    else:
        says = say("card.leaf", **shares, next=runner)
    return f"{says} ({' '.join(line.cautions)})" if line.cautions else says


def needs_says(box: Box) -> str:
    """What a remedy takes: minutes, what is opened for it, who may do it."""
    licensed = (who_says("electrician"),) if box.licensed else ()
    return ", ".join(filter(None, (minutes(box.minutes), box.access, *licensed)))


def foot_of(card: Card) -> tuple[str, str]:
    """What stands under every page: how far the card leads, and what it is not."""
    own = say("card.names_cause", percent=share_says(card.names))
    return reach_says(card.reach) if card.reach else own, say("card.note")


def reach_says(reach: Reach) -> str:
    """How far the card leads, against the live tool."""
    return say(
        "card.reach",
        card=share_says(reach.card),
        first_two=share_says(reach.first_two),
        live=share_says(reach.live),
        asks=share_says(reach.asks),
        card_minutes=rounded(reach.card_minutes),
        live_minutes=rounded(reach.live_minutes),
        cases=reach.cases,
    )


def points_how_says(sheet: PointsSheet) -> str:
    """How the points are added up, and when a column wins."""
    if not sheet.settles:
        return say("card.points_how_open")
    return say("card.points_how", margin=sheet.margin)


def points_figures_says(sheet: PointsSheet) -> str:
    return say(
        "card.points_figures", settles=share_says(sheet.settles), right=share_says(sheet.right), cases=sheet.cases
    )


def look_needs_says(look: PointsLook) -> str:
    """'(5 min, open the cabinet)'."""
    return f"({', '.join((minutes(look.minutes), *look.needs))})"


def column_needs_says(column: PointsColumn) -> str:
    """What to do when the column wins."""
    if not column.cause:
        return say("card.points_else")
    if not column.remedy:
        return say("card.points_front")
    licensed = f"({who_says('electrician')}) " if column.licensed else ""
    return f"{licensed}{column.remedy}"


def close_says(test: DecidingTest) -> str:
    first, second = (letter for letter, _, _ in test.sides) if len(test.sides) == 2 else sorted(test.letters)
    return say("card.close", first=first, second=second, look=test.look.asks)


def sides_says(test: DecidingTest) -> str:
    """Which answers speak for which of the two."""
    return " ".join(say("card.speaks_for", answers=says, letter=letter) for letter, _, says in test.sides)
