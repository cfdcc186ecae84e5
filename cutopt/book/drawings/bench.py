"""A source on the bench: its pieces, its cuts with what is measured for them, and the pen that draws it."""

from __future__ import annotations

from dataclasses import dataclass

from cutopt.book.drawings.drawing import Box, Point
from cutopt.book.drawings.marks import Mark, cut_step, marks
from cutopt.book.drawings.pen import Pen
from cutopt.book.drawings.placed import (
    Face,
    View,
    emptied,
    hardware_of,
    holes_on_source,
    on_source,
    screws_taken_out,
)
from cutopt.book.drawings.rings import NEAR, box_of
from cutopt.book.words import printed
from cutopt.book.words.hardware import new_holes, odd_screws, starters
from cutopt.planfile.model import Cut, Hardware, Plan, Source, Step

SHEET = 56.0  # sheet mm for the side of a square tile: with what is written beside it as wide as half a page
CROWDED = 64.0  # the same where much is named on the tile
FACE_UP = 32.0  # the same with the face up, where hardly anything is
LONG = 1.4  # the longer side of any other tile, in sides of a square one
MOST_NAMES = 6  # of screws and holes on a drawing that is not crowded
SMALLEST = 300.0  # mm: a tile that is smaller is drawn as small as one of that side


@dataclass(frozen=True, kw_only=True, slots=True)
class Placed:
    """A piece on the source: its outline and the rings cut out of it, in the tile frame."""

    id: str
    ring: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """A cut, the step that makes it and what is measured for it."""

    cut: Cut
    step: Step | None
    marks: tuple[Mark, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Bench:
    """All that a drawing of one source needs."""

    plan: Plan
    source: Source
    hardware: Hardware
    view: View
    pen: Pen
    pieces: tuple[Placed, ...]
    lines: tuple[Line, ...]

    @property
    def box(self) -> Box:
        """The source's box on the drawing."""
        return self.view.box(box_of(self.source.outline))

    def words(self, millimetres: float) -> str:
        """A length as it is printed."""
        return printed.length(millimetres, self.plan.job.show)


def set_up(plan: Plan, source: Source, face: Face, sheet: float | None = None) -> Bench:
    """The source with `face` up, nothing drawn yet. `sheet`: the side of a square tile in sheet mm, else what suits."""
    outlines = {piece.id: piece for piece in plan.pieces}
    placed = tuple(
        Placed(
            id=place.piece,
            ring=on_source(plan, outlines[place.piece], place),
            holes=holes_on_source(plan, outlines[place.piece], place),
        )
        for place in source.placements
        if place.piece in outlines
    )
    lines = []
    for cut in source.cuts:
        step = cut_step(plan, source, cut)
        lines.append(Line(cut=cut, step=step, marks=marks(plan, source, cut, step)))
    box = box_of(source.outline)
    suits = FACE_UP if face == "up" else CROWDED if _names(plan, source) > MOST_NAMES else SHEET
    return Bench(
        plan=plan,
        source=source,
        hardware=hardware_of(plan, source),
        view=View(face=face, length=plan.tile.length),
        pen=Pen(_scale(box[2] - box[0], box[3] - box[1], sheet or suits)),
        pieces=placed,
        lines=tuple(lines),
    )


def _names(plan: Plan, source: Source) -> int:
    """How many screws and holes have their names beside them on the face that is down."""
    whole = emptied(plan, source)
    out = [screw for screw in screws_taken_out(plan, source) if screw.backer not in whole]
    named = (odd_screws(plan, source), new_holes(source), starters(plan, source), out)
    return sum(len(ones) for ones in named)


def _scale(one: float, other: float, sheet: float) -> float:
    return max(min(one, other), max(one, other) / LONG, SMALLEST) / sheet


def touches(value: float, side: float) -> bool:
    """Whether a coordinate lies on a side."""
    return abs(value - side) < NEAR
