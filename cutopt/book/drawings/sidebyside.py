"""Drawings set side by side for a file of its own: the whole site, and every source as it lies on the bench."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cutopt.book.drawings.drawing import Box, Circle, Drawing, Line, Point, Polygon, Shape, Strokes, Text
from cutopt.book.drawings.pen import Pen, ems
from cutopt.book.drawings.siteplan import draw_area
from cutopt.book.drawings.supports import draw_supports
from cutopt.book.drawings.tiledrawing import bench_drawing, faces
from cutopt.book.sheets import scale_of
from cutopt.book.words import printed
from cutopt.planfile.model import Area, Plan, Source

NAME = 5.0  # sheet mm, height of the name over each of the drawings
GAP = 12.0  # sheet mm between drawings
ROUND = 100.0  # mm: sources lie whole hundreds apart, so that their own measures are easily told
SHORTEST = 12  # signs of a name that are shown however narrow the drawing


def site_drawing(plan: Plan, *, supports: bool = False) -> Drawing:
    """All areas from left to right, in the layout frame of the first; an area that there are many of is drawn once.

    `supports`: with their outlines and pins over it, for a file whose layers can be switched off.
    """
    scale = min((scale_of(area) for area in plan.areas), default=1.0)
    drawings = [_area_drawing(plan, area, scale, supports=supports) for area in plan.areas]
    shifts: list[Point] = []
    right = 0.0
    for n, drawing in enumerate(drawings):
        by = right + GAP * scale - drawing.box[0] if n else 0.0
        shifts.append((by, 0.0))
        right = drawing.box[2] + by
    return _together(f"{plan.job.name}: plan, {plan.job.show}", drawings, shifts, scale)


def tiles_drawing(plan: Plan) -> Drawing:
    """Every source in a grid, row by row; the first one's lower left corner is the origin."""
    named = [
        (bench_drawing(plan, source, face), _source_words(source))
        for source in plan.sources
        for face in faces(plan, source)
    ]
    scale = max((drawing.scale for drawing, _ in named), default=1.0)
    drawings = [_with_name(drawing, words, scale) for drawing, words in named]
    boxes = [drawing.box for drawing in drawings]
    pitch_x = _pitch([(box[0], box[2]) for box in boxes], GAP * scale)
    pitch_y = _pitch([(box[1], box[3]) for box in boxes], GAP * scale)
    columns = max(1, round(math.sqrt(len(boxes) * pitch_y / pitch_x))) if boxes else 1
    shifts = [((n % columns) * pitch_x, -(n // columns) * pitch_y) for n in range(len(boxes))]
    return _together(f"{plan.job.name}: tiles, {plan.job.show}", drawings, shifts, scale)


def _area_drawing(plan: Plan, area: Area, scale: float, *, supports: bool) -> Drawing:
    pen = Pen(scale)
    draw_area(plan, area, pen)
    if supports:
        draw_supports(plan, area, pen)
    times = f" · {area.count} alike" if area.count > 1 else ""
    return _with_name(pen.drawing(area.name), area.name, scale, times)


def _source_words(source: Source) -> str:
    pieces = ", ".join(dict.fromkeys(placement.piece for placement in source.placements))
    times = f" · {source.uses} alike" if source.uses > 1 else ""
    return f"{source.id}: {pieces}{times}"


def _with_name(drawing: Drawing, words: str, scale: float, more: str = "") -> Drawing:
    """The drawing with its name above it, as much of it as is no wider than the drawing, and `more` in full."""
    left, bottom, right, top = drawing.box
    room = (right - left) / (NAME * scale)
    most = len(words)
    while most > SHORTEST and ems(printed.short(words, most) + more) > room:
        most -= 1
    pen = Pen(scale)
    at = (left, top + NAME * scale)
    pen.text(at, printed.short(words, most) + more, NAME, "label", "start")
    box = (left, bottom, right, top + 2 * NAME * scale)
    return Drawing(title=drawing.title, shapes=(*drawing.shapes, *pen.drawing("").shapes), box=box, scale=scale)


def _pitch(spans: Sequence[tuple[float, float]], gap: float) -> float:
    """How far apart equal places lie that hold all spans and a gap, in whole hundreds."""
    if not spans:
        return ROUND
    widest = max(high for _, high in spans) - min(low for low, _ in spans)
    return math.ceil((widest + gap) / ROUND) * ROUND


def _together(title: str, drawings: Sequence[Drawing], shifts: Sequence[Point], scale: float) -> Drawing:
    shapes = tuple(moved(shape, by) for drawing, by in zip(drawings, shifts, strict=True) for shape in drawing.shapes)
    boxes = [_box_moved(drawing.box, by) for drawing, by in zip(drawings, shifts, strict=True)] or [
        (0.0, 0.0, 1.0, 1.0)
    ]
    lefts, bottoms, rights, tops = zip(*boxes, strict=True)
    return Drawing(title=title, shapes=shapes, box=(min(lefts), min(bottoms), max(rights), max(tops)), scale=scale)


def _box_moved(box: Box, by: Point) -> Box:
    return box[0] + by[0], box[1] + by[1], box[2] + by[0], box[3] + by[1]


def moved(shape: Shape, by: Point) -> Shape:
    """The shape, shifted."""
    dx, dy = by

    def at(point: Point) -> Point:
        return point[0] + dx, point[1] + dy

    match shape:
        case Line():
            return Line(points=tuple(map(at, shape.points)), style=shape.style)
        case Polygon():
            return Polygon(points=tuple(map(at, shape.points)), style=shape.style)
        case Strokes():
            return Strokes(lines=tuple((at(start), at(end)) for start, end in shape.lines), style=shape.style)
        case Circle():
            return Circle(centre=at(shape.centre), radius=shape.radius, style=shape.style)
        case Text():
            return Text(
                at=at(shape.at),
                text=shape.text,
                height=shape.height,
                style=shape.style,
                anchor=shape.anchor,
                turn=shape.turn,
            )
