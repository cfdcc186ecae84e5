"""The cut book as one page that stands alone: no network, no scripts, no fonts of its own."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from cutopt.book import printed
from cutopt.book.cautions import CAUTIONS, DEFERS
from cutopt.book.contents import Turn, cards, laying, open_lines, settings
from cutopt.book.drawing import Drawing
from cutopt.book.legend import legend
from cutopt.book.siteplan import area_drawings
from cutopt.book.supports import SupportList, support_drawings, support_lists
from cutopt.book.svg import style_sheet, svg
from cutopt.book.wording import figures
from cutopt.planfile.model import Area, Plan


@dataclass(frozen=True, kw_only=True, slots=True)
class AreaPart:
    """An area's drawings, its supports by shape and place, and its laying order."""

    area: Area
    drawings: tuple[Drawing, ...]
    supports: tuple[Drawing, ...]
    counts: str
    places: tuple[SupportList, ...]
    turns: tuple[Turn, ...]


def html_page(plan: Plan) -> str:
    """The whole book. Every name and text of the plan is escaped."""
    environment = _environment()
    page = environment.get_template("page.html.j2").render(
        plan=plan,
        cautions=CAUTIONS,
        defers=DEFERS,
        figures=figures(plan),
        areas=[_area(plan, area) for area in plan.areas],
        cards=cards(plan),
        settings=settings(plan),
        open_lines=open_lines(plan),
        legend=legend(),
        styles=Markup(_styles()),
    )
    # HTML knows no control characters, and a name may hold some
    return "".join(sign for sign in page if sign in "\n\t" or sign >= " ")


@cache
def _environment() -> Environment:
    loader = PackageLoader("cutopt.book")
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters["svg"] = lambda drawing: Markup(svg(drawing))
    environment.filters["count"] = printed.count
    environment.filters["short"] = printed.short
    return environment


def _styles() -> str:
    environment = _environment()
    loader = environment.loader
    css = loader.get_source(environment, "page.css")[0] if loader is not None else ""
    return f"{css}\n{style_sheet()}"


def _area(plan: Plan, area: Area) -> AreaPart:
    places = support_lists(plan, area)
    return AreaPart(
        area=area,
        drawings=area_drawings(plan, area),
        supports=support_drawings(plan, area),
        counts=", ".join(f"{len(one.places)} {one.shape}" for one in places),
        places=places,
        turns=laying(plan, area),
    )
