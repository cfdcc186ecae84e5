"""A source on the bench: its pieces, its cuts with what is measured for them, and the pen that draws it."""

from __future__ import annotations

from dataclasses import dataclass

from cutopt.book.drawings.drawing import Box, Point
from cutopt.book.drawings.marks import Mark, cut_step, marks
from cutopt.book.drawings.pen import Pen
from cutopt.book.drawings.placed import Face, View, hardware_of, holes_on_source, on_source
from cutopt.book.drawings.rings import NEAR, box_of
from cutopt.book.words import printed
from cutopt.planfile.model import Cut, Hardware, Plan, Source, Step

SHEET = 70.0  # sheet mm for the side of a square tile
LONG = 100.0  # sheet mm for the longer side of any other


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


def set_up(plan: Plan, source: Source, face: Face) -> Bench:
    """The source with `face` up, nothing drawn yet."""
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
    return Bench(
        plan=plan,
        source=source,
        hardware=hardware_of(plan, source),
        view=View(face=face, length=plan.tile.length),
        pen=Pen(_scale(box[2] - box[0], box[3] - box[1])),
        pieces=placed,
        lines=tuple(lines),
    )


def _scale(one: float, other: float) -> float:
    return max(min(one, other) / SHEET, max(one, other) / LONG, 300.0 / SHEET)


def touches(value: float, side: float) -> bool:
    """Whether a coordinate lies on a side."""
    return abs(value - side) < NEAR
