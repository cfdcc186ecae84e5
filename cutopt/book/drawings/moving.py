"""Shapes shifted and enlarged, for drawings that are put together of others."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TypeVar

from cutopt.book.drawings.drawing import Circle, Dimension, Legend, Line, Mark, Point, Polygon, Shape, Strokes, Text

S = TypeVar("S", bound=Shape)


def moved(shape: S, by: Point) -> S:
    """The shape, shifted."""
    dx, dy = by
    return _changed(shape, lambda point: (point[0] + dx, point[1] + dy), 1.0)


def scaled(mark: Mark, factor: float) -> Mark:
    """The mark, enlarged about the origin."""
    return _changed(mark, lambda point: (point[0] * factor, point[1] * factor), factor)


def _changed(shape: S, at: Callable[[Point], Point], factor: float) -> S:
    match shape:
        case Line() | Polygon():
            return replace(shape, points=tuple(map(at, shape.points)))
        case Strokes():
            return replace(shape, lines=tuple((at(start), at(end)) for start, end in shape.lines))
        case Circle():
            return replace(shape, centre=at(shape.centre), radius=shape.radius * factor)
        case Text():
            return replace(shape, at=at(shape.at), height=shape.height * factor)
        case Legend():
            return replace(shape, parts=_all(shape.parts, at, factor))
        case Dimension():
            parts = _all(shape.parts, at, factor)
            return replace(shape, start=at(shape.start), end=at(shape.end), at=at(shape.at), parts=parts)
    raise TypeError(shape)


def _all(parts: Iterable[Shape], at: Callable[[Point], Point], factor: float) -> tuple[Shape, ...]:
    return tuple(_changed(part, at, factor) for part in parts)
