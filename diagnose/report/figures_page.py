"""A page of figures: sections with a sentence, a plot as inline SVG and a table. Asks for nothing from outside."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from diagnose.words import say, spoken


@dataclass(frozen=True, slots=True)
class FiguresSection:
    """A heading with a sentence, a plot ('' for none) and a table (no rows for none); a cell `missed` stands out."""

    title: str
    says: str
    plot: str = ""
    heads: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()
    missed: str = ""


def figures_page(title: str, subtitle: str, sections: Iterable[FiguresSection], footer: str) -> bytes:
    """UTF-8 HTML that runs no script."""
    environment = Environment(
        loader=PackageLoader("diagnose.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["say"] = say
    drawn = [(s, Markup(s.plot)) for s in sections]
    template = environment.get_template("figures.html")
    shown = {"title": title, "subtitle": subtitle, "sections": drawn, "footer": footer}
    return template.render(**shown, language=spoken().language).encode()
