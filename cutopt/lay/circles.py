"""Circles in the order of laying: pieces around posts that each have to be laid before the next, all the way round.

┌────▓────┐  the upper piece comes from below, since its notch opens upwards, the lower one from above: each has to
│         │  be laid before the other. One of them is filled in another way: split through its post, so that its
├─────────┤  halves come from its sides; or, where a post stands inside it, notched to another side.
│         │
└────▓────┘
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from cutopt.lay.comings import BESIDE, At, Kind, Wait, kind_of, last_first, waits_of
from cutopt.lay.filling import cell_ways, refilled, turned_ways, unfilled
from cutopt.lay.records import Cell, Layout, Left, Piece, Shape, Way
from cutopt.lay.surveyed import Surveyed

CIRCLE = "it and its neighbours each have to be laid before the next, to come to their posts, and no split of it helps"
Waits = Mapping[At, tuple[Wait, ...]]


def untangled(layout: Layout, area: Surveyed, refused: Collection[Shape] = ()) -> Layout:
    """The layout with some cells filled in another way, so that its cells can be laid one after the other.

    `refused`: shapes not to be used. Of a circle for whose cells no other way is known one stays open.
    """
    filled = freed(layout, area, refused)
    return refilled(layout, filled, area) if filled else layout


def freed(layout: Layout, area: Surveyed, refused: Collection[Shape] = ()) -> dict[At, Way]:
    """The cells that are filled in another way for that, and how."""
    close = _close(layout, area)
    if not close:
        return {}
    tangle, here = _Tangle.of(layout, close, area, refused), layout.by_cell
    waits = {at: tangle.waits(at, here[at]) for at in close}
    filled: dict[At, Way] = {}
    while late := _late(waits):
        circled = _circled(late, waits)
        at, way = next(tangle.broken(late, circled), None) or tangle.least(circled)
        filled[at], waits[at] = way, tangle.waits(at, way.pieces)
        if not way.pieces:  # its ground is bare for the others
            tangle = tangle.without(at)
            waits = {one: tuple(wait for wait in some if at not in wait) for one, some in waits.items()}
    return filled


def _close(layout: Layout, area: Surveyed) -> list[At]:
    """The cells around posts beside such cells, where not all of that is around one post.

    Others are in no circle: pieces around one post all come from beyond it, away from each other.
    """
    notched = list(dict.fromkeys((piece.row, piece.col) for piece in layout.pieces if piece.shape.notches))
    posts: dict[At, set[int]] = {at: set() for at in notched}
    for number, post in area.posts_in(layout.origin, notched):
        posts[notched[number]].add(post)
    return [
        (row, col)
        for row, col in notched
        if any(len(posts[row, col] | posts.get((row + y, col + x), set())) > 1 for x, y in BESIDE)
        and any((row + y, col + x) in posts for x, y in BESIDE)
    ]


def _late(waits: Waits) -> set[At]:
    """The cells that cannot be laid, since each waits for another of them."""
    turns = sorted({one for at, some in waits.items() for one in (at, *(x for wait in some for x in wait))})
    return set(last_first(turns, waits)[1])


def _circled(late: set[At], waits: Waits) -> list[At]:
    """Those for which others wait: the circles, without what only waits for one."""
    core = late
    while core != (held := {one for at in core for wait in waits[at] for one in wait} & core):
        core = held
    return sorted(core)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Tangle:
    """A layout whose cells may wait for each other. `cells` and `kinds` are of those and the ones beside them."""

    layout: Layout
    area: Surveyed
    cells: Mapping[At, Cell]
    kinds: Mapping[At, Kind]
    refused: Collection[Shape]

    @classmethod
    def of(cls, layout: Layout, close: Collection[At], area: Surveyed, refused: Collection[Shape]) -> _Tangle:
        """The cells that are close to each other's posts, and what is beside them."""
        near = {(row + y, col + x) for row, col in close for x, y in ((0, 0), *BESIDE)}
        cells = {at: cell for cell in layout.cells if (at := (cell.row, cell.col)) in near}
        kinds = {at: kind_of(cell) for at, cell in cells.items()}
        return cls(layout=layout, area=area, cells=cells, kinds=kinds, refused=refused)

    def waits(self, at: At, pieces: tuple[Piece, ...]) -> tuple[Wait, ...]:
        """What a cell with these pieces waits for."""
        return waits_of(pieces, self.cells[at], self.layout, self.area, self.kinds)

    def broken(self, late: set[At], circled: list[At]) -> Iterator[tuple[At, Way]]:
        """Cells of circles and ways in which they need none of the cells that are late; the best first."""
        for ways_of in (cell_ways, turned_ways):
            found = [
                (_open2(way.left) > _open2(self.cells[at].left), len(way.pieces), number, at, way)
                for at in circled
                for number, way in enumerate(ways_of(self.layout, self.cells[at], self.area))
                if way.pieces and not any(piece.shape in self.refused for piece in way.pieces)
            ]
            for *_, at, way in sorted(found, key=lambda one: one[:4]):
                if all(wait - late for wait in self.waits(at, way.pieces)):
                    yield at, way

    def least(self, circled: list[At]) -> tuple[At, Way]:
        """The cell of circles that leaves the least open when nothing is laid in it."""
        found = [(at, unfilled(self.layout, self.cells[at], "mark", CIRCLE, self.area)) for at in circled]
        return min(found, key=lambda one: (_open2(one[1].left), one[0]))

    def without(self, at: At) -> _Tangle:
        """The same where a cell stays open."""
        return replace(self, kinds={**self.kinds, at: (True, self.cells[at].liftable)})


def _open2(left: Collection[Left]) -> int:
    """Twice the area that is left open, square ticks."""
    return sum(one.area2 for one in left)
