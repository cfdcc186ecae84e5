"""Strategy anywhere: pieces at any place on the source whose re-hang is feasible.

The prices of the linear programme say which pieces would be worth having on one tile together. Tiles are filled at
random with those, in shelves along the slats or across them, by the pieces' true shapes; the places that the best fills
need are asked of the carpenter, and those that can be hung join the places that pieces have already. Places that no set
near its price wants are left out again, so that the programme over all places, which is solved at last as ever, stays
small.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice

import numpy as np

from cutopt.cut.companions import fewest_together
from cutopt.cut.nesting import Lie, Nester, Spot
from cutopt.cut.patterns import pattern_of
from cutopt.cut.placing import moved
from cutopt.cut.records import Place
from cutopt.cut.saws import Saws
from cutopt.cut.solving import Solving
from cutopt.cut.stock import Stock
from cutopt.fit import Carpenter, Fit
from cutopt.job.records import Job
from cutopt.tile import Point

ROUNDS = 8
MOST_NEW = 60  # places that join in a round: each may go with many others
MOST_KEPT = 160  # places that stay from one round to the next, besides those along factory edges
MOST_SETS = 6_000  # sets with any of them
PATIENCE = 1  # rounds in which the programme's value hardly falls, before the search is given up
LESS = 0.05  # tiles that it falls at least
TRIALS = 500  # fills at random in a round
TRIED = 60  # classes that are tried in a fill, those of most worth first
WANTED = 60  # of them the best ones, whose places are asked for
ASKED_A_SECOND = 30  # places asked for, a second of the limit
AT_ONCE = 24  # places that the carpenter is asked for together
GAIN = 1e-6


def with_more_places(stock: Stock, job: Job, carpenter: Carpenter, seed: int = 0) -> Stock:
    """The stock with places anywhere on a tile that may save tiles; at most so many are looked at as the limit has."""
    saws = Saws(tile=job.tile, rules=job.rules, cutting=job.cutting)
    search = _Search(job=job, carpenter=carpenter, left=round(job.cutting.seconds * ASKED_A_SECOND))
    dice = random.Random(seed)
    given = {spot_of(place) for found in stock.places for place in found}
    search.asked |= given
    best, idle, least = math.inf, 0, fewest_together(stock.classes, job, carpenter)
    for turn in range(ROUNDS):
        solving = Solving(stock=stock, job=job, carpenter=carpenter, saws=saws, twins=True)
        best, idle = min(best, solving.counted.value), 0 if solving.counted.value < best - LESS else idle + 1
        stock = _thinned(stock, solving, given)
        if idle > PATIENCE or best <= least + GAIN:
            break
        worths = _worths(solving)
        more = search.frugal(solving, worths) if turn == 0 else []
        more = more or search.places(stock, worths, dice)
        if not more:
            break
        stock = _joined(stock, more)
    return stock


def spot_of(place: Place) -> Spot:
    """Where a place is."""
    return place.kind, place.half_turn, place.shift


def _joined(stock: Stock, more: Sequence[Place]) -> Stock:
    """The stock with more places."""
    places = [(*found, *(p for p in more if p.kind == kind)) for kind, found in enumerate(stock.places)]
    return replace(stock, places=tuple(places))


def _thinned(stock: Stock, solving: Solving, given: set[Spot]) -> Stock:
    """The stock with the places that were given, and of the others those that the best sets want."""
    least = np.full(len(solving.places), np.inf)
    for layer, excess in zip(solving.sets.layers, solving.counted.excess, strict=True):
        for column in layer.T:
            np.minimum.at(least, column, excess)
    others = [n for n, place in enumerate(solving.places) if spot_of(place) not in given]
    kept = sorted(others, key=lambda n: (least[n], n))
    stay = {spot_of(solving.places[n]) for n in kept[: _how_many(kept, solving)]} | given
    return replace(stock, places=tuple(tuple(p for p in found if spot_of(p) in stay) for found in stock.places))


def _how_many(kept: Sequence[int], solving: Solving) -> int:
    """How many of the places, the first ones, may stay so that there are not too many sets."""
    rank = np.zeros(len(solving.places), dtype=np.int64)
    rank[list(kept)] = np.arange(1, len(kept) + 1)
    last = [rank[layer].max(axis=1) for layer in solving.sets.layers]  # the set is there from this one on
    sets = np.cumsum(np.bincount(np.concatenate(last), minlength=len(kept) + 1))
    return min(MOST_KEPT, int((sets[1:] - sets[0] <= MOST_SETS).sum()))


@dataclass(frozen=True, kw_only=True, slots=True)
class _Worths:
    """What a piece of each class is worth on a tile, less the wood of backers that it takes wherever it takes least of
    those places that are known; and what a tile costs, less its backers. `taken`: the worth of that wood.
    """

    pieces: tuple[float, ...]
    tile: float
    taken: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class _Wood:
    """What the wood of backers is worth at the prices of the programme."""

    solving: Solving

    @cached_property
    def _prices(self) -> list[tuple[int, float]]:
        wood, scarcity = self.solving.wood, self.solving.counted.scarcity
        return [(n, -price) for n, price in zip(wood.lengths, scarcity, strict=True) if price < 0] if wood else []

    @cached_property
    def tile(self) -> float:
        """Of a tile's backers."""
        return self._worth([backer.v[1] - backer.v[0] for backer in self.solving.carpenter.tile.backers])

    def taken(self, place: Place) -> float:
        """Of what a piece takes, hung from elsewhere or kept, or cut so that it is of no use elsewhere."""
        if not self._prices:
            return 0.0
        alone = pattern_of([place], self.solving.carpenter.tile, self.solving.saws)
        return self._worth(alone.needs) + self.tile - self._worth(alone.had)

    def _worth(self, lengths: Iterable[int]) -> float:
        return sum(price for length in lengths for n, price in self._prices if n <= length)


def _worths(solving: Solving) -> _Worths:
    wood = _Wood(solving=solving)
    taken = tuple(min(map(wood.taken, found), default=0.0) for found in solving.stock.places)
    pieces = tuple(price - less for price, less in zip(solving.counted.prices.tolist(), taken, strict=True))
    return _Worths(pieces=pieces, tile=1.0 - wood.tile, taken=taken)


@dataclass(kw_only=True)
class _Search:
    """Asks for places; `left`: how many more may be asked for."""

    job: Job
    carpenter: Carpenter
    left: int
    asked: set[Spot] = field(default_factory=set)
    _nester: Nester | None = None

    def places(self, stock: Stock, worths: _Worths, dice: random.Random) -> list[Place]:
        """New places of the fills that are worth more than their tile, those that can be hung."""
        filling = _Filling(nester=self._nested(stock), stock=stock, worths=worths, dice=dice)
        fills = {tuple(sorted(fill)): fill for fill in (filling.filled() for _ in range(TRIALS))}
        worth = {key: sum(worths.pieces[kind] for kind, _, _ in fill) for key, fill in fills.items()}
        fresh = [key for key in fills if worth[key] > worths.tile + GAIN and not self.asked.issuperset(key)]
        best = sorted(fresh, key=lambda key: (-worth[key], key))
        spots = (spot for key in best[:WANTED] for spot in fills[key])
        return list(islice(self._places(stock, spots), MOST_NEW))

    def frugal(self, solving: Solving, worths: _Worths) -> list[Place]:
        """Places along the tile's sides that take less wood of backers than all those known, of the classes that take
        most first; for them half of the places are asked for that may be.
        """
        stock, wood, least = solving.stock, _Wood(solving=solving), self.left // 2
        nester, taken = self._nested(stock), worths.taken
        dear = sorted((kind for kind, worth in enumerate(taken) if worth > GAIN), key=lambda kind: (-taken[kind], kind))
        spots = (spot for kind in dear for spot in nester.along_sides(kind))
        hung = self._places(stock, spots, least)
        return [place for place in hung if wood.taken(place) < taken[place.kind] - GAIN]

    def _nested(self, stock: Stock) -> Nester:
        if self._nester is None:
            cutting = self.job.cutting
            self._nester = Nester(
                classes=stock.classes, carpenter=self.carpenter, kerf=cutting.straight_kerf, mark=self.job.mark
            )
        return self._nester

    def _places(self, stock: Stock, spots: Iterable[Spot], least: int = 0) -> Iterator[Place]:
        """The classes in their spots where they can be hung and were not asked for before, as long as more than `least`
        may be asked for. Many are asked for at once, though not all of them may be wanted.
        """
        rest = iter(dict.fromkeys(spots))
        while some := list(islice(rest, AT_ONCE)):
            there = {
                (kind, turn, shift): moved(stock.classes[kind].shape, turn, shift, self.carpenter)
                for kind, turn, shift in [spot for spot in some if spot not in self.asked][: max(self.left - least, 0)]
            }
            self.carpenter.foresee([(shape.outline, shape.holes) for shape in there.values()])
            for spot, shape in there.items():
                self.left -= 1
                self.asked.add(spot)
                answer = self.carpenter.fit(shape.outline, shape.holes)
                if isinstance(answer, Fit):
                    kind, half_turn, shift = spot
                    yield Place(kind=kind, half_turn=half_turn, shift=shift, shape=shape, fit=answer)


@dataclass(kw_only=True)
class _Filling:
    """Fills tiles at random with what is worth most."""

    nester: Nester
    stock: Stock
    worths: _Worths
    dice: random.Random

    def filled(self) -> list[Spot]:
        """A tile filled with shelves along an axis, one beside another, the last one perhaps at the tile's far side."""
        dice, tile = self.dice, self.nester.carpenter.tile
        axis = dice.randrange(2)
        long, deep = (tile.length, tile.width) if axis == 0 else (tile.width, tile.length)
        pieces = self.worths.pieces
        order = [kind for kind, worth in enumerate(pieces) if worth > GAIN]
        order.sort(key=lambda kind: -pieces[kind] * dice.random() ** 0.5)
        left = {kind: self.stock.classes[kind].demand for kind in order[:TRIED]}
        fill: list[Spot] = []
        at = 0
        while at < deep:
            shelf = self._shelf(left, axis, long, deep - at)
            if not shelf:
                break
            depth = max(self.nester.size(lie)[1 - axis] for lie, _, _ in shelf)
            base = deep - depth if fill and dice.random() < 0.5 else at  # what is beside it then is waste
            for lie, along, high in shelf:
                off = base + (depth - self.nester.size(lie)[1 - axis] if high else 0)
                low = (along, off) if axis == 0 else (off, along)
                fill.append(self.nester.spot(lie, low))
                fill += self._in_notches(left, lie, low)
            at = base + self.nester.next_mark(depth)
        return fill

    def _in_notches(self, left: dict[int, int], lie: Lie, low: Point) -> list[Spot]:
        """A piece for each notch of a lie that begins at `low`, the first that its waste has room for."""
        dice, nester = self.dice, self.nester
        found = []
        for room in nester.rooms(lie):
            for kind in (kind for kind in left if left[kind]):
                other = (kind, nester.turns and dice.random() < 0.5)
                corners = nester.corners_in(room, other)
                if corners:
                    u, v = dice.choice(corners)
                    found.append(nester.spot(other, (low[0] + u, low[1] + v)))
                    left[kind] -= 1
                    break
        return found

    def _shelf(self, left: dict[int, int], axis: int, long: int, deep: int) -> list[tuple[Lie, int, bool]]:
        """Pieces one after another, no deeper than the first, the last one perhaps at the far end: where each begins,
        all against the low side or all against the high one.
        """
        dice, nester = self.dice, self.nester
        high = dice.random() < 0.5
        shelf: list[tuple[Lie, int, bool]] = []
        for kind in left:
            while left[kind]:
                lie = (kind, nester.turns and dice.random() < 0.5)
                size = nester.size(lie)
                begins = [at + nester.after(axis, high=high, one=one, other=lie) for one, at, _ in shelf]
                begin = max(begins, default=0)
                if size[1 - axis] > deep or begin + size[axis] > long:
                    break
                deep = size[1 - axis] if not shelf else deep
                shelf.append((lie, begin, high))
                left[kind] -= 1
        if len(shelf) > 1 and dice.random() < 0.5:
            lie, _, _ = shelf.pop()
            shelf.append((lie, long - nester.size(lie)[axis], high))
        return shelf
