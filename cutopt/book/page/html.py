"""The cut book as one page that stands alone: no network, no fonts of its own, whole without its one script."""

from __future__ import annotations

import hashlib
import re
from base64 import b64encode
from collections.abc import Sequence
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from cutopt.book.drawings.legend import legend
from cutopt.book.drawings.svg import style_sheet, svg
from cutopt.book.words import printed
from cutopt.book.words.areaparts import AreaPart, area_parts
from cutopt.book.words.cautions import CAUTIONS, DEFERS
from cutopt.book.words.contents import Card, cards, open_lines, settings
from cutopt.book.words.restson import money_lines, weight_line
from cutopt.book.words.shifts import shift
from cutopt.book.words.wording import fence_settings, figures
from cutopt.planfile.model import Plan
from cutopt.planfile.ticks import digest


def html_page(plan: Plan, tiles: Sequence[Card] | None = None, areas: Sequence[AreaPart] | None = None) -> str:
    """The whole book. Every name and text of the plan is escaped. `tiles`, `areas`: its cards and areas, where they are
    made already.
    """
    environment = _environment()
    page = environment.get_template("page.html.j2").render(
        plan=plan,
        cautions=CAUTIONS,
        defers=DEFERS,
        figures=figures(plan),
        areas=area_parts(plan) if areas is None else areas,
        cards=cards(plan) if tiles is None else tiles,
        digest=digest(plan),
        stations=tuple(dict.fromkeys(step.station for step in plan.steps)),
        settings=settings(plan),
        fence_settings=fence_settings(plan),
        shift=shift(plan),
        open_lines=open_lines(plan),
        legend=legend(),
        money_lines=money_lines(plan),
        weight_line=weight_line(plan),
        styles=Markup(_styles()),
        script=Markup(_script()),
        script_hash=b64encode(hashlib.sha256(_script().encode()).digest()).decode(),
    )
    # HTML knows no control characters, and a name may hold some
    return re.sub(r"[\x00-\x08\x0b-\x1f]", "", page)


@cache
def _environment() -> Environment:
    loader = PackageLoader("cutopt.book.page")
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters["svg"] = lambda drawing: Markup(svg(drawing))
    environment.filters["amount"] = printed.amount
    environment.filters["short"] = printed.short
    return environment


def _styles() -> str:
    return f"{_template('page.css')}\n{style_sheet()}"


def _script() -> str:
    """The text between the script's tags. The page's policy lets the browser run this text and no other."""
    return f"\n{_template('page.js')}"


def _template(name: str) -> str:
    environment = _environment()
    loader = environment.loader
    return loader.get_source(environment, name)[0] if loader is not None else ""
