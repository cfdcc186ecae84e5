"""The walk over grid starts: those that may win are worked out in the order of their bound, within a count of fits."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from cutopt.errors import NoPlan
from cutopt.fit import Carpenter
from cutopt.geometry import polygon
from cutopt.gridchoice.grids import Grid, Turn, cut_out, hung_in_turns, worked_out
from cutopt.gridchoice.nearest import Nearest
from cutopt.gridchoice.pricing import bound, charge_of, likely, tiles_for
from cutopt.job.records import Job
from cutopt.lay import Layout, Piece, Surveyed, lay, starts
from cutopt.tile import Point

# the limit of the search is a count of fits worked out, so that every machine finds the same; with all around them they
# take 3 ms each where walls are square and up to 26 where they are oblique (benchmarked on real roofs, two cores)
FITS_A_SECOND = 60
MOST_RANKED = 4  # grids kept for the case that the wood for the best one does not do
ALWAYS = 2  # the first starts of an area, full-first and centred, are always worked out: `best` is never worse


@dataclass(frozen=True, kw_only=True, slots=True)
class Progress:
    """How far the search is: grid starts done of all, the fewest tiles in all so far and a bound under them."""

    done: int
    of: int
    best: int | None
    bound: int | None


Report = Callable[[Progress], None]


@dataclass(frozen=True, kw_only=True)
class Choice:
    """The best grids, the best first, how many starts were looked at and worked out, whether none was left undecided,
    and whether the search was interrupted.
    """

    ranked: tuple[Grid, ...]
    considered: int
    expanded: int
    finished: bool
    interrupted: bool


@dataclass(kw_only=True, slots=True)
class _Walk:
    """How far the walk is: layouts chosen, the best grid and all that were worked out, starts left undecided."""

    chosen: list[Layout]
    best: Grid
    known: list[Grid]
    expanded: int
    of: int
    undecided: int = 0
    interrupted: bool = False


@dataclass(frozen=True, kw_only=True)
class Chooser:
    """Walks over the grid starts of a job's areas."""

    areas: Sequence[Surveyed]
    job: Job
    carpenter: Carpenter
    progress: Report | None
    _priced: dict[tuple[tuple[int, Point, tuple[Piece, ...]], ...], float] = field(default_factory=dict)

    def choose(self) -> Choice:
        """Settle area by area, since areas share tiles. Raises `NoPlan` where nothing can be laid.

        Interrupted (Ctrl-C) after the first start is worked out, it is the best so far.
        """
        options = [[lay(area, origin) for origin in starts(area)] for area in self.areas]
        chosen = [layouts[0] for layouts in options]
        best = worked_out(chosen, self.areas, self.job, self.carpenter)
        walk = _Walk(chosen=chosen, best=best, known=[best], expanded=len(self.areas), of=sum(map(len, options)))
        try:
            self._walked(walk, options)
        except KeyboardInterrupt:
            walk.interrupted = True
        self._report(walk.of, walk)
        self._refuse_nothing(walk.best)
        return Choice(
            ranked=tuple(sorted(walk.known, key=lambda grid: grid.rank)[:MOST_RANKED]),
            considered=walk.of,
            expanded=walk.expanded,
            finished=walk.undecided == 0 and not walk.interrupted and len(self.areas) == 1,
            interrupted=walk.interrupted,
        )

    def _walked(self, walk: _Walk, options: Sequence[list[Layout]]) -> None:
        """Work out the starts of each area that may win, those of the other areas as chosen so far."""
        for number, layouts in enumerate(options):
            for layout in self._in_order(layouts)[1:]:
                trial = [layout if k == number else x for k, x in enumerate(walk.chosen)]
                always = layout in layouts[:ALWAYS]
                if not always and not self._may_win(trial, walk.best):
                    walk.undecided += self._bound(trial) <= walk.best.price  # dropped, but not for cells filled anyhow
                    continue
                if not always and self.carpenter.asked > self.job.cutting.seconds * FITS_A_SECOND:
                    walk.undecided += 1
                    continue
                found = self._work_out(trial, math.inf if always else walk.best.price)
                walk.expanded += 1
                if found is None:
                    continue
                walk.known.append(found)
                if found.rank < walk.best.rank:
                    walk.best, walk.chosen = found, trial
                self._report(walk.expanded, walk)

    def told(self, grid: Grid, areas: Sequence[Surveyed]) -> Grid:
        """The grid of these areas, with the nearest thing that would work where a part stays open."""
        return Nearest(job=self.job, areas=areas, carpenter=self.carpenter).told(grid)

    def _in_order(self, layouts: list[Layout]) -> list[Layout]:
        """The starts that are always worked out, then the others by their bound."""
        rest = sorted(layouts[ALWAYS:], key=lambda x: (self._likely([x]), len(x.pieces), x.origin))
        return [*layouts[:ALWAYS], *rest]

    def _may_win(self, trial: Sequence[Layout], best: Grid) -> bool:
        """Whether a start could take fewer tiles, or as many with fewer pieces to cut."""
        bound = self._bound(trial)
        bound = max(bound, self._likely(trial)) if bound <= best.price else bound
        fewer = sum(len(layout.pieces) for layout in trial) < len(best.pieces)
        return bound < best.price or (bound == best.price and fewer)

    def _bound(self, layouts: Sequence[Layout]) -> float:
        """A lower bound on the price of a choice of layouts."""
        total = wood = 0.0
        for layout in layouts:
            area = self.areas[layout.area]
            certain, pieces = bound(layout, area)
            total += area.site.count * certain
            wood += area.site.count * pieces
        return total + tiles_for(max(wood - len(self.job.rack), 0.0))  # an offcut holds no more than a tile

    def _likely(self, layouts: Sequence[Layout]) -> float:
        """A bound on the price of a choice of layouts whose cells are filled as laid, or stay open."""
        key = tuple((layout.area, layout.origin, layout.pieces) for layout in layouts)
        if key not in self._priced:
            known = likely(layouts, self.areas, self.job, self.carpenter)
            self._priced[key] = self._bound(layouts) if known is None else known
        return self._priced[key]

    def _work_out(self, layouts: Sequence[Layout], limit: float) -> Grid | None:
        """The layouts worked out; None as soon as what the carpentry refuses makes them dearer than the limit."""
        last: Turn | None = None
        for last in hung_in_turns(layouts, self.areas, self.job, self.carpenter):
            open_ = sum(charge_of(cell, self.job.tile) for cell in last.settled)
            if last.stock.refused and limit < math.inf and self._likely(last.layouts) + open_ > limit:
                return None
        return cut_out(last, self.areas, self.job, self.carpenter) if last else None

    def _report(self, done: int, walk: _Walk) -> None:
        if self.progress is not None:
            best = walk.best
            whole = sum(self.areas[x.area].site.count * x.whole for x in best.layouts)
            self.progress(Progress(done=done, of=walk.of, best=whole + best.cut.count, bound=whole + best.cut.bound))

    def _refuse_nothing(self, best: Grid) -> None:
        if best.pieces or any(layout.whole for layout in best.layouts):
            return
        reasons = sorted({left.rule for layout in best.layouts for cell in layout.cells for left in cell.left})
        size = max(polygon(area.site.outline).length for area in self.areas)
        raise NoPlan(
            what=f"nothing can be laid in {self.job.name!r} (longest way around an area {size / 320_000:.2f} m)",
            rule=reasons[0] if reasons else "wall_gap",
            remedy="loosen it in [rules], or choose a smaller tile or another grid start",
        )
