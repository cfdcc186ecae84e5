"""What a cut leaves of backers beside those that the plan lists: strips that stay on, and stubs that come off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import shapely

from cutopt.cut.holding import board_of
from cutopt.geometry import NEAR, covered, polygons
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
    """What to say of them at cut number `n` from 0, the one that leaves them: nothing where there are none."""
    found: dict[Fate, list[str]] = {}
    for backer, fate in _left(slate, n) if slate.source.tile.tree.cuts[n].bent else _freed(slate, n):
        names = found.setdefault(fate, [])
        if f"backer {backer}" not in names:
            names.append(f"backer {backer}")
    return "".join(_SAID[fate].format(listed(found[fate])) for fate in _SAID if fate in found)


def fallen(slate: Slate, n: int) -> str:
    """What comes away with a straight cut besides the part beyond it, to be said after that."""
    stubs = sorted({backer for backer, _ in _freed(slate, n)}) if len(slate.source.tile.tree.cuts[n].path) == 2 else []
    return f"; the stub of {listed([f'backer {backer}' for backer in stubs])} comes away" if stubs else ""


def held_stubs(slate: Slate, screws: Sequence[str]) -> list[int]:
    """The backers of which a stub under a piece is loose once these screws are out: no listed board is made of it."""
    source, out = slate.source, [screw for screw in slate.job.tile.screws if screw.id in screws]
    pieces = [shapely.Polygon(slate.shape(p).outline) for p in range(len(source.tile.pieces))]
    found = set()
    for screw in out:
        at = shapely.Point(screw.at)
        boards = [board.seat.board for board in source.boards if board.seat.backer == screw.backer]
        if any(piece.covers(at) for piece in pieces) and not any(board.covers(at) for board in boards):
            found.add(screw.backer)
    return sorted(found)


def _freed(slate: Slate, n: int) -> Iterator[tuple[int, Fate]]:
    """Stubs that a straight cut leaves under its piece, and no screw holds: they fall with the last cut beside them."""
    source, tile = slate.source, slate.job.tile
    cut = source.tile.tree.cuts[n]
    shape = slate.shape(cut.place)
    piece, line = shapely.Polygon(shape.outline, shape.holes), shapely.LineString(cut.path)
    later = shapely.union_all([shapely.LineString(one.path) for one in source.tile.tree.cuts[n + 1 :]])
    for backer in tile.backers:
        in_now = [s for s in tile.screws if s.backer == backer.id and s.id not in source.screws_early]
        if not in_now and backer.id not in source.tile.pattern.kept:
            continue  # it is off before the cut
        boards = [b.seat.board for b in source.boards if b.place == cut.place and b.seat.backer == backer.id]
        for rest in polygons(board_of(backer).intersection(piece).difference(shapely.union_all(boards))):
            if rest.buffer(-LEAST / 2).is_empty or rest.distance(line) > TOUCH or rest.distance(later) <= TOUCH:
                continue
            held = any(covered([s.at for s in in_now], rest))
            joined = any(board.buffer(TOUCH).intersection(rest).length > NEAR + LEAST for board in boards)
            if not held and not joined:
                yield backer.id, "comes away"


def _left(slate: Slate, n: int) -> list[tuple[int, Fate]]:
    """Wood of the tile's backers under the piece that is in no listed board and touches the cut, and what becomes of
    it: it stays if it hangs together with a board that does and lies in no other's way.
    """
    cut = slate.source.tile.tree.cuts[n]
    shape = slate.shape(cut.place)
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
