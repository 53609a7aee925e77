"""What every page has at hand, what a request asks, and how a page is drawn."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from jinja2.filters import do_urlencode
from markupsafe import Markup, escape
from platformdirs import user_data_path
from starlette.datastructures import FormData
from starlette.responses import HTMLResponse, RedirectResponse

from diagnose.core.reason import Reasoner
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.lessons import practice_reasoner
from diagnose.present.clean import clean
from diagnose.present.terms import glossed
from diagnose.present.times import in_words
from diagnose.session.persons import may_be
from diagnose.session.wording import places
from diagnose.store.history.search import FolderSearch
from diagnose.web.exercises import ExerciseFolder
from diagnose.web.hiding import hiding
from diagnose.web.keeper import NOBODY, Doorkeeper, LoggedIn
from diagnose.web.visits import Visits
from diagnose.words import say, spoken

LONGEST_SHOWN = 1500
Search = Callable[[str, str, str, int], Iterable[VisitRecord]]  # words, place, sensor kind, the most to find


@dataclass(frozen=True, slots=True)
class Ask:
    """One request: what is in its address, its form, whose session it is, and whether the line is encrypted."""

    path: Mapping[str, str]
    query: Mapping[str, str]
    form: FormData
    session: str
    address: str = ""
    person: LoggedIn = NOBODY
    secure: bool = False

    def text(self, name: str) -> str:
        """One field of the form, '' when it is missing or a file."""
        value = self.form.get(name, "")
        return value if isinstance(value, str) else ""

    def texts(self, name: str) -> list[str]:
        return [value for value in self.form.getlist(name) if isinstance(value, str)]

    def fields(self) -> dict[str, str]:
        return {name: value for name, value in self.form.items() if isinstance(value, str)}


@dataclass(frozen=True, slots=True)
class PageContext:
    """`profiles` maps what a form may choose to the profile that is meant, by kind; `search` looks in the history,
    and `trouble` says what is wrong with the files it looked at; `hidden` takes out of a page where things lie."""

    visits: Visits
    keeper: Doorkeeper
    search: Search
    profiles: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    exercises: ExerciseFolder | None = None
    trouble: Callable[[], Iterable[str]] = tuple
    hidden: Callable[[str], str] = str

    @property
    def kb(self) -> KnowledgeBase:
        return self.visits.reasoner.kb

    def page(self, ask: Ask, template: str, status: int = 200, **shown: Any) -> HTMLResponse:
        """A drawn page. Every text in it was cleaned and escaped."""
        common = {
            "token": self.keeper.token(ask.session),
            "login": self.keeper.asks,
            "person": ask.person.name,
            "may": may_be(ask.person.role),
            "language": spoken().language,
            "gloss": partial(_glossed, self.kb),
            "drawing": Markup,  # of the knowledge alone, whose check lets no script into a picture
        }
        drawn = _ENVIRONMENT.get_template(template).render(**common, **shown)
        return HTMLResponse(self.hidden(drawn), status)


@dataclass(frozen=True, slots=True)
class Places:
    """The folders of visits and of practice, and the URL of the history; '' is a file in the data folder."""

    visits: Path
    practice: Path
    database: str = ""


def context_of(
    reasoner: Reasoner, keeper: Doorkeeper, places: Places, profiles: Mapping[str, Mapping[str, str]]
) -> PageContext:
    """Everything the pages need."""
    search = FolderSearch(reasoner.kb, places.visits, places.database)
    exercises = ExerciseFolder(practice_reasoner(reasoner.kb), places.practice)
    hidden = hiding(_folders(places, profiles), places.database)
    return PageContext(Visits(reasoner, places.visits), keeper, search, profiles, exercises, search.trouble, hidden)


def _folders(places: Places, profiles: Mapping[str, Mapping[str, str]]) -> Iterable[Path]:
    """Whose names are of nobody's concern but the machine's."""
    yield from (places.visits, places.practice, user_data_path("gate-diagnose"), Path.home(), Path.cwd())
    if places.database and "://" not in places.database:
        yield Path(places.database).parent
    yield from (Path(path).parent for offered in profiles.values() for path in offered.values())
    yield Path(__file__).parent.parent.parent


def places_of(ask: Ask) -> dict[str, str]:
    """Where whoever asks may work, to choose from."""
    return {place: says for place, says in places().items() if place in may_be(ask.person.role)}


def to(address: str) -> RedirectResponse:
    """The page to show after a form was taken, so that a reload sends nothing again."""
    return RedirectResponse(address, 303)


def _shown(value: Any) -> Any:
    """Every text that reaches a page: one line of visible characters; autoescape does the rest."""
    if isinstance(value, Markup) or not isinstance(value, str):
        return value
    return clean(value, LONGEST_SHOWN)


def _glossed(kb: KnowledgeBase, text: str) -> Markup:
    """A text in which each word of the trade leads to what it means."""
    pieces = ((p.says, p.term) for p in glossed(kb, clean(text, LONGEST_SHOWN)))
    linked = Markup('<a class="term" href="/practice/words#{}">{}</a>')
    return Markup("").join(linked.format(term, says) if term else escape(says) for says, term in pieces)


def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("diagnose.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )
    environment.filters["urlencode"] = lambda text: do_urlencode(_shown(text))
    environment.filters["moment"] = in_words
    environment.globals["say"] = say
    return environment


_ENVIRONMENT = _environment()
