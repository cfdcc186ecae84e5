"""A drawing on a PDF page: the same display list and styles that the SVG is made of."""

from __future__ import annotations

import math
from collections.abc import Iterable

from cutopt.book.drawings.drawing import Circle, Drawing, Line, Mark, Point, Polygon, Strokes, Text
from cutopt.book.drawings.styles import STYLES, WHITE, Style
from cutopt.book.pdf import fonts
from cutopt.book.pdf.direction import joined
from cutopt.book.pdf.ink import Ink

RIM = 0.5  # sheet mm of white around the capitals of a text with a halo
CAPITAL = 0.72  # of a text's height, the face's capitals and digits
MIDDLE = 0.36  # of a text's height, from its baseline up to its middle


def size_of(drawing: Drawing) -> tuple[float, float]:
    """Its width and height on the sheet, in mm."""
    left, bottom, right, top = drawing.box
    return (right - left) / drawing.scale, (top - bottom) / drawing.scale


def draw(ink: Ink, drawing: Drawing, left: float, top: float, factor: float = 1.0) -> None:
    """The drawing with its upper left corner at (left, top) of the page, enlarged by `factor`."""
    wide, high = size_of(drawing)
    with ink.window(left, top - high * factor, wide * factor, high * factor, factor):
        sheet = _Sheet(ink, drawing)
        for shape in drawing.marks:
            sheet.put(shape)


class _Sheet:
    """Where the drawing's coordinates land in its window, in sheet mm."""

    def __init__(self, ink: Ink, drawing: Drawing) -> None:
        self._ink, self._scale = ink, drawing.scale
        self._left, self._bottom = drawing.box[:2]

    def put(self, shape: Mark) -> None:
        style = STYLES[shape.style]
        match shape:
            case Line():
                self._ink.path(self._all(shape.points), style)
            case Strokes():
                self._ink.strokes([(self._at(start), self._at(end)) for start, end in shape.lines], style)
            case Polygon():
                self._ink.path(self._all(shape.points), style, closed=True)
            case Circle():
                self._ink.circle(self._at(shape.centre), shape.radius / self._scale, style)
            case Text():
                self._text(shape, style)

    def _text(self, shape: Text, style: Style) -> None:
        size, (x, y) = shape.height / self._scale, self._at(shape.at)
        long = fonts.width(joined(shape.text), size, style.bold)
        cos, sin = math.cos(math.radians(shape.turn)), math.sin(math.radians(shape.turn))
        start = {"start": 0.0, "middle": -long / 2, "end": -long}[shape.anchor]
        if style.halo:
            # a white bar and not a rim around each letter: a rim is the text once more, and would be read twice
            ends = [(x + a * cos, y + a * sin) for a in (start - RIM / 2, start + long + RIM / 2)]
            self._ink.path(ends, Style(stroke=WHITE, width=size * CAPITAL + RIM))
        down = size * MIDDLE
        at = (x + start * cos + down * sin, y + start * sin - down * cos)
        self._ink.text(at, shape.text, size, bold=style.bold, colour=style.fill, turn=shape.turn)

    def _at(self, point: Point) -> Point:
        return (point[0] - self._left) / self._scale, (point[1] - self._bottom) / self._scale

    def _all(self, points: Iterable[Point]) -> list[Point]:
        return [self._at(point) for point in points]
