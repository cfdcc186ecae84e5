"""Dimension lines as in ISO 129-1: extension lines, arrows, the number above the line, read from below or the right.

Conventions from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from cutopt.book.drawings.drawing import Box, Dimension, Point, Shape
from cutopt.book.drawings.pen import LEGIBLE, Pen
from cutopt.book.drawings.rings import box_of
from cutopt.book.drawings.styles import StyleName

Margin = Literal["bottom", "top", "left", "right"]

FIRST, STEP = 8.0, 5.5  # sheet mm from the thing to the first dimension line, and from line to line
ARROWS = 4.4  # sheet mm: two of them, tip to tip
BEYOND, AWAY = 1.2, 0.8  # an extension line runs past the dimension line and starts off the thing


@dataclass(frozen=True, kw_only=True, slots=True)
class Distance:
    """A length between two points of a drawing, measured along the margin's direction, and what to print."""

    start: Point
    end: Point
    words: str
    margin: Margin
    bold: bool = True

    @property
    def axis(self) -> int:
        """0 for a horizontal dimension line, 1 for a vertical one."""
        return 0 if self.margin in ("bottom", "top") else 1


@dataclass(frozen=True, kw_only=True, slots=True)
class Measured:
    """The sheet's margins after dimensions: how far out they reach, sheet mm, by margin."""

    bottom: float
    top: float
    left: float
    right: float


def dimension_all(pen: Pen, box: Box, distances: Sequence[Distance]) -> Measured:
    """Draw the distances outside the box, the shortest nearest to it, none over another; equal ones once."""
    reach = {}
    for margin in ("bottom", "top", "left", "right"):
        levels: list[list[tuple[float, float]]] = []
        seen = set()
        for one in sorted((d for d in distances if d.margin == margin), key=_extent):
            ends = _ends(pen, one)
            key = (round(one.start[one.axis], 1), round(one.end[one.axis], 1))
            if key in seen:
                continue
            seen.add(key)
            level = next(
                (n for n, used in enumerate(levels) if all(b <= ends[0] or a >= ends[1] for a, b in used)), None
            )
            if level is None:
                levels.append([])
                level = len(levels) - 1
            levels[level].append(ends)
            _dimension(pen, box, one, FIRST + STEP * level)
        reach[margin] = FIRST + STEP * (len(levels) - 1) + 2 if levels else 0.0
    return Measured(bottom=reach["bottom"], top=reach["top"], left=reach["left"], right=reach["right"])


def _height(one: Distance) -> float:
    return 3.2 if one.bold else LEGIBLE


def _extent(one: Distance) -> tuple[float, float]:
    return abs(one.end[one.axis] - one.start[one.axis]), one.start[one.axis]


def _fits(pen: Pen, one: Distance) -> bool:
    """Whether number and arrows go between the extension lines; the number stands above the arrows."""
    return max(pen.width(one.words, _height(one)), pen.mm(ARROWS)) <= _extent(one)[0]


def _ends(pen: Pen, one: Distance) -> tuple[float, float]:
    """What the dimension takes along its line, its number included."""
    low, high = sorted((one.start[one.axis], one.end[one.axis]))
    if not _fits(pen, one):
        low, high = low - pen.mm(4.0), high + pen.width(one.words, _height(one)) + pen.mm(5.0)
    return low - pen.mm(1.0), high + pen.mm(1.0)


def _dimension(pen: Pen, box: Box, one: Distance, away: float) -> None:
    axis = one.axis
    out = -1.0 if one.margin in ("bottom", "left") else 1.0
    edge = {"bottom": box[1], "top": box[3], "left": box[0], "right": box[2]}[one.margin]
    line = edge + out * pen.mm(away)

    def point(along: float, across: float) -> Point:
        return (along, across) if axis == 0 else (across, along)

    begun, turn = pen.count, 0.0 if axis == 0 else 90.0
    for end in (one.start, one.end):
        base = end[1 - axis]
        extension = (point(end[axis], base + out * pen.mm(AWAY)), point(end[axis], line + out * pen.mm(BEYOND)))
        pen.line(extension, "cut-dimension")
        pen.take(box_of(extension))
    low, high = sorted((one.start[axis], one.end[axis]))
    style: StyleName = "cut-text" if one.bold else "text"
    lift = pen.mm(_height(one) * 0.5 + 0.5)
    across = line + lift if axis == 0 else line - lift
    if _fits(pen, one):
        pen.arrow(point((low + high) / 2, line), point(low, line), "cut-dimension", "arrowhead")
        pen.arrow(point((low + high) / 2, line), point(high, line), "cut-dimension", "arrowhead")
        pen.text(point((low + high) / 2, across), one.words, _height(one), style, turn=turn)
    else:
        tail = high + pen.mm(4.0) + pen.width(one.words, _height(one))
        pen.line((point(low, line), point(high, line)), "cut-dimension")
        pen.arrow(point(low - pen.mm(4.0), line), point(low, line), "cut-dimension", "arrowhead")
        pen.arrow(point(tail, line), point(high, line), "cut-dimension", "arrowhead")
        pen.text(point(high + pen.mm(3.0), across), one.words, _height(one), style, "start", turn)
    pen.group(begun, lambda parts: _measured(one, point(one.end[axis], line), turn, parts))


def _measured(one: Distance, at: Point, turn: float, parts: tuple[Shape, ...]) -> Dimension:
    return Dimension(start=one.start, end=one.end, at=at, turn=turn, words=one.words, parts=parts)
