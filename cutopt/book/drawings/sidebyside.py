"""Drawings set side by side for a file of its own: the whole site, and every source as it lies on the bench."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cutopt.book.areas import InArea, by_area
from cutopt.book.drawings.bench import CROWDED
from cutopt.book.drawings.drawing import Box, Drawing, Point
from cutopt.book.drawings.legend import legend
from cutopt.book.drawings.legendsheet import with_legend
from cutopt.book.drawings.moving import moved
from cutopt.book.drawings.pen import Pen, ems
from cutopt.book.drawings.siteplan import draw_area
from cutopt.book.drawings.supports import draw_supports
from cutopt.book.drawings.tiledrawing import bench_drawing, faces
from cutopt.book.sheets import scale_of
from cutopt.book.words import printed
from cutopt.planfile.model import Plan, Source

NAME = 5.0  # sheet mm, height of the name over each of the drawings
GAP = 12.0  # sheet mm between drawings
ROUND = 100.0  # mm: sources lie whole hundreds apart, so that their own measures are easily told
SHORTEST = 12  # signs of a name that are shown however narrow the drawing


def site_drawing(plan: Plan, *, supports: bool = False) -> Drawing:
    """All areas from left to right, in the layout frame of the first; an area that there are many of is drawn once.

    `supports`: with their outlines and pins over it, for a file whose layers can be switched off.
    """
    scale = min((scale_of(area) for area in plan.areas), default=1.0)
    drawings = [_area_drawing(one, scale, supports=supports) for one in by_area(plan)]
    shifts: list[Point] = []
    right = 0.0
    for n, drawing in enumerate(drawings):
        by = right + GAP * scale - drawing.box[0] if n else 0.0
        shifts.append((by, 0.0))
        right = drawing.box[2] + by
    together = _together(f"{plan.job.name}: plan, {plan.job.show}", drawings, shifts, scale)
    return with_legend(together, (*legend("site"), *(legend("supports") if supports else ())))


def tiles_drawing(plan: Plan) -> Drawing:
    """Every source in a grid, row by row; the first one's lower left corner is the origin."""
    named = [
        (bench_drawing(plan, source, face, CROWDED), _source_words(source))
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
    together = _together(f"{plan.job.name}: tiles, {plan.job.show}", drawings, shifts, scale)
    return with_legend(together, legend("bench"))


def _area_drawing(one: InArea, scale: float, *, supports: bool) -> Drawing:
    pen, area = Pen(scale), one.area
    draw_area(one.plan, area, pen, one.opens)
    if supports:
        draw_supports(one.plan, area, pen)
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
