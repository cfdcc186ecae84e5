"""A display list: what is drawn, where, and in which style, but not in which file format.

Coordinates are millimetres of the thing drawn, y upwards. Text heights are in the same millimetres. A style's line
widths and dashes are millimetres on the sheet; `scale` says how many millimetres of the thing one of the sheet is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from cutopt.book.drawings.styles import StyleName

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # left, bottom, right, top


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """An open polyline."""

    points: tuple[Point, ...]
    style: StyleName


@dataclass(frozen=True, kw_only=True, slots=True)
class Strokes:
    """Many separate straight lines in one style, as hatching has."""

    lines: tuple[tuple[Point, Point], ...]
    style: StyleName


@dataclass(frozen=True, kw_only=True, slots=True)
class Polygon:
    """A closed ring."""

    points: tuple[Point, ...]
    style: StyleName


@dataclass(frozen=True, kw_only=True, slots=True)
class Circle:
    """A circle about `centre`."""

    centre: Point
    radius: float
    style: StyleName


@dataclass(frozen=True, kw_only=True, slots=True)
class Text:
    """One line of text, its middle height at `at`; `turn` in degrees anticlockwise, above -90 and at most 90.

    `anchor` says which point of the line lies at `at`. Text is never mirrored.
    """

    at: Point
    text: str
    height: float
    style: StyleName
    anchor: str = "middle"
    turn: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Dimension:
    """A length: what is measured, where its line runs, the number at it, and all of it as it is drawn.

    The line goes through `at` in the direction of `turn`, 0 or 90 degrees, and measures from `start` to `end` along it.
    """

    start: Point
    end: Point
    at: Point
    turn: float
    words: str
    parts: tuple[Shape, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Legend:
    """What the marks of a drawing mean; a part of its sheet and of nothing that is drawn on it."""

    parts: tuple[Shape, ...]


Shape = Line | Strokes | Polygon | Circle | Text | Dimension | Legend
Mark = Line | Strokes | Polygon | Circle | Text


def marks_of(shapes: Iterable[Shape]) -> Iterator[Mark]:
    """The shapes with dimensions and legends taken apart, in the order they are painted."""
    for shape in shapes:
        if isinstance(shape, Dimension | Legend):
            yield from marks_of(shape.parts)
        else:
            yield shape


@dataclass(frozen=True, kw_only=True, slots=True)
class Drawing:
    """Shapes in the order they are painted, the box that holds them, the scale, and a title that says what is seen."""

    title: str
    shapes: tuple[Shape, ...]
    box: Box
    scale: float

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All that is painted, one by one."""
        return tuple(marks_of(self.shapes))
