"""Names on a bench drawing: pieces with arrows to the wall, waste, home corner, sides, and the face that is up."""

from __future__ import annotations

import math

from cutopt.book.drawings.bench import Bench, touches
from cutopt.book.drawings.dimensions import Measured
from cutopt.book.drawings.drawing import Point
from cutopt.book.drawings.pen import LEGIBLE, Pen
from cutopt.book.drawings.rings import NEAR, along, box_of, inside, rooms, roomy, sides
from cutopt.book.drawings.sides import SIDE_NAMES, Side

PAST_BUBBLE = 6.6  # sheet mm from the rim of a tile: beyond the circle around a cut's number


def piece_labels(bench: Bench) -> None:
    """The piece's name where there is room, and a hollow arrow beside it towards each side that was cut."""
    for piece in bench.pieces:
        ring = bench.view.ring(piece.ring)
        backers = [bench.view.ring(along(b.line, b.width)) for b in bench.source.backers if b.piece == piece.id]
        spots, ways = roomy(ring, backers if bench.view.face == "down" else (), 12), wall_ways(bench, ring)
        named = any(_named(bench, spots, piece.id, ways, height) for height in (5.5, 4.2, 3.2, LEGIBLE))
        if not (named or bench.pen.label(spots, piece.id, 3.0, "piece-text")):
            bench.pen.text(spots[0] if spots else ring[0], piece.id, 3.0, "piece-text")


def _named(bench: Bench, spots: list[Point], name: str, ways: list[Point], height: float) -> bool:
    """The name with its arrows at the first spot where both fit, all of it inside the piece's free space."""
    pen = bench.pen
    half_x, half_y, long = pen.width(name, height) / 2, pen.mm(height) * 0.55, pen.mm(height * 1.1)
    for x, y in spots:
        room = [x - half_x, y - half_y, x + half_x, y + half_y]
        for dx, dy in ways:
            side = (0 if dx < 0 else 2) if dx else (1 if dy < 0 else 3)
            room[side] += (dx or dy) * (long + pen.mm(0.8))
        box = (room[0], room[1], room[2], room[3])
        if pen.free(box):
            for dx, dy in ways:
                tail = (x + dx * (half_x + pen.mm(0.8)), y + dy * (half_y + pen.mm(0.4)))
                pen.block_arrow(tail, (tail[0] + dx * long, tail[1] + dy * long), "wall-block")
            pen.text((x, y), name, height, "piece-text")
            pen.take(box)
            return True
    return False


def wall_ways(bench: Bench, ring: tuple[Point, ...]) -> list[Point]:
    """The directions, of right, left, up and down on the drawing, in which the piece has a cut side.

    The two flanks of a notch face each other and say nothing: a notch counts by its bottom, at a corner by both sides.
    """
    box, own = bench.box, box_of(ring)
    outer: list[Point] = []
    inner: list[Point] = []
    for start, end in sides(ring):
        dx, dy = end[0] - start[0], end[1] - start[1]
        axis = 0 if abs(dy) >= abs(dx) else 1
        factory = any(touches(start[axis], side) and touches(end[axis], side) for side in (box[axis], box[axis + 2]))
        if factory or math.hypot(dx, dy) < NEAR:
            continue
        probe = [(start[0] + end[0]) / 2, (start[1] + end[1]) / 2]
        probe[axis] += 0.5
        way = -1.0 if inside((probe[0], probe[1]), ring) else 1.0
        direction = (way, 0.0) if axis == 0 else (0.0, way)
        rim = own[axis + 2] if way > 0 else own[axis]
        found = outer if touches(start[axis], rim) or touches(end[axis], rim) else inner
        if direction not in found:
            found.append(direction)
    bottoms = [way for way in inner if (-way[0], -way[1]) not in inner]
    return outer + [way for way in bottoms if way not in outer]


def waste_labels(bench: Bench) -> None:
    """What an offcut is called and where it goes, and what is waste."""
    kept = [offcut for offcut in bench.source.offcuts if offcut.keep]
    for offcut in kept:
        ring = bench.view.ring(offcut.outline)
        tries = ((f"{offcut.id} · rack", 3.4), (f"{offcut.id} · rack", LEGIBLE), (offcut.id, LEGIBLE), (offcut.id, 2.0))
        any(bench.pen.label(roomy(ring), words, height, "label", within=ring) for words, height in tries)
    holes = [piece.ring for piece in bench.pieces] + [offcut.outline for offcut in kept]
    for room in rooms(bench.source.outline, holes, bench.pen.mm(2.2)):
        if len(room) > 3:
            bench.pen.label(bench.view.ring(room), "waste", 3.0, "waste-text")


def side_names(bench: Bench, reach: Measured) -> None:
    """The chalked home corner, the name of each of the four sides along it, and the way of the slats."""
    pen, (left, bottom, right, top) = bench.pen, bench.box
    outline = box_of(bench.source.outline)
    home = bench.view.at((outline[0], outline[1]))
    into = -1.0 if bench.view.face == "down" else 1.0
    size = pen.mm(3.6)
    pen.polygon((home, (home[0] + into * size, home[1]), (home[0], home[1] + size)), "home")
    ups = [pen.mm(up) for up in (2.0, 4.0, 7.5)]  # off the number of a cut that ends at the corner
    pen.label([(home[0] + into * up, bottom - pen.mm(2.6)) for up in ups], "H", 3.6, "label")
    pen.label([(home[0] - into * pen.mm(2.6), bottom + up) for up in ups], "H", 3.6, "label")
    away = pen.mm(2.5)
    middle_x, middle_y = (left + right) / 2, (bottom + top) / 2
    steps = [pen.mm(d * sign) for d in range(0, 40, 3) for sign in (1, -1)]
    ends: tuple[tuple[Side, float], ...] = (("u0", outline[0]), ("u1", outline[2]))
    for side, u in ends:
        x = bench.view.at((u, 0.0))[0]
        way, far = (1.0, reach.right) if x > middle_x else (-1.0, reach.left)
        along = [middle_y + d for d in steps if abs(d) < (top - bottom) / 2 - pen.mm(6.0)]
        spots = [(x + way * (away + beyond), y) for beyond in _beyond(pen, far) for y in along]
        _side_name(bench, spots, SIDE_NAMES[side], 90.0)
    flanks: tuple[tuple[Side, float, float, float], ...] = (
        ("v0", bottom, -1.0, reach.bottom),
        ("v1", top, 1.0, reach.top),
    )
    for side, rim, way, far in flanks:
        along = [middle_x + d for d in steps if abs(d) < (right - left) / 2 - pen.mm(6.0)]
        spots = [(x, rim + way * (away + beyond)) for beyond in _beyond(pen, far) for x in along]
        _side_name(bench, spots, SIDE_NAMES[side], 0.0)


def _beyond(pen: Pen, reach: float) -> tuple[float, float]:
    """Next to the tile, and past its dimensions and the circles around the numbers of cuts."""
    return 0.0, pen.mm(max(reach, PAST_BUBBLE) - 0.6)


def _slats_way(pen: Pen, x: float, y: float) -> None:
    """Which way the slats run, where backers hide most of them."""
    pen.text((x, y), "slats run this way", LEGIBLE, "small")
    gap = pen.width("slats run this way", LEGIBLE) / 2 + pen.mm(1.5)
    for way in (-1.0, 1.0):
        pen.arrow((x + way * gap, y), (x + way * (gap + pen.mm(9.0)), y), "wall-arrow", "wall-head")


def _side_name(bench: Bench, spots: list[Point], name: str, turn: float) -> None:
    """At the free spot nearest to the middle; a name that finds none is written smaller, and in the middle at last."""
    pen = bench.pen
    if not any(pen.label(spots, name, h, "side-text", turn=turn) for h in (LEGIBLE, 2.3)):
        pen.text(spots[0], name, 2.0, "side-text", turn=turn)


def band(bench: Bench) -> None:
    """Across the top: the face that is up, so that nobody marks the wrong one."""
    pen, down = bench.pen, bench.view.face == "down"
    words = f"FACE DOWN · screws up · {bench.plan.job.show}" if down else f"FACE UP · {bench.plan.job.show}"
    left, _, right, top = pen.bounds()
    lack = max(0.0, pen.width(words, 3.5) + pen.mm(3.0) - (right - left)) / 2
    left, right = left - lack, right + lack
    low, high = top + pen.mm(1.2), top + pen.mm(6.4)
    pen.polygon(((left, low), (right, low), (right, high), (left, high)), "band-down" if down else "band-up")
    pen.text(((left + right) / 2, (low + high) / 2), words, 3.5, "band-text-down" if down else "band-text-up")
