"""The order in which the cells of an area are laid.

From the start wall row by row towards the way out. A piece that is notched around a post goes on to it sideways, its
opening first; the cell that it comes from has to be bare, so it is laid after. What lies over a drain comes last, so
that it can be lifted.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping, Sequence

from cutopt.lay.comings import At, kind_of, last_first, waits_of
from cutopt.lay.laying import Surveyed
from cutopt.lay.records import Layout

Turn = tuple[bool, bool, int, int]  # open, over a drain, row and column as they are come to
SKEW = math.radians(30)  # a way out that faces a corner more than this is left along either side


def laying_order(layout: Layout, area: Surveyed) -> list[At]:
    """Rows and columns of an area's cells in their order, those that stay open at the end."""
    leaving = area.site.leaving
    down, back = leaving[1] < -math.cos(SKEW), leaving[0] < -math.sin(SKEW)
    turns: dict[At, Turn] = {}
    for cell in layout.cells:
        row, col = (-cell.row if down else cell.row), (-cell.col if back else cell.col)
        turns[cell.row, cell.col] = (*kind_of(cell), row, col)
    kinds = {at: turn[:2] for at, turn in turns.items()}
    pieces = layout.by_cell
    waits = {
        (cell.row, cell.col): waits_of(pieces.get((cell.row, cell.col), ()), cell, layout, area, kinds)
        for cell in layout.cells
        if cell.kind == "cut"
    }
    order: list[At] = []
    for kind in sorted(set(kinds.values())):
        of_kind = {at: turn for at, turn in turns.items() if turn[:2] == kind}
        chosen, _ = last_first(sorted(of_kind, key=lambda at: turns[at]), waits)
        order += _sorted(of_kind, chosen)
    return order


def _sorted(turns: Mapping[At, Turn], followers: Mapping[At, Sequence[At]]) -> list[At]:
    """By their turns, but each before its followers; of a circle that laying could not break the first goes first."""
    waiting = dict.fromkeys(turns, 0)
    for one in (one for some in followers.values() for one in some):
        waiting[one] += 1
    ready = [(turns[at], at) for at, count in waiting.items() if not count]
    heapq.heapify(ready)
    by_turn = sorted(turns, key=lambda at: turns[at])
    order: dict[At, None] = {}
    while len(order) < len(turns):
        at = heapq.heappop(ready)[1] if ready else next(at for at in by_turn if at not in order)
        if at in order:
            continue
        order[at] = None
        for follower in followers[at]:
            waiting[follower] -= 1
            if not waiting[follower]:
                heapq.heappush(ready, (turns[follower], follower))
    return list(order)
