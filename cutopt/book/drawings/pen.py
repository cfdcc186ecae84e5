"""Draws marks onto a display list and keeps track of the paper that texts and symbols have taken.

Sizes are given in millimetres of the sheet and turned into those of the thing drawn by the scale.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from cutopt.book.drawings.drawing import Box, Circle, Drawing, Line, Mark, Point, Polygon, Shape, Strokes, Text
from cutopt.book.drawings.rings import box_inside, box_of
from cutopt.book.drawings.styles import StyleName

SQUARE = 8.0  # sheet mm
NOWHERE: Box = (math.inf, math.inf, -math.inf, -math.inf)  # meets nothing
LEGIBLE = 2.83  # sheet mm: 8 points, the least that a text is written in where it has room
BROAD_SIGNS = frozenset("mwMW")
NARROW_SIGNS = frozenset(" .,:;'|!il/()·")
LETTER, CAPITAL, BROAD, THIN = (
    0.68,
    0.78,
    1.04,
    0.38,
)  # widths by the text's height, bold sans-serif: common practice, no source


class Pen:
    """A drawing in the making. `scale`: millimetres of the thing for one millimetre of the sheet."""

    def __init__(self, scale: float) -> None:
        self.scale = scale
        self._side = SQUARE * scale
        self._shapes: list[Shape] = []
        self._taken: dict[tuple[int, int], list[Box]] = defaultdict(list)  # by squares of the sheet that a box meets
        self._hit: Box = NOWHERE  # what the last box that was not free met
        self._corners: list[Point] = []

    def mm(self, sheet: float) -> float:
        """Millimetres of the sheet as those of the thing drawn."""
        return sheet * self.scale

    # shapes

    def line(self, points: Iterable[Point], style: StyleName) -> None:
        self._add(Line(points=tuple(points), style=style))

    def polygon(self, points: Iterable[Point], style: StyleName) -> None:
        self._add(Polygon(points=tuple(points), style=style))

    def strokes(self, lines: Iterable[tuple[Point, Point]], style: StyleName) -> None:
        """Separate lines, none for none."""
        kept = tuple(lines)
        if kept:
            self._add(Strokes(lines=kept, style=style))

    def circle(self, centre: Point, sheet_radius: float, style: StyleName) -> None:
        """A symbol: its radius is on the sheet, whatever the scale."""
        self.true_circle(centre, self.mm(sheet_radius), style)

    def true_circle(self, centre: Point, radius: float, style: StyleName) -> None:
        """A round thing: its radius is its own."""
        self._add(Circle(centre=centre, radius=radius, style=style))

    def arrow(self, start: Point, end: Point, style: StyleName, head: StyleName, size: float = 1.8) -> None:
        """A line with a filled arrowhead at its end; `size` of the head on the sheet."""
        self.line((start, end), style)
        self.head(start, end, head, size)

    def head(self, start: Point, end: Point, style: StyleName, size: float = 1.8) -> None:
        """The arrowhead alone, its tip at `end`."""
        span = math.dist(start, end) or 1.0
        ux, uy = (end[0] - start[0]) / span, (end[1] - start[1]) / span
        long, half = self.mm(size), self.mm(size) * 0.28
        back = (end[0] - ux * long, end[1] - uy * long)
        self.polygon(
            ((back[0] - uy * half, back[1] + ux * half), end, (back[0] + uy * half, back[1] - ux * half)), style
        )

    # text

    def text(
        self, at: Point, words: str, height: float, style: StyleName, anchor: str = "middle", turn: float = 0.0
    ) -> None:
        """A line of text that takes its place whether or not it is free; `height` on the sheet."""
        shape = Text(at=at, text=words, height=self.mm(height), style=style, anchor=anchor, turn=turn)
        self._add(shape)
        self.take(text_box(shape))

    def label(
        self,
        spots: Iterable[Point],
        words: str,
        height: float,
        style: StyleName,
        *,
        turn: float = 0.0,
        within: Sequence[Point] = (),
        apart: float = 0.0,
    ) -> bool:
        """The text at the first spot where it covers nothing; False and no text where there is none.

        `within`: a ring that the text must not leave; `apart`: millimetres on the sheet that it keeps on its left and
        right, so that it is not read as one with a neighbour.
        """
        still = Text(at=(0.0, 0.0), text=words, height=self.mm(height), style=style, turn=turn)
        left, bottom, right, top = text_box(still)
        if within and not _smaller((left, bottom, right, top), box_of(within)):
            return False
        for x, y in spots:
            box = (x + left, y + bottom, x + right, y + top)
            beside = (box[0] - self.mm(apart), box[1], box[2] + self.mm(apart), box[3])
            if self.free(beside) and (not within or box_inside(box, within)):
                self._add(replace(still, at=(x, y)))
                self.take(box)
                return True
        return False

    def block_arrow(self, tail: Point, tip: Point, style: StyleName) -> None:
        """A hollow arrow that nobody takes for a dimension or a line; as broad as a third of its length."""
        span = math.dist(tail, tip) or 1.0
        ux, uy = (tip[0] - tail[0]) / span, (tip[1] - tail[1]) / span
        shaft, barb, neck = span * 0.15, span * 0.38, span * 0.48
        corners = ((0.0, shaft), (neck, shaft), (neck, barb), (span, 0.0), (neck, -barb), (neck, -shaft), (0.0, -shaft))
        self.polygon(((tail[0] + ux * a - uy * b, tail[1] + uy * a + ux * b) for a, b in corners), style)

    def group(self, since: int, whole: Callable[[tuple[Shape, ...]], Shape]) -> None:
        """What was drawn from a `count` on becomes the parts of one shape."""
        self._shapes[since:] = [whole(tuple(self._shapes[since:]))]

    @property
    def count(self) -> int:
        """How many shapes there are so far."""
        return len(self._shapes)

    # paper

    def take(self, box: Box) -> None:
        """Keep texts that look for a free spot out of the box."""
        for square in self._squares(box):
            self._taken[square].append(box)

    def take_around(self, centre: Point, sheet_radius: float) -> None:
        """Keep texts that look for a free spot off a symbol."""
        r = self.mm(sheet_radius)
        self.take((centre[0] - r, centre[1] - r, centre[0] + r, centre[1] + r))

    def take_path(self, path: Sequence[Point]) -> None:
        """Keep texts that look for a free spot off a line, also off a slanting one."""
        for (x1, y1), (x2, y2) in itertools.pairwise(path):
            count = max(1, int(math.hypot(x2 - x1, y2 - y1) / self.mm(1.0)))
            for n in range(count + 1):
                self.take_around((x1 + (x2 - x1) * n / count, y1 + (y2 - y1) * n / count), 0.5)

    def free(self, box: Box) -> bool:
        """Whether nothing that was placed lies in the box; asked a million times for a large book, so all in one."""
        left, bottom, right, top = box
        near = self._hit  # spots in a row are mostly taken by the same
        if near[0] <= right and left <= near[2] and near[1] <= top and bottom <= near[3]:
            return False
        side, taken = self._side, self._taken
        rows = range(int(bottom // side), int(top // side) + 1)
        for column in range(int(left // side), int(right // side) + 1):
            for row in rows:
                for other in taken.get((column, row), ()):
                    if other[0] <= right and left <= other[2] and other[1] <= top and bottom <= other[3]:
                        self._hit = other
                        return False
        return True

    def width(self, words: str, height: float) -> float:
        """About how wide the text is, in millimetres of the thing drawn."""
        return self.mm(height) * ems(words)

    def bounds(self) -> Box:
        """The box of all that is drawn so far."""
        return box_of(self._corners)

    def drawing(self, title: str, margin: float = 1.5) -> Drawing:
        """All shapes, in a box with a margin of the sheet around them."""
        left, bottom, right, top = self.bounds()
        edge = self.mm(margin)
        box = (left - edge, bottom - edge, right + edge, top + edge)
        return Drawing(title=title, shapes=tuple(self._shapes), box=box, scale=self.scale)

    def _squares(self, box: Box) -> Iterable[tuple[int, int]]:
        """Squares of the sheet that a box meets, so that a label is compared with its neighbours only."""
        side = self._side
        left, bottom, right, top = box[0] // side, box[1] // side, box[2] // side, box[3] // side
        if left == right and bottom == top:
            return ((int(left), int(bottom)),)
        return itertools.product(range(int(left), int(right) + 1), range(int(bottom), int(top) + 1))

    def _add(self, shape: Mark) -> None:
        self._shapes.append(shape)
        self._corners += _corners(shape)


def ems(words: str) -> float:
    """About how wide a text is, in its own heights."""
    return sum(
        THIN
        if sign in NARROW_SIGNS
        else BROAD
        if sign in BROAD_SIGNS
        else CAPITAL
        if sign.isupper() or ord(sign) > 0x2000
        else LETTER
        for sign in words
    )


def _smaller(box: Box, other: Box) -> bool:
    """Whether a box is no wider and no higher than another."""
    return box[2] - box[0] <= other[2] - other[0] and box[3] - box[1] <= other[3] - other[1]


def text_box(shape: Text) -> Box:
    """The box that a text takes, about; a text turned obliquely takes the box around its turned one."""
    width, height = shape.height * ems(shape.text), shape.height * 1.1
    start = {"start": 0.0, "middle": -width / 2, "end": -width}[shape.anchor]
    cos, sin = math.cos(math.radians(shape.turn)), math.sin(math.radians(shape.turn))
    corners = [(x, y) for x in (start, start + width) for y in (-height / 2, height / 2)]
    return box_of((shape.at[0] + x * cos - y * sin, shape.at[1] + x * sin + y * cos) for x, y in corners)


def _corners(shape: Mark) -> Sequence[Point]:
    match shape:
        case Line() | Polygon():
            return shape.points
        case Strokes():
            return [point for line in shape.lines for point in line]
        case Circle():
            (x, y), r = shape.centre, shape.radius
            return (x - r, y - r), (x + r, y + r)
        case Text():
            left, bottom, right, top = text_box(shape)
            return (left, bottom), (right, top)
