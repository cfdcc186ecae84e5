"""A tile as it lies on the bench, drawn with letters: for a terminal, plain characters only.

blank  a piece, its name in it       1 2 3  where cut 1, 2, 3 runs
///    what falls off, with its      x      a screw to take out
       name where it goes to the rack
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

import numpy as np
import shapely

from cutopt.book.drawings.drawing import Point
from cutopt.book.drawings.placed import Face, View, holes_on_source, on_source, screws_taken_out
from cutopt.book.drawings.rings import box_of
from cutopt.planfile.model import Plan, Source

COLUMNS = 44  # of the longest tile; with its margin and frame a drawing has fewer than 80
TALL = 2.0  # a character is about twice as high as wide
MARGIN = 12  # for the words left of the tile
WASTE = "/"
SCREW = "x"
LEGEND = "blank: piece   ///: falls off   1, 2: cuts 1 and 2   x: screw to take out"


def text_drawing(plan: Plan, source: Source, face: Face) -> tuple[str, ...]:
    """Lines of fewer than 80 columns: the slat ends left and right, the home corner as the face has it."""
    view = View(face=face, length=plan.tile.length)
    grid = _Grid(source, view, max(plan.tile.length, plan.tile.width) / COLUMNS)
    pieces = {piece.id: piece for piece in plan.pieces}
    grid.fill([source.outline], WASTE)
    names: list[tuple[Point, str]] = []
    for placement in source.placements:
        piece = pieces[placement.piece]
        shape = shapely.Polygon(on_source(plan, piece, placement), holes_on_source(plan, piece, placement))
        grid.fill([(*shape.exterior.coords,), *((*hole.coords,) for hole in shape.interiors)], " ")
        spot = shape.point_on_surface()
        names.append(((spot.x, spot.y), piece.id))
    for offcut in source.offcuts:
        if offcut.keep:
            spot = shapely.Polygon(offcut.outline).point_on_surface()
            names.append(((spot.x, spot.y), offcut.id))
    for screw in screws_taken_out(plan, source):
        grid.put((screw.u, screw.v), SCREW)
    for cut in source.cuts:
        path = (*cut.path, cut.path[0]) if cut.closed else cut.path
        grid.stroke(path, str(cut.n % 10))
    for at, name in names:
        grid.write(at, name)
    return _framed(grid.lines(), view, source)


class _Grid:
    """Characters over a source; the far side is up. `step`: millimetres a column stands for."""

    def __init__(self, source: Source, view: View, step: float) -> None:
        left, bottom, right, top = view.box(box_of(source.outline))
        self._view, self._left, self._top, self._step = view, left, top, step
        columns, rows = max(1, round((right - left) / step)), max(1, round((top - bottom) / step / TALL))
        self._signs = np.full((rows, columns), " ", dtype="<U1")
        self._us = left + (np.arange(columns) + 0.5) * (right - left) / columns
        self._vs = top - (np.arange(rows) + 0.5) * (top - bottom) / rows
        self._wide, self._high = (right - left) / columns, (top - bottom) / rows

    def fill(self, rings: Iterable[Iterable[Point]], sign: str) -> None:
        """All characters whose middle is in a ring and in none of the others."""
        first, *holes = ([self._view.at(point) for point in ring] for ring in rings)
        us, vs = np.meshgrid(self._us, self._vs)
        self._signs[shapely.contains_xy(shapely.Polygon(first, holes), us, vs)] = sign

    def stroke(self, path: Iterable[Point], sign: str) -> None:
        """Characters along a path."""
        for (u0, v0), (u1, v1) in pairwise(path):
            steps = max(1, math.ceil(2 * math.dist((u0, v0), (u1, v1)) / self._wide))
            for n in range(steps + 1):
                self.put((u0 + (u1 - u0) * n / steps, v0 + (v1 - v0) * n / steps), sign)

    def put(self, at: Point, sign: str) -> None:
        """A character at a point of the tile frame."""
        row, column = self._place(at)
        self._signs[row, column] = sign

    def write(self, at: Point, words: str) -> None:
        """Words around a point."""
        row, column = self._place(at)
        start = max(0, min(column - len(words) // 2, self._signs.shape[1] - len(words)))
        for n, sign in enumerate(words[: self._signs.shape[1]]):
            self._signs[row, start + n] = sign

    def _place(self, at: Point) -> tuple[int, int]:
        u, v = self._view.at(at)
        rows, columns = self._signs.shape
        row, column = int((self._top - v) / self._high), int((u - self._left) / self._wide)
        return min(max(row, 0), rows - 1), min(max(column, 0), columns - 1)

    def lines(self) -> list[str]:
        """The rows, from the far side to the near one."""
        return ["".join(row) for row in self._signs]


def _framed(lines: list[str], view: View, source: Source) -> tuple[str, ...]:
    """The drawing in a frame with its sides named and H at the home corner, where the source has that."""
    wide = len(lines[0])
    ends = ("home end", "far end") if view.face == "up" else ("far end", "home end")
    home = "H" if (0.0, 0.0) in source.outline else "+"
    corners = (home, "+") if view.face == "up" else ("+", home)
    middle = len(lines) // 2
    framed = [" " * MARGIN + "far side".center(wide + 2).rstrip(), " " * MARGIN + f"+{'-' * wide}+"]
    for n, line in enumerate(lines):
        left, right = (ends[0].rjust(MARGIN - 1) + " ", f" {ends[1]}") if n == middle else (" " * MARGIN, "")
        framed.append(f"{left}|{line}|{right}")
    framed += [
        " " * MARGIN + f"{corners[0]}{'-' * wide}{corners[1]}",
        " " * MARGIN + "home side".center(wide + 2).rstrip(),
    ]
    return tuple(framed)
