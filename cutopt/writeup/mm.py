"""Ticks → the plan file's millimetres."""

from __future__ import annotations

from collections.abc import Iterable

from cutopt.lengths import mm
from cutopt.tile import Point


def point(at: Point) -> tuple[float, float]:
    """A point in millimetres."""
    return mm(at[0]), mm(at[1])


def outline(ring: Iterable[Point]) -> tuple[tuple[float, float], ...]:
    """A ring or path in millimetres."""
    return tuple(point(at) for at in ring)
