"""The walk over grid starts: those that may win are worked out in the order of their bound, within a count of fits.

Where a job leaves the slats' direction or the pattern's phase open, each start is there once for each of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from cutopt.aside import beside, foreseen, shared
from cutopt.errors import NoPlan
from cutopt.fit import Carpenter
from cutopt.geometry import polygon
from cutopt.gridchoice.grids import Grid, Turn, cut_out, hung_in_turns
from cutopt.gridchoice.nearest import Nearest
from cutopt.gridchoice.pricing import Prices, bound, charge_of, likely, price_for, prices_of
from cutopt.gridchoice.scouting import Scout
from cutopt.job.records import PHASES, Job
from cutopt.lay import Cell, Layout, Piece, Surveyed, lay, plain_starts, starts
from cutopt.tile import Point

# the limit of the search is a count of fits worked out, so that every machine finds the same; with all around them they
# take 3 ms each where walls are square and up to 26 where they are oblique (benchmarked on real roofs, two cores)
FITS_A_SECOND = 60
PIECES_A_SECOND = 300  # laid, before the search: those of a site with many posts take up to 3 ms each
PIECES_ASIDE = 150  # to be laid by a process beside this one: for fewer it is not worth its start
PRICES_ASIDE = 10  # of grid starts, to be worked out there
MOST_RANKED = 4  # grids kept for the case that the wood for the best one does not do


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
    """The best grids, the best first, those by plain rules, how many starts were looked at and worked out, whether none
    was left undecided, and whether the search was interrupted.
    """

    ranked: tuple[Grid, ...]
    plain: tuple[Grid, ...]
    considered: int
    expanded: int
    finished: bool
    interrupted: bool

    @property
    def finalists(self) -> tuple[Grid, ...]:
        """The best grids and those by plain rules."""
        return (*self.ranked, *(grid for grid in self.plain if not any(grid is other for other in self.ranked)))


_Key = tuple[Point, Point, tuple[bool, ...]]  # the origin, a cell's size, and the turns of the first cells

_Priced = tuple[tuple[int, tuple[Cell, ...], tuple[Piece, ...]], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Start:
    """A candidate of one area: the area with slats and phase settled, laid on a grid."""

    key: _Key
    area: Surveyed
    layout: Layout


_Trial = tuple[_Start, ...]  # one start for each area


@dataclass(kw_only=True, slots=True)
class _Walk:
    """How far the walk is: starts chosen, the best grid and all that were worked out, starts left undecided.

    `tried`: the trials worked out; `of`: how many starts there are.
    """

    chosen: _Trial
    best: Grid
    known: list[Grid]
    tried: set[tuple[_Key, ...]]
    of: int
    undecided: int = 0
    interrupted: bool = False

    def with_start(self, number: int, start: _Start) -> _Trial:
        """The starts as chosen so far, one of them another."""
        return (*self.chosen[:number], start, *self.chosen[number + 1 :])

    @property
    def expanded(self) -> int:
        """Starts that were worked out."""
        return len({(number, key) for keys in self.tried for number, key in enumerate(keys)})

    @property
    def decided(self) -> bool:
        """Whether no start could be better than the best: none is undecided, and none worked out has so low a bound."""
        others = [grid.price - grid.cut.value + grid.cut.least for grid in self.known if grid is not self.best]
        return self.undecided == 0 and all(least > self.best.price - 1e-6 for least in others)


@dataclass(frozen=True, kw_only=True)
class Chooser:
    """Walks over the grid starts of a job's areas."""

    areas: Sequence[Surveyed]
    job: Job
    carpenter: Carpenter
    progress: Report | None
    _priced: dict[_Priced, float] = field(default_factory=dict)

    @property
    def _prices(self) -> Prices:
        return prices_of(self.job)

    def choose(self) -> Choice:
        """Settle area by area, since areas share tiles. Raises `NoPlan` where nothing can be laid.

        Interrupted (Ctrl-C) after the first start is worked out, it is the best so far.
        """
        most = round(self.job.cutting.seconds * PIECES_A_SECOND / max(len(self.areas), 1))
        options = [_options(area, most) for area in self.areas]
        left = sum(_count(area) for area in self.areas) - sum(map(len, options))
        trials = self._plain(options)
        of = left + sum(map(len, options))
        with Scout(carpenter=self.carpenter) as scout:
            best = self._found(trials[0], math.inf, scout, trials[1:])
            assert best is not None  # nothing is given up without a limit
            walk = _Walk(chosen=trials[0], best=best, known=[best], tried={_keys(trials[0])}, of=of, undecided=left)
            plain = walk.known
            try:
                for number, trial in enumerate(trials[1:], start=2):
                    self._expand(walk, trial, math.inf, scout, trials[number:])
                plain = list(walk.known)
                self._walked(walk, options, scout)
            except KeyboardInterrupt:
                walk.interrupted = True
        self._report(walk.of, walk)
        self._refuse_nothing(walk.best)
        return Choice(
            ranked=tuple(sorted(walk.known, key=_rank)[:MOST_RANKED]),
            plain=tuple(plain),
            considered=walk.of,
            expanded=walk.expanded,
            finished=walk.decided and not walk.interrupted and len(self.areas) == 1,
            interrupted=walk.interrupted,
        )

    def _plain(self, options: Sequence[Mapping[_Key, _Start]]) -> list[_Trial]:
        """All areas at full-first and all centred, in each way of slats and phase, the default first.

        These are always worked out: what is found is never worse than any of them.
        """
        trials: dict[tuple[_Key, ...], _Trial] = {}
        for alike in zip(*(area.variants for area in self.areas), strict=True):
            for origins in zip(*(plain_starts(area) for area in alike), strict=True):
                keys = tuple(_key(area, origin) for area, origin in zip(alike, origins, strict=True))
                trials[keys] = tuple(found[key] for found, key in zip(options, keys, strict=True))
        return list(trials.values())

    def _walked(self, walk: _Walk, options: Sequence[Mapping[_Key, _Start]], scout: Scout) -> None:
        """Work out the starts of each area that may win, those of the other areas as chosen so far."""
        for number, found in enumerate(options):
            order = self._in_order(found.values(), walk)
            for at, start in enumerate(order, start=1):
                trial = walk.with_start(number, start)
                if _keys(trial) in walk.tried:
                    continue
                layouts = [one.layout for one in trial]
                if not self._may_win(layouts, walk.best):
                    # dropped, but where cells may be filled in other ways nothing is decided
                    walk.undecided += self._bound(layouts) <= walk.best.price
                elif self.carpenter.asked > self.job.cutting.seconds * FITS_A_SECOND:
                    walk.undecided += 1
                else:
                    limit = math.inf if _bare(walk.best) else walk.best.price
                    self._expand(walk, trial, limit, scout, self._next(walk, number, order[at:]))

    def _next(self, walk: _Walk, number: int, rest: Sequence[_Start]) -> Iterator[_Trial]:
        """The trials that are worked out next, as far as can be told."""
        for start in rest:
            trial = walk.with_start(number, start)
            if _keys(trial) not in walk.tried and self._may_win([one.layout for one in trial], walk.best):
                yield trial

    def _expand(self, walk: _Walk, trial: _Trial, limit: float, scout: Scout, after: Iterable[_Trial]) -> None:
        """Work a trial out and note what it comes to; it is given up as soon as it is sure to be above the limit."""
        found = self._found(trial, limit, scout, after)
        walk.tried.add(_keys(trial))
        if found is None:
            walk.undecided += self._bound([start.layout for start in trial]) <= walk.best.price
            return
        walk.known.append(found)
        if _rank(found) < _rank(walk.best):
            walk.best, walk.chosen = found, trial
        self._report(walk.expanded, walk)

    def told(self, grid: Grid, areas: Sequence[Surveyed]) -> Grid:
        """The grid of these areas, with the nearest thing that would work where a part stays open."""
        return Nearest(job=self.job, areas=areas, carpenter=self.carpenter).told(grid)

    def _in_order(self, found: Iterable[_Start], walk: _Walk) -> list[_Start]:
        """An area's starts by their bound, without those of a lone area that are worked out already."""
        rest = [start for start in found if (start.key,) not in walk.tried]
        self._foresee([[start.layout] for start in rest])
        return sorted(rest, key=lambda x: (self._likely([x.layout]), len(x.layout.pieces), x.layout.origin))

    def _may_win(self, trial: Sequence[Layout], best: Grid) -> bool:
        """Whether a start could take fewer tiles, or as many with fewer pieces to cut."""
        if _bare(best):
            return any(layout.pieces or layout.whole for layout in trial)
        bound = self._bound(trial)
        bound = max(bound, self._likely(trial)) if bound <= best.price else bound
        fewer = sum(len(layout.pieces) for layout in trial) < len(best.pieces)
        return bound < best.price or (bound == best.price and fewer)

    def _bound(self, layouts: Sequence[Layout]) -> float:
        """A lower bound on the price of a choice of layouts."""
        prices, racked = self._prices, len(self.job.rack)  # an offcut holds no more than a tile
        certain = wood = cells = 0.0
        for layout in layouts:
            area = self.areas[layout.area]
            least = bound(layout, area, prices)
            certain += area.site.count * least.certain
            wood += area.site.count * least.wood
            cells += area.site.count * least.cells
        return certain + max(price_for(max(wood - racked, 0.0), prices), cells - racked * prices.tile)

    def _likely(self, layouts: Sequence[Layout]) -> float:
        """A bound on the price of a choice of layouts whose cells are filled as laid, or stay open."""
        key = _priced_as(layouts)
        if key not in self._priced:
            self._priced[key] = self._least_of(layouts)
        return self._priced[key]

    def _foresee(self, choices: Sequence[Sequence[Layout]]) -> None:
        """Work out the likely prices of choices of layouts; of many at once, on all processors."""
        wanted = {_priced_as(layouts): layouts for layouts in choices}
        foreseen(self._priced, wanted, self._least_of, least=PRICES_ASIDE)

    def _least_of(self, layouts: Sequence[Layout]) -> float:
        known = likely(layouts, self.areas, self.job, self.carpenter)
        return self._bound(layouts) if known is None else known

    def _found(self, trial: _Trial, limit: float, scout: Scout, after: Iterable[_Trial]) -> Grid | None:
        """The trial worked out by the scout, or else here, while it is sent to the first of those after."""
        brought = scout.back(_keys(trial), limit)
        if brought is None:
            ahead = next(iter(after), None) if beside() else None
            if ahead is not None:
                scout.send(_keys(ahead), limit, partial(self._work_out, ahead, limit))
            return self._work_out(trial, limit)
        return brought.grid and replace(brought.grid, areas=tuple(start.area for start in trial))

    def _work_out(self, trial: _Trial, limit: float) -> Grid | None:
        """The trial worked out; None as soon as what the carpentry refuses makes it dearer than the limit."""
        layouts, areas = [start.layout for start in trial], [start.area for start in trial]
        last: Turn | None = None
        for last in hung_in_turns(layouts, areas, self.job, self.carpenter):
            open_ = self._prices.open * sum(charge_of(cell, self.job.tile) for cell in last.settled)
            if last.stock.refused and limit < math.inf and self._likely(last.layouts) + open_ > limit:
                return None
        return cut_out(last, areas, self.job, self.carpenter, limit=limit) if last else None

    def _report(self, done: int, walk: _Walk) -> None:
        if self.progress is not None:
            best = walk.best
            whole = sum(self.areas[x.area].site.count * x.whole for x in best.layouts)
            self.progress(Progress(done=done, of=walk.of, best=whole + best.cut.count, bound=whole + best.cut.bound))

    def _refuse_nothing(self, best: Grid) -> None:
        if not _bare(best):
            return
        reasons = sorted({left.rule for layout in best.layouts for cell in layout.cells for left in cell.left})
        size = max(polygon(area.site.outline).length for area in self.areas)
        raise NoPlan(
            what=f"nothing can be laid in {self.job.name!r} (longest way around an area {size / 320_000:.2f} m)",
            rule=reasons[0] if reasons else "wall_gap",
            remedy="loosen it in [rules], or choose a smaller tile or another grid start",
        )


def _options(area: Surveyed, most: int) -> dict[_Key, _Start]:
    """An area's starts, in each way of slats and phase; those that lay the same cells are there once.

    Once so many pieces are laid no further start is looked at, but those that are always worked out.
    """
    always = {_key(settled, origin) for settled in area.variants for origin in plain_starts(settled)}
    wanted: dict[_Key, Surveyed] = {}
    for settled in area.variants:
        for origin in starts(settled):
            wanted.setdefault(_key(settled, origin), settled)
    found: dict[_Key, _Start] = {}
    laid, rest = 0, list(wanted)
    while rest := rest if laid < most else [key for key in rest if key in always]:
        # so many as the limit may take, going by those before; what it does not take was laid in vain
        ready = math.ceil((most - laid) * len(found) / laid) if 0 < laid < most else 1
        some, rest = rest[:ready], rest[ready:]
        for start in _laid(some, wanted, least=PIECES_ASIDE * len(found) // max(laid, 1)):
            if laid < most or start.key in always:
                found[start.key] = start
                laid += len(start.layout.pieces)
    return found


def _laid(keys: Sequence[_Key], areas: Mapping[_Key, Surveyed], *, least: int) -> Iterator[_Start]:
    """Starts of an area, laid. `least`: so many are worth a process beside this one."""
    layouts = shared(lambda some: [lay(areas[key], key[0]) for key in some], keys, least=least)
    for key, layout in zip(keys, layouts, strict=True):
        yield _Start(key=key, area=areas[key], layout=layout)


def _count(area: Surveyed) -> int:
    """How many starts an area has."""
    return len({_key(settled, origin) for settled in area.variants for origin in starts(settled)})


def _key(area: Surveyed, origin: Point) -> _Key:
    """What tells a start from the others of its area: alternate turned across is alternate along at phase 1."""
    return origin, area.cell_size, tuple(area.turned(0, col) for col in range(max(PHASES.values())))


def _priced_as(layouts: Sequence[Layout]) -> _Priced:
    """What the price of a choice of layouts goes by."""
    return tuple((layout.area, layout.cells, layout.pieces) for layout in layouts)


def _keys(trial: _Trial) -> tuple[_Key, ...]:
    return tuple(start.key for start in trial)


def _bare(grid: Grid) -> bool:
    """Whether nothing is laid."""
    return not grid.pieces and not any(layout.whole for layout in grid.layouts)


def _rank(grid: Grid) -> tuple[bool, tuple[float, float]]:
    """Lower is better; to lay nothing is the worst, however little it is charged."""
    return _bare(grid), grid.rank
