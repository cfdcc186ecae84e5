"""Where supports stand: numbered along the rows from the start wall, a letter and an outline for each shape."""

from __future__ import annotations

from dataclasses import dataclass

from cutopt.book.drawings.drawing import Drawing
from cutopt.book.drawings.pen import Pen
from cutopt.book.drawings.rings import box_of
from cutopt.book.drawings.siteplan import cell_rings
from cutopt.book.drawings.styles import StyleName
from cutopt.book.sheets import cut_out, number_size, scale_of, sheets_of
from cutopt.book.words import printed
from cutopt.planfile.model import Area, AreaSupport, Plan

LARGEST = 2.4  # sheet mm: the names of supports stand close to each other
SHAPES: dict[str, tuple[str, StyleName]] = {
    "whole": ("W", "support"),
    "half": ("H", "support-half"),
    "quarter": ("Q", "support-quarter"),
    "trimmed": ("T", "support-trimmed"),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class SupportPlace:
    """A support with the number that drawing and list know it by."""

    number: int
    support: AreaSupport

    @property
    def name(self) -> str:
        """Its number and the letter of its shape: "12 H"."""
        return f"{self.number} {SHAPES[self.support.shape][0]}"


@dataclass(frozen=True, kw_only=True, slots=True)
class SupportList:
    """All supports of one shape: (name, place) each."""

    shape: str
    places: tuple[tuple[str, str], ...]


def numbered(plan: Plan, area: Area) -> tuple[SupportPlace, ...]:
    """The area's supports, row by row away from the start wall, each row along it."""
    mine = [support for support in plan.supports if support.area == area.name]
    mine.sort(key=lambda support: (round(support.at[1]), support.at[0]))
    return tuple(SupportPlace(number=n, support=support) for n, support in enumerate(mine, 1))


def support_lists(plan: Plan, area: Area) -> tuple[SupportList, ...]:
    """The supports by shape, with the coordinates of their centres."""
    unit, places = plan.job.show, numbered(plan, area)
    lists = []
    for shape in SHAPES:
        found = [
            (place.name, " | ".join(printed.length(value, unit) for value in place.support.at))
            for place in places
            if place.support.shape == shape
        ]
        if found:
            lists.append(SupportList(shape=shape, places=tuple(found)))
    return tuple(lists)


def support_drawings(plan: Plan, area: Area) -> tuple[Drawing, ...]:
    """One drawing, or one for each sheet of a large area; none without supports."""
    places = numbered(plan, area)
    if not places:
        return ()
    pen = Pen(scale_of(area))
    pen.polygon(area.outline, "ground")
    for cell in area.cells:
        for ring in cell_rings(plan, area, cell):
            pen.polygon(ring, "cell-whole")
    for post in area.posts:
        pen.polygon(post.outline, "post" if post.kind == "post" else "drain")
        pen.take(box_of(post.outline))
    draw_supports(plan, area, pen)
    pen.polygon(area.outline, "outline")
    pen.take_path((*area.outline, area.outline[0]))
    size = min(LARGEST, number_size(area, pen.scale))
    for place in places:
        _name(place, pen, size)
    whole = pen.drawing(f"{area.name}: supports")
    sheets = sheets_of(area)
    if not sheets:
        return (whole,)
    return tuple(cut_out(whole, area, sheet, f"{area.name}: supports, sheet {sheet.number}") for sheet in sheets)


def draw_supports(plan: Plan, area: Area, pen: Pen) -> None:
    """The area's supports by shape, with the pins that are used."""
    for place in numbered(plan, area):
        _support(plan, place, pen)


def _support(plan: Plan, place: SupportPlace, pen: Pen) -> None:
    pen.polygon(place.support.outline, SHAPES[place.support.shape][1])
    pen.take(box_of(place.support.outline))
    for pin in place.support.pins:
        pen.true_circle(pin, plan.tile.support.pin / 2, "pin")


def _name(place: SupportPlace, pen: Pen, size: float) -> None:
    """Beside the support, never on it."""
    left, bottom, right, top = box_of(place.support.outline)
    half, tall = pen.width(place.name, size) / 2 + pen.mm(0.5), pen.mm(size * 0.75)
    x, y = (left + right) / 2, (bottom + top) / 2
    spots = [(right + half, top + tall / 2), (left - half, top + tall / 2), (right + half, y), (left - half, y)]
    spots += [(x, top + tall), (x, bottom - tall), (right + half, bottom - tall / 2), (left - half, bottom - tall / 2)]
    if not pen.label(spots, place.name, size, "label"):
        pen.text(spots[0], place.name, 2.0, "label")
