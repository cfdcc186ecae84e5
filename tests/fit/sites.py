"""Sites as large as one piece and the gaps around it, as the text of a job file."""

from __future__ import annotations

import math

from tests.fit.shapes import MM, Anatomy, Ring
from tests.jobs import area_text

START, FAR = 6.0, 9.0  # mm: the grid starts at the least gap; elsewhere halfway between the least and the most


def site_of(outline: Ring, tile: Anatomy, *, before: str = "") -> str:
    """What follows [tile] in a job whose only cell is filled by a piece with this ring, its home corner uncut.

    Each side of the ring is a wall: on the tile's own sides at u = 0 and v = 0 at the least gap, else at 9 mm.
    """
    first = outline.index((0, 0))
    ring = [(u / MM, v / MM) for u, v in (*outline[first:], *outline[:first])]
    lines = []
    for (u0, v0), (u1, v1) in zip(ring, (*ring[1:], *ring[:1]), strict=True):
        size = math.dist((u0, v0), (u1, v1))
        off = START if u0 == u1 == 0 or v0 == v1 == 0 else FAR
        nu, nv = (v1 - v0) / size * off, -(u1 - u0) / size * off  # to the right, away from the wood
        lines.append(((u0 + nu, v0 + nv), (u1 + nu, v1 + nv)))
    corners = [_meet(lines[i - 1], line) for i, line in enumerate(lines)]
    joint = tile.joint
    pitch = f'pitch = ["{tile.length + joint[0]} mm", "{tile.width + joint[1]} mm"]'
    return f'[lay]\ngrid = "full-first"\n{pitch}\n{before}' + area_text(
        [(round(u, 3), round(v, 3)) for u, v in corners]
    )


Line = tuple[tuple[float, float], tuple[float, float]]


def _meet(one: Line, other: Line) -> tuple[float, float]:
    """Where two lines cross."""
    ((x1, y1), (x2, y2)), ((x3, y3), (x4, y4)) = one, other
    cross = (x2 - x1) * (y4 - y3) - (y2 - y1) * (x4 - x3)
    t = ((x3 - x1) * (y4 - y3) - (y3 - y1) * (x4 - x3)) / cross
    return x1 + t * (x2 - x1), y1 + t * (y2 - y1)
