"""Sites as large as one piece and the gaps around it, as the text of a job file."""

from __future__ import annotations

from cutopt.geometry import FloatPoint, Rail, Ring, meeting
from tests.fit.shapes import MM, Anatomy
from tests.jobs import area_text

START, FAR = 6.0, 9.0  # mm: the grid starts at the least gap; elsewhere halfway between the least and the most


def site_of(outline: Ring, tile: Anatomy, *, before: str = "") -> str:
    """What follows [tile] in a job whose only cell is filled by a piece with this ring, its home corner uncut.

    Each side of the ring is a wall: on the tile's own sides at u = 0 and v = 0 at the least gap, else at 9 mm.
    """
    first = outline.index((0, 0))
    ring = [(u / MM, v / MM) for u, v in (*outline[first:], *outline[:first])]
    walls = []
    for (u0, v0), (u1, v1) in zip(ring, (*ring[1:], *ring[:1]), strict=True):
        off = START if u0 == u1 == 0 or v0 == v1 == 0 else FAR
        walls.append(Rail(a=(u0, v0), b=(u1, v1), slack=0).slid(-off))  # away from the wood
    corners = [_corner(walls[i - 1], wall) for i, wall in enumerate(walls)]
    joint = tile.joint
    pitch = f'pitch = ["{tile.length + joint[0]} mm", "{tile.width + joint[1]} mm"]'
    return f'[lay]\ngrid = "full-first"\n{pitch}\n{before}' + area_text(
        [(round(u, 3), round(v, 3)) for u, v in corners]
    )


def _corner(one: Rail, other: Rail) -> FloatPoint:
    found = meeting(one, other)
    assert found is not None, "a corner of the ring is none"
    return found
