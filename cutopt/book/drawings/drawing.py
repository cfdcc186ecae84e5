"""A display list: what is drawn, where, and in which style, but not in which file format.

Coordinates are millimetres of the thing drawn, y upwards. Text heights are in the same millimetres. A style's line
widths and dashes are millimetres on the sheet; `scale` says how many millimetres of the thing one of the sheet is.
"""

from __future__ import annotations

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


Shape = Line | Strokes | Polygon | Circle | Text


@dataclass(frozen=True, kw_only=True, slots=True)
class Drawing:
    """Shapes in the order they are painted, the box that holds them, the scale, and a title that says what is seen."""

    title: str
    shapes: tuple[Shape, ...]
    box: Box
    scale: float
