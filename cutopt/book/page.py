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
from cutopt.book.siteplan import area_drawing, support_drawing
from cutopt.book.svg import style_sheet, svg
from cutopt.book.wording import figures
from cutopt.planfile.model import Area, Plan


@dataclass(frozen=True, kw_only=True, slots=True)
class AreaPart:
    """An area's drawings, its supports by shape and place, and its laying order."""

    area: Area
    drawing: Drawing
    supports: Drawing | None
    counts: str
    places: tuple[tuple[str, tuple[str, ...]], ...]
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
    unit = plan.job.show
    shapes: dict[str, list[str]] = {}
    for support in plan.supports:
        if support.area == area.name:
            x, y = (printed.length(value, unit) for value in support.at)
            shapes.setdefault(support.shape, []).append(f"{x} | {y}")
    return AreaPart(
        area=area,
        drawing=area_drawing(plan, area),
        supports=support_drawing(plan, area) if shapes else None,
        counts=", ".join(f"{len(places)} {shape}" for shape, places in shapes.items()),
        places=tuple((shape, tuple(places)) for shape, places in shapes.items()),
        turns=laying(plan, area),
    )
