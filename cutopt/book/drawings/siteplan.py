"""The plan drawing of an area, seen from above in its layout frame: what lies where, in which order."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from cutopt.book.drawings.dimensions import Distance, dimension_all
from cutopt.book.drawings.drawing import Drawing, Point
from cutopt.book.drawings.pen import Pen
from cutopt.book.drawings.placed import in_area
from cutopt.book.drawings.rings import NEAR, box_of, hatching, level_lines, roomy, sides
from cutopt.book.drawings.styles import StyleName
from cutopt.book.sheets import SHEET, Sheet, cut_out, grid_numbers, key_shapes, number_size, scale_of, sheets_of
from cutopt.book.words import printed
from cutopt.planfile.model import Area, Cell, Left, Piece, Plan

EDGE_STYLES: dict[str, StyleName] = {
    "wall": "edge-wall",
    "open": "edge-open",
    "flush": "edge-flush",
    "stone": "edge-stone",
}

APART = 0.8  # mm on the sheet between a piece's number and its turn: P1, laid 1st, is not P11


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenPart:
    """A part of an area that stays open, with the letter that the drawing and the list know it by."""

    letter: str
    area: str
    cell: Cell
    left: Left


def open_parts(plan: Plan) -> tuple[OpenPart, ...]:
    """All parts that stay open, lettered through the whole plan."""
    parts = [(area.name, cell, left) for area in plan.areas for cell in area.cells for left in cell.left]
    return tuple(
        OpenPart(letter=printed.letters(n), area=area, cell=cell, left=left)
        for n, (area, cell, left) in enumerate(parts)
    )


def area_drawings(plan: Plan, area: Area, opens: Sequence[OpenPart]) -> tuple[Drawing, ...]:
    """The area's drawing; of a large one a key to its sheets, then the sheets. `opens`: its parts that stay open."""
    sheets = sheets_of(area)
    pen = Pen(scale_of(area))
    if not sheets:
        draw_area(plan, area, pen, opens)
        return (pen.drawing(f"{area.name}: plan, {plan.job.show}"),)
    _field(plan, area, pen, opens)
    whole = pen.drawing(area.name)
    parts = [cut_out(whole, area, sheet, f"{area.name}: plan, sheet {sheet.number}") for sheet in sheets]
    return (_key(plan, area, sheets), *parts)


def draw_area(plan: Plan, area: Area, pen: Pen, opens: Sequence[OpenPart]) -> None:
    """The whole area on one sheet: field, grid start, numbers of rows and places, overall measures, scale bar."""
    _field(plan, area, pen, opens)
    _grid_start(area, pen)
    left, bottom, right, top = box_of(area.outline)
    past = pen.mm(5.0)
    grid_numbers(pen, area, (left - past, bottom - past, right, top))
    _overall(plan, area, pen, 8.0)
    _foot(plan, area, pen)


def _key(plan: Plan, area: Area, sheets: tuple[Sheet, ...]) -> Drawing:
    """The whole of a large area, small: edges, posts, measures and the frames of the sheets."""
    left, bottom, right, top = box_of(area.outline)
    pen = Pen(max(right - left, top - bottom) / SHEET)
    pen.polygon(area.outline, "ground")
    for cell in area.cells:
        for ring in cell_rings(plan, area, cell):
            pen.polygon(ring, "cell-whole" if cell.kind == "whole" else "cell-cut")
    for post in area.posts:
        pen.polygon(post.outline, "post" if post.kind == "post" else "drain")
    _edges(plan, area, pen)
    key_shapes(pen, sheets)
    _grid_start(area, pen)
    _overall(plan, area, pen, 3.0)
    _foot(plan, area, pen)
    return pen.drawing(f"{area.name}: key to the sheets, {plan.job.show}")


def _field(plan: Plan, area: Area, pen: Pen, opens: Sequence[OpenPart]) -> None:
    """Cells with piece numbers and laying order, open parts, posts, edges."""
    pen.polygon(area.outline, "ground")
    pieces = {piece.id: piece for piece in plan.pieces}
    for cell in area.cells:
        _cell(plan, area, cell, pieces, pen)
    for part in opens:
        pen.polygon(part.left.outline, "left")
        pen.strokes(hatching(part.left.outline, pen.mm(1.6), -45.0), "hatch-left")
    _edges(plan, area, pen)
    _posts(area, pen)
    for part in opens:
        spots = roomy(part.left.outline, steps=12)
        beside = [spot for away in (3.2, 5.5) for spot in _around(spots[:1], pen, away)[:4]]
        _forced(pen, [*spots, *beside], part.letter, 3.0, "label")
    for cell in area.cells:
        _numbers(plan, area, cell, pieces, pen)
    _post_names(area, pen)


def start_edge(area: Area) -> int | None:
    """The edge that the layout frame's x axis runs along: the one nearest to y = 0 among those that run its way."""
    found = []
    for n, ((x1, y1), (x2, y2)) in enumerate(sides(area.outline)):
        if x2 - x1 > 0 and abs(y2 - y1) < 0.1 * (x2 - x1):
            found.append((abs(y1 + y2) / 2, n))
    return min(found)[1] if found else None


def _whole(plan: Plan) -> tuple[Point, ...]:
    length, width = plan.tile.length, plan.tile.width
    return (0.0, 0.0), (length, 0.0), (length, width), (0.0, width)


def cell_rings(plan: Plan, area: Area, cell: Cell) -> list[tuple[Point, ...]]:
    """The outlines of the cell's tile or pieces in the layout frame."""
    if cell.kind == "whole":
        return [in_area(plan, area, cell, _whole(plan))]
    names = set(cell.pieces)
    return [in_area(plan, area, cell, piece.outline) for piece in plan.pieces if piece.id in names]


def _cell(plan: Plan, area: Area, cell: Cell, pieces: dict[str, Piece], pen: Pen) -> None:
    """The cell's tile or pieces, with the gaps between slats as narrow lines; nothing where it stays open."""
    shapes: list[tuple[tuple[Point, ...], tuple[tuple[Point, ...], ...]]] = [(_whole(plan), ())]
    if cell.kind != "whole":
        shapes = [(pieces[name].outline, pieces[name].holes) for name in cell.pieces if name in pieces]
    slats = sorted(plan.tile.slats, key=lambda slat: slat.v)
    gaps = [(low.v[1] + high.v[0]) / 2 for low, high in itertools.pairwise(slats)]
    for outline, holes in shapes:
        ring = in_area(plan, area, cell, outline)
        pen.polygon(ring, "cell-whole" if cell.kind == "whole" else "cell-cut")
        ends = [((u1, v), (u2, v)) for v in gaps for u1, u2 in level_lines(outline, v)]
        lines = [in_area(plan, area, cell, line) for line in ends]
        pen.strokes([(line[0], line[1]) for line in lines], "slat-faint")
        for hole in holes:
            pen.polygon(in_area(plan, area, cell, hole), "cell-hole")
        if cell.liftable:
            left, bottom, right, top = box_of(ring)
            d = pen.mm(0.9)
            rim = ((left + d, bottom + d), (right - d, bottom + d), (right - d, top - d), (left + d, top - d))
            pen.polygon(rim, "cell-liftable")
            for start, end in sides(rim):
                pen.take(box_of((start, end)))


def _numbers(plan: Plan, area: Area, cell: Cell, pieces: dict[str, Piece], pen: Pen) -> None:
    """Piece numbers bold, the turn in the laying order small beside them, LIFT over a drain."""
    size = number_size(area, pen.scale)
    if cell.kind == "whole":
        middles = in_area(plan, area, cell, _middles(plan.tile.length, plan.tile.width))
        _forced(pen, middles, str(cell.order), size, "small")
        if cell.liftable:
            pen.label(_around(middles, pen, 3.2), "LIFT", 2.4, "label")
        return
    for name in cell.pieces:
        if name not in pieces:
            continue
        ring = in_area(plan, area, cell, pieces[name].outline)
        spots = roomy(ring, steps=12)
        _fitted(pen, spots, ring, name)
        order, words = _around(spots, pen, 3.2), str(cell.order)
        tries = [(height, apart) for apart in (APART, 0.0) for height in (size, 2.0)]
        any(pen.label(order, words, height, "small", within=ring, apart=apart) for height, apart in tries)
        if cell.liftable:
            pen.label(_around(spots, pen, 3.2), "LIFT", 2.4, "label")


@cache
def _middles(length: float, width: float) -> tuple[Point, ...]:
    """The roomiest spots of a whole tile."""
    return tuple(roomy(((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)), steps=8))


def _around(spots: Sequence[Point], pen: Pen, away: float) -> list[Point]:
    """Spots under, over and beside the first of `spots`, then those."""
    if not spots:
        return []
    (x, y), d = spots[0], pen.mm(away)
    beside = [(x + side * d * far, y) for far in (1.6, 1.4, 1.8, 2.0) for side in (1, -1)]
    return [(x, y - d), (x, y + d), *beside, *spots]


def _fitted(pen: Pen, spots: Sequence[Point], ring: tuple[Point, ...], name: str) -> None:
    """As large as it fits into the piece, upright along a narrow one; small over the rim if it fits nowhere."""
    tries = [(height, turn) for height in (3.4, 2.8, 2.2) for turn in (0.0, 90.0)]
    if spots and not any(pen.label(spots, name, h, "piece-text", turn=turn, within=ring) for h, turn in tries):
        pen.text(spots[0], name, 2.0, "piece-text")


def _forced(pen: Pen, spots: Sequence[Point], words: str, height: float, style: StyleName) -> None:
    """At a free spot if there is one, else at the roomiest."""
    if spots and not pen.label(spots, words, height, style):
        pen.text(spots[0], words, height, style)


def _posts(area: Area, pen: Pen) -> None:
    for post in area.posts:
        left, bottom, right, top = box_of(post.outline)
        pen.polygon(post.outline, "post" if post.kind == "post" else "drain")
        if post.kind == "drain":
            pen.strokes((((left, bottom), (right, top)), ((left, top), (right, bottom))), "drain")
        pen.take((left, bottom, right, top))


def _post_names(area: Area, pen: Pen) -> None:
    """Each post's name beside it, where nothing else is written."""
    for post in area.posts:
        left, bottom, right, top = box_of(post.outline)
        name = printed.short(post.name, 14) or post.kind
        x, y, half = (left + right) / 2, (bottom + top) / 2, pen.width(name, 2.4) / 2
        spots = []
        for step in range(4):
            up, out = pen.mm(2.0 + 1.5 * step), pen.mm(0.8 + 1.5 * step) + half
            rims = [(x, top + up), (x, bottom - up), (right + out, y), (left - out, y)]
            spots += [*rims, (right + out, top + up), (left - out, top + up)]
        _forced(pen, spots, name, 2.4, "label")


def _edges(plan: Plan, area: Area, pen: Pen) -> None:
    start = start_edge(area)
    for n, (edge, (tail, tip)) in enumerate(zip(area.edges, sides(area.outline), strict=False)):
        span = math.dist(tail, tip)
        if span < NEAR:
            continue
        ux, uy = (tip[0] - tail[0]) / span, (tip[1] - tail[1]) / span
        pen.line((tail, tip), EDGE_STYLES[edge.kind])
        if edge.kind == "wall":
            long, every = pen.mm(1.5), pen.mm(2.0)
            feet = [(tail[0] + ux * every * i, tail[1] + uy * every * i) for i in range(1, int(span / every) + 1)]
            # outwards is to the right of an anticlockwise outline
            pen.strokes([(foot, (foot[0] + (uy - ux) * long, foot[1] - (ux + uy) * long)) for foot in feet], "hatch")
        words = f"{'START ' if n == start else ''}{edge.kind.upper()} {printed.length(span, plan.job.show)}"
        height = 2.8
        if pen.width(words, height) > span:
            words = printed.length(span, plan.job.show)
        turn = math.degrees(math.atan2(uy, ux))
        turn += -180.0 if turn > 90.5 else 180.0 if turn <= -89.5 else 0.0
        away = pen.mm(3.4)
        middle = ((tail[0] + tip[0]) / 2 + uy * away, (tail[1] + tip[1]) / 2 - ux * away)
        pen.text(middle, words, height, "label" if n == start else "text", turn=turn)


def _grid_start(area: Area, pen: Pen) -> None:
    """A circle with a cross where the first cell's corner lies."""
    x, y = area.grid.origin
    r = pen.mm(2.6)
    pen.circle((x, y), 1.5, "move")
    pen.take_around((x, y), 2.8)
    pen.strokes((((x - r, y), (x + r, y)), ((x, y - r), (x, y + r))), "move")


def _overall(plan: Plan, area: Area, pen: Pen, past: float) -> None:
    """The longest measures along and away from the start wall, `past` sheet mm further out than usual."""
    left, bottom, right, top = box_of(area.outline)
    across = printed.length(right - left, plan.job.show)
    up = printed.length(top - bottom, plan.job.show)
    past_edge_names = pen.mm(past)
    dimension_all(
        pen,
        (left - past_edge_names, bottom - past_edge_names, right, top),
        [
            Distance(start=(left, bottom), end=(right, bottom), words=across, margin="bottom"),
            Distance(start=(left, bottom), end=(left, top), words=up, margin="left"),
        ],
    )


def _foot(plan: Plan, area: Area, pen: Pen) -> None:
    """The scale bar in two colours, and what the small circle means."""
    left, bottom, _, _ = pen.bounds()
    inches = plan.job.show == "in"
    one, unit = (304.8, "ft") if inches else (500.0, "m")
    steps = 2 if (box_of(area.outline)[2] - box_of(area.outline)[0]) < 8 * one else 4
    y, x, tall = bottom - pen.mm(3.0), left + pen.mm(2.0), pen.mm(1.4)
    for n in range(steps):
        ring = ((x + n * one, y), (x + (n + 1) * one, y), (x + (n + 1) * one, y - tall), (x + n * one, y - tall))
        pen.polygon(ring, "home" if n % 2 == 0 else "bubble")
    whole = steps if inches else steps * one / 1000.0
    pen.text((x + steps * one + pen.mm(1.5), y - tall / 2), f"{printed.count(whole)} {unit}", 2.6, "text", "start")
    y -= pen.mm(5.0)
    pen.circle((x + pen.mm(1.5), y), 1.1, "move")
    pen.strokes(
        (((x, y), (x + pen.mm(3), y)), ((x + pen.mm(1.5), y - pen.mm(1.5)), (x + pen.mm(1.5), y + pen.mm(1.5)))), "move"
    )
    origin = ", ".join(printed.length(value, plan.job.show) for value in area.grid.origin)
    pen.text((x + pen.mm(4.5), y), f"grid start, {origin} from the start corner", 2.6, "text", "start")
