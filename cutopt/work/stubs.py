"""What a cut leaves of backers beside those that the plan lists: strips that stay on, and stubs that come off."""

from __future__ import annotations

from typing import Literal

import shapely

from cutopt.cut.holding import board_of
from cutopt.geometry import NEAR, polygons
from cutopt.work.names import listed
from cutopt.work.slate import Slate

LEAST = 2 * 320  # ticks: a narrower strip is not worth a word
TOUCH = 4.0  # ticks


Fate = Literal["stays", "sawn off", "comes away"]

_SAID: dict[Fate, str] = {
    "stays": " The strip of {} beside the notch stays on it and counts for nothing.",
    "sawn off": " Then saw the strip of {} beside the notch off where the notch ends: another board goes there.",
    "comes away": " The stub of {} that is cut off comes away: lift it off.",
}


def stubs_text(slate: Slate, n: int) -> str:
    """What to say of them at notch number `n` from 0, the cut that leaves them: nothing where there are none."""
    found: dict[Fate, list[str]] = {}
    for backer, fate in _left(slate, n):
        names = found.setdefault(fate, [])
        if f"backer {backer}" not in names:
            names.append(f"backer {backer}")
    return "".join(_SAID[fate].format(listed(found[fate])) for fate in _SAID if fate in found)


def _left(slate: Slate, n: int) -> list[tuple[int, Fate]]:
    """Wood of the tile's backers under the piece that is in no listed board and touches the cut, and what becomes of
    it: it stays if it hangs together with a board that does and lies in no other's way.
    """
    cut = slate.source.tile.tree.cuts[n]
    shape = slate.shape(cut.place)
    if len(cut.path) < 3:
        return []
    piece = shapely.Polygon(shape.outline, shape.holes)
    line = shapely.LineString([*cut.path, cut.path[0]] if cut.closed else cut.path)
    mine = [board.seat for board in slate.source.boards if board.place == cut.place]
    found: list[tuple[int, Fate]] = []
    for backer in slate.job.tile.backers:
        boards = [seat.board for seat in mine if seat.backer == backer.id]
        if not boards:  # it is off before the cut
            continue
        others = shapely.union_all([seat.board for seat in mine if seat.backer != backer.id])
        whole = board_of(backer).intersection(piece)
        for rest in polygons(whole.difference(shapely.union_all(boards))):
            if rest.buffer(-LEAST / 2).is_empty or rest.distance(line) > TOUCH:
                continue
            joined = any(board.buffer(TOUCH).intersection(rest).length > NEAR + LEAST for board in boards)
            in_the_way = bool(polygons(rest.intersection(others)))
            found.append((backer.id, "comes away" if not joined else "sawn off" if in_the_way else "stays"))
    return found
