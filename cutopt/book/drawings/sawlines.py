"""Cut lines on a bench drawing: the path, the side that the kerf takes, the distances, the number in its circle."""

from __future__ import annotations

import math
from itertools import pairwise

from cutopt.book.drawings.bench import Bench, Line, touches
from cutopt.book.drawings.dimensions import Distance, Margin
from cutopt.book.drawings.drawing import Point
from cutopt.book.drawings.marks import marked_line
from cutopt.book.drawings.pen import LEGIBLE
from cutopt.book.drawings.rings import NEAR, inside
from cutopt.planfile.model import Cut

BUBBLE = 2.5  # sheet mm, radius of the circle around a cut's number
_MARGINS: tuple[tuple[Margin, Margin], ...] = (("bottom", "top"), ("left", "right"))
_ALONG = (0.3, 0.7, 0.4, 0.6, 0.2, 0.8, 0.5, 0.1, 0.9)


def cut_line(bench: Bench, cut: Cut) -> None:
    """The path extra wide, with short strokes on the side that the kerf takes."""
    pen, view = bench.pen, bench.view
    path = (*cut.path, cut.path[0]) if cut.closed else cut.path
    marked = marked_line(bench.source, cut)
    if marked != cut.path and not _square(cut):
        pen.line(view.ring(marked), "dimension")
    pen.line(view.ring(path), "cut")
    pen.take_path(view.ring(path))
    turn = 1.0 if cut.waste_side == "left" else -1.0
    ticks: list[tuple[Point, Point]] = []
    long, every = pen.mm(1.5), pen.mm(3.0)
    walked = 0.0  # since the last stroke, through the short legs of an arc; anew at each leg that takes a stroke
    for (u1, v1), (u2, v2) in pairwise(path):
        span = math.hypot(u2 - u1, v2 - v1)
        if span < NEAR:
            continue
        along_u, along_v = (u2 - u1) / span, (v2 - v1) / span
        at_leg = [every - walked] if span < every <= walked + span else []
        for way in at_leg or [every * n for n in range(1, int(span / every) + 1)]:
            at = (u1 + along_u * way, v1 + along_v * way)
            tip = (at[0] - (along_u + turn * along_v) * long, at[1] - (along_v - turn * along_u) * long)
            ticks.append((view.at(at), view.at(tip)))
        walked = 0.0 if span >= every else walked + span if not at_leg else walked + span - every
    pen.strokes(ticks, "kerf")


def arc(bench: Bench, cut: Cut) -> None:
    """The centre of a round notch and its radius, which the circle is drawn with."""
    if cut.arc is None:
        return
    pen, (x, y) = bench.pen, bench.view.at(cut.arc.centre)
    reach = pen.mm(1.6)
    pen.strokes((((x - reach, y), (x + reach, y)), ((x, y - reach), (x, y + reach))), "dimension")
    pen.take((x - reach, y - reach, x + reach, y + reach))
    down = pen.mm(3.4)
    spots = [(x, y - down), (x, y + down), (x + 3 * down, y), (x - 3 * down, y)]
    words = f"R {bench.words(cut.arc.radius)}"
    if not pen.label(spots, words, LEGIBLE, "cut-text"):
        pen.text(spots[0], words, LEGIBLE, "cut-text")


def _square(cut: Cut) -> bool:
    """Whether a straight cut runs along or across the slats."""
    (u1, v1), (u2, v2) = cut.path[0], cut.path[-1]
    return abs(u1 - u2) < NEAR or abs(v1 - v2) < NEAR


def distances(bench: Bench, line: Line) -> list[Distance]:
    """The marks of a cut as dimensions, each in the margin next to an end of what is marked."""
    found = []
    for mark in line.marks:
        across = 1 - mark.axis
        low, high = bench.box[across], bench.box[across + 2]
        ends = [bench.view.at(point) for point in mark.ends]
        # a straight through-cut touches both margins and takes the lower or left one
        near_low = min(end[across] - low for end in ends) <= min(high - end[across] for end in ends) + NEAR
        margin = _MARGINS[mark.axis][0 if near_low else 1]
        at = (min if near_low else max)(ends, key=lambda point: point[across])
        origin = (mark.start, at[1]) if mark.axis == 0 else (at[0], mark.start)
        start = (
            (bench.view.at(origin)[0], low if near_low else high)
            if mark.axis == 0
            else (low if near_low else high, mark.start)
        )
        found.append(Distance(start=start, end=at, words=bench.words(mark.distance), margin=margin))
    return found


def bubble(bench: Bench, line: Line) -> None:
    """The cut's number in a circle: past the end of a straight cut, else in the waste beside it."""
    pen = bench.pen
    at = _bubble_at(bench, line.cut)
    pen.circle(at, BUBBLE, "bubble")
    pen.text(at, str(line.cut.n), 3.2, "bubble-text")
    pen.take_around(at, BUBBLE + 0.2)


def _bubble_at(bench: Bench, cut: Cut) -> Point:
    """Past the upper or right end of a straight through-cut; else the first free spot beside the cut."""
    pen, box = bench.pen, bench.box
    path = bench.view.ring(cut.path)
    away, reach = pen.mm(BUBBLE + 1.7), pen.mm(1.7)
    if len(path) == 2 and not cut.closed:
        tail, tip = sorted(path, key=lambda point: point[0] + point[1])
        if touches(tail[0], tip[0]) and touches(tip[1], box[3]):
            pen.line((tip, (tip[0], tip[1] + reach)), "cut-leader")
            return tip[0], tip[1] + away
        if touches(tail[1], tip[1]) and touches(tip[0], box[2]):
            pen.line((tip, (tip[0] + reach, tip[1])), "cut-leader")
            return tip[0] + away, tip[1]
    spots = _waste_spots(bench, cut)
    radius = pen.mm(BUBBLE)
    for x, y in [*spots, *_off_spots(bench, spots)]:
        if pen.free((x - radius, y - radius, x + radius, y + radius)):
            if not (box[0] < x < box[2] and box[1] < y < box[3]):
                pen.line(((x, y), min(spots, key=lambda spot: math.dist(spot, (x, y)))), "move-halo")
                pen.line(((x, y), min(spots, key=lambda spot: math.dist(spot, (x, y)))), "dimension")
            return x, y
    return spots[0]


def _off_spots(bench: Bench, spots: list[Point]) -> list[Point]:
    """Spots off the tile next to a cut too small for a circle in its waste, nearest first."""
    away, (left, bottom, right, top) = bench.pen.mm(BUBBLE + 1.7), bench.box
    found = []
    for x, y in spots:
        found += [(right + away, y), (left - away, y), (x, top + away), (x, bottom - away)]
    return sorted(found, key=lambda off: min(math.dist(off, spot) for spot in spots))


def _waste_spots(bench: Bench, cut: Cut) -> list[Point]:
    """Spots beside the legs of a path, on the waste side."""
    away = bench.pen.mm(BUBBLE + 0.9)
    turn = 1.0 if cut.waste_side == "left" else -1.0

    def kept(spot: Point) -> bool:
        return any(
            inside(spot, piece.ring) and not any(inside(spot, hole) for hole in piece.holes) for piece in bench.pieces
        )

    found = []
    for (u1, v1), (u2, v2) in zip(cut.path, cut.path[1:], strict=False):
        span = math.hypot(u2 - u1, v2 - v1) or 1.0
        nu, nv = -(v2 - v1) / span * turn * away, (u2 - u1) / span * turn * away
        spots = [(u1 + (u2 - u1) * t + nu, v1 + (v2 - v1) * t + nv) for t in _ALONG]
        found += [spot for spot in spots if not kept(spot)]
    return [bench.view.at(spot) for spot in found] or [bench.view.at(cut.path[0])]
