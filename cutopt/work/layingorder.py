"""The order in which the cells of an area are laid.

From the start wall row by row towards the way out. A piece that is notched around a post goes on to it sideways, its
opening first; the cell that it comes from has to be bare, so it is laid after. What lies over a drain comes last, so
that it can be lifted.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Mapping

from cutopt.geometry import polygon
from cutopt.lay.records import Cell, Layout, Notch

At = tuple[int, int]  # row and column
Turn = tuple[bool, bool, int, int]  # open, over a drain, row and column as they are come to
SKEW = math.radians(30)  # an opening that faces a corner more than this is entered from either side


def laying_order(layout: Layout, leaving: tuple[float, float]) -> list[At]:
    """Rows and columns of the cells in their order, those that stay open at the end. `leaving`: the way out, as a
    direction in the layout frame.
    """
    down, back = leaving[1] < -math.cos(SKEW), leaving[0] < -math.sin(SKEW)
    turns: dict[At, Turn] = {}
    for cell in layout.cells:
        row, col = (-cell.row if down else cell.row), (-cell.col if back else cell.col)
        turns[cell.row, cell.col] = (cell.kind == "left", cell.liftable, row, col)
    after: dict[At, set[At]] = {at: set() for at in turns}
    pieces = layout.by_cell
    for cell in layout.cells:
        at = (cell.row, cell.col)
        for notch in (notch for piece in pieces.get(at, ()) for notch in piece.shape.notches if not notch.closed):
            came = [one for one in _came_from(notch, cell) if one in turns and turns[one][:2] == turns[at][:2]]
            if came:  # of two ways in, the one that is open longer
                after[max(came, key=lambda one: turns[one])].add(at)
    return _sorted(turns, after)


def _sorted(turns: Mapping[At, Turn], after: Mapping[At, set[At]]) -> list[At]:
    """By their turns, but none before those that it has to come after; of a circle, the first goes first."""
    followers: dict[At, list[At]] = {}
    for at, before in after.items():
        for one in before:
            followers.setdefault(one, []).append(at)
    waiting = {at: len(before) for at, before in after.items()}
    ready = [(turns[at], at) for at, count in waiting.items() if not count]
    heapq.heapify(ready)
    by_turn = sorted(turns, key=lambda at: turns[at])
    order: dict[At, None] = {}
    while len(order) < len(turns):
        at = heapq.heappop(ready)[1] if ready else next(at for at in by_turn if at not in order)
        if at in order:
            continue
        order[at] = None
        for follower in followers.get(at, ()):
            waiting[follower] -= 1
            if not waiting[follower]:
                heapq.heappush(ready, (turns[follower], follower))
    return list(order)


def _came_from(notch: Notch, cell: Cell) -> Iterator[At]:
    """The cells that a piece may pass over on its way around its post: the one opposite to where the notch opens to;
    where that is a corner, either of two.
    """
    for u, v in _openings(notch):
        x, y = (-v, u) if cell.quarter_turn else (u, v)
        yield cell.row - y, cell.col - x


def _openings(notch: Notch) -> Iterator[tuple[int, int]]:
    """The directions that a notch opens to, in the tile frame: one, or two for a corner."""
    if len(notch.path) < 3 or polygon(notch.path).area == 0:
        return
    (u0, v0), (u1, v1) = notch.path[0], notch.path[-1]
    middle = polygon(notch.path).centroid
    du, dv = v1 - v0, u0 - u1
    if du * ((u0 + u1) / 2 - middle.x) + dv * ((v0 + v1) / 2 - middle.y) < 0:
        du, dv = -du, -dv
    least = math.sin(SKEW) * math.hypot(du, dv)
    if abs(du) > least:
        yield (1 if du > 0 else -1), 0
    if abs(dv) > least:
        yield 0, (1 if dv > 0 else -1)
