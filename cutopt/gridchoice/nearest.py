"""The nearest thing that would work: what a piece that no way can hang would want, said where it stays open.

Its preferred way is fitted again with the rule that refuses it loosened in a few steps, and where another rule refuses
it then, with that loosened as well. A strip that is too thin for its rule is laid and fitted as if it were not.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice

from cutopt.fit import Carpenter, Fit, Refusal, fit
from cutopt.geometry import extent
from cutopt.gridchoice.grids import CellKey, Grid, Tried
from cutopt.job.records import Job
from cutopt.lay import Cell, Layout, Left, Shape, Surveyed, cell_ways
from cutopt.rules import Rules

MOST_RULES = 3  # loosened together
MOST_SHAPES = 24  # looked at, the largest open parts first
MOST_STRIPS = 12  # kinds of thin strips looked at
MOST_THIN_WAYS = 4  # of a thin strip
THIN = ("thinnest_strip", "thinnest_across")
FURTHER = (10, 20, 30, 40, 50, 60)  # mm
# what a rule may be loosened by, in mm, nearest first; what holds a slat on one backer is how long it may then be
LOOSER: Mapping[str, tuple[int, ...]] = {
    "longest_overhang": FURTHER,
    "face_past_bearing": FURTHER,
    "wall_face_past_bearing": FURTHER,
    "backer_past_pad": FURTHER,
    "short_fragment": (15, 30, 45, 60, 75, 90),
    "fragment_least": (-2, -4, -6, -8, -10),
    "bearing_least": (-5, -10, -15),
    "hole_wood": (-2, -4, -6),
}
BEHIND = {"fragment_held": "short_fragment"}  # the length that decides where a refusal names no rule of its own
WOULD = "it would hang if {changes}"
NOTHING_NEAR = "nothing near would do: leave it open, or try another grid start"


@dataclass(frozen=True, kw_only=True)
class Nearest:
    """Looks for what would work, a few fits a shape."""

    job: Job
    areas: Sequence[Surveyed]
    carpenter: Carpenter
    _known: dict[Shape, str] = field(default_factory=dict)
    _strips: dict[str, str] = field(default_factory=dict)

    def told(self, grid: Grid) -> Grid:
        """The grid, with the nearest thing that would work in the words of each part that no way covers."""
        settled = {key: tried for key, tried in grid.tried.items() if tried.settled}
        sizes = {
            (layout.area, cell.row, cell.col): sum(left.area2 for left in cell.left)
            for layout in grid.layouts
            for cell in layout.cells
        }
        for key in sorted(settled, key=lambda k: (-sizes[k], k)):
            shape = _preferred(settled[key])
            if shape not in self._known and len(self._known) < MOST_SHAPES:
                self._known[shape] = self.would_work(shape)
        return replace(grid, layouts=tuple(self._laid(layout, settled) for layout in grid.layouts))

    def _laid(self, layout: Layout, settled: Mapping[CellKey, Tried]) -> Layout:
        cells = []
        for cell in layout.cells:
            tried = settled.get((layout.area, cell.row, cell.col))
            if tried is not None:
                cell = self._refused(cell, tried)
            if any(left.rule in THIN for left in cell.left):
                cell = self._thin(layout, cell)
            cells.append(cell)
        return replace(layout, cells=tuple(cells))

    def _refused(self, cell: Cell, tried: Tried) -> Cell:
        """A cell that the carpentry refused."""
        reasons = {(refusal.rule, refusal.why) for refusal in tried.shapes.values()}
        more = self._known.get(_preferred(tried), NOTHING_NEAR)
        return replace(cell, left=tuple(_with(x, more) if (x.rule, x.why) in reasons else x for x in cell.left))

    def _thin(self, layout: Layout, cell: Cell) -> Cell:
        """A cell with a strip that is too thin for its rule: what the same words are said of is looked at once."""
        left: list[Left] = []
        for one in cell.left:
            if one.rule in THIN and one.why not in self._strips:
                room = len(self._strips) < MOST_STRIPS
                self._strips[one.why] = self._thinner(layout, cell, one.rule) if room else NOTHING_NEAR
            left.append(_with(one, self._strips[one.why]) if one.rule in THIN else one)
        return replace(cell, left=tuple(left))

    def _thinner(self, layout: Layout, cell: Cell, rule: str) -> str:
        """How thin a strip would have to be allowed for a cell's piece to be hung, in words."""
        rules = replace(self.job.rules, thinnest_strip=320, thinnest_across=320)
        area = self.areas[layout.area]
        area = replace(area, job=replace(area.job, rules=rules), known={})
        found: list[tuple[int, ...]] = []
        for way in islice(cell_ways(layout, cell, area), MOST_THIN_WAYS):
            fits = [self.carpenter.fit(piece.shape.outline, piece.shape.holes) for piece in way.pieces]
            if fits and all(isinstance(answer, Fit) for answer in fits):
                boxes = [extent(piece.shape.outline) for piece in way.pieces]
                found.append(tuple(math.floor(min(b[k + 2] - b[k] for b in boxes) / 320) for k in (1, 0)))
        widest = max(found, default=(0, 0), key=lambda sizes: sizes[THIN.index(rule)])
        changes = [f"{r} were {size} mm" for r, size in zip(THIN, widest, strict=True) if size * 320 < self._rule(r)]
        return WOULD.format(changes=" and ".join(changes)) if found and changes else NOTHING_NEAR

    def _rule(self, name: str) -> int:
        return int(getattr(self.job.rules, name))

    def would_work(self, shape: Shape) -> str:
        """What would let a shape be hung, in words."""
        rules, changed = self.job.rules, list[str]()
        answer: Fit | Refusal = self.carpenter.fit(shape.outline, shape.holes)
        while isinstance(answer, Refusal) and len(changed) < MOST_RULES:
            rule = BEHIND.get(answer.rule, answer.rule)
            if rule not in LOOSER or rule in changed:
                return NOTHING_NEAR
            changed.append(rule)
            rules = self._loosened(rules, rule, len(LOOSER[rule]))
            answer = self._fit(shape, rules)
        if isinstance(answer, Refusal):
            return NOTHING_NEAR
        for rule in changed:
            rules = self._tightened(shape, rules, rule)
        changes = [
            f"{rule} were {getattr(rules, rule) / 320:g} mm"
            for rule in changed
            if getattr(rules, rule) != self._rule(rule)
        ]
        return WOULD.format(changes=" and ".join(changes))

    def _tightened(self, shape: Shape, rules: Rules, rule: str) -> Rules:
        """The rules with one loosened no further than it must be."""
        low, high = 0, len(LOOSER[rule])  # the last is known to do
        while low < high:
            middle = (low + high) // 2
            if isinstance(self._fit(shape, self._loosened(rules, rule, middle)), Fit):
                high = middle
            else:
                low = middle + 1
        return self._loosened(rules, rule, high)

    def _loosened(self, rules: Rules, rule: str, steps: int) -> Rules:
        """The rules with one loosened by so many steps from what the job says; none for 0."""
        value = self._rule(rule)
        if steps:
            value = max(value + LOOSER[rule][steps - 1] * 320, 320)
        changes: Mapping[str, int] = {rule: value}
        return replace(rules, **changes)  # type: ignore[arg-type]  # only lengths are loosened

    def _fit(self, shape: Shape, rules: Rules) -> Fit | Refusal:
        return fit(shape.outline, self.job.tile, rules, shape.holes, self.carpenter.mark)


def _with(left: Left, more: str) -> Left:
    return replace(left, why=f"{left.why}; {more}")


def _preferred(tried: Tried) -> Shape:
    """The refused shape of a cell's preferred way."""
    return next(piece.shape for piece in tried.ways[0].pieces if piece.shape in tried.shapes)
