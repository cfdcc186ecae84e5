"""Where the wood of a piece's backers comes from, and which of its ends are sawn."""

from __future__ import annotations

import math

from cutopt.checks.evidence import Evidence, Stick
from cutopt.checks.shapes import TOLERANCE, Spot, same
from cutopt.planfile.model import Backer

IN_PLACE = ("kept", "cut", "shaved")


def stick_of(evidence: Evidence, backer: Backer) -> Stick | None:
    """The stick that a backer is made of; None for a bought one and where the plan names none that exists."""
    return evidence.sticks.get((backer.from_.source, backer.from_.backer)) if backer.from_ is not None else None


def sawn_ends(evidence: Evidence, backer: Backer) -> tuple[bool, bool]:
    """Whether the line's first and last end are sawn. The line's first end is the span's first.

    A bought backer is as long as the tile's: where it is shorter here it is cut to length, at either end. In place, a
    line drawn downwards has its ends the other way round.
    """
    stick = stick_of(evidence, backer)
    if len(backer.line) != 2:
        return (True, True)
    if backer.from_ is None:
        return (False, math.dist(*backer.line) < evidence.tile.backer_length - TOLERANCE)
    if stick is None:
        return (True, True)
    span = backer.from_.span
    ends = (not same(span[0], stick.backer.v[0]), not same(span[1], stick.backer.v[1]))
    downwards = backer.line[-1][1] < backer.line[0][1]
    return ends[::-1] if backer.state in IN_PLACE and downwards else ends


def place_in_stick(backer: Backer, spot: Spot) -> tuple[Spot, ...]:
    """Where a point of a backer lies on its stick: (off the centre line, v), for both ways the stick may be hung."""
    if backer.from_ is None or len(backer.line) != 2:
        return ()
    (x0, y0), (x1, y1) = backer.line
    length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    if length == 0:
        return ()
    d = ((x1 - x0) / length, (y1 - y0) / length)
    run = (spot[0] - x0) * d[0] + (spot[1] - y0) * d[1]
    off = (spot[0] - x0) * d[1] - (spot[1] - y0) * d[0]
    first, last = backer.from_.span
    return ((off, first + run), (-off, last - run))


def was_there(backer: Backer, stick: Stick, spot: Spot, was: tuple[Spot, ...]) -> bool:
    """Whether a point of a hung backer is one of the `was` places (u, v in the tile) of its stick."""
    found = [(stick.backer.u + off, v) for off, v in place_in_stick(backer, spot)]
    return any(same(one[0], other[0]) and same(one[1], other[1]) for one in found for other in was)
