"""An area's part of the book: its drawings, which way its slats run, its supports and its laying order."""

from __future__ import annotations

from dataclasses import dataclass

from cutopt.book.areas import InArea, by_area
from cutopt.book.drawings.drawing import Drawing
from cutopt.book.drawings.siteplan import area_drawings
from cutopt.book.drawings.supports import SupportList, support_drawings, support_lists
from cutopt.book.words.contents import Turn, laying
from cutopt.book.words.slatways import slat_ways
from cutopt.planfile.model import Area, Plan


@dataclass(frozen=True, kw_only=True, slots=True)
class AreaPart:
    """What page and PDF show of an area; `counts` says how many supports of each shape it has."""

    area: Area
    slats: str
    drawings: tuple[Drawing, ...]
    supports: tuple[Drawing, ...]
    counts: str
    places: tuple[SupportList, ...]
    turns: tuple[Turn, ...]


def area_parts(plan: Plan) -> tuple[AreaPart, ...]:
    """All areas, each drawn once for page and PDF."""
    return tuple(_part(one) for one in by_area(plan))


def _part(one: InArea) -> AreaPart:
    plan, area = one.plan, one.area
    places = support_lists(plan, area)
    return AreaPart(
        area=area,
        slats=slat_ways(area),
        drawings=area_drawings(plan, area, one.opens),
        supports=support_drawings(plan, area),
        counts=", ".join(f"{len(shape.places)} {shape.shape}" for shape in places),
        places=places,
        turns=laying(plan, area),
    )
