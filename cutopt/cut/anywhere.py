"""Strategy anywhere: pieces at any place on the source whose re-hang is feasible.

The prices of the linear programme say which pieces would be worth having on one tile together. Columns of pieces, and
rows of them, are filled at random with those (two stages of guillotine cuts, a kerf between bounding boxes); the places
that the best ones need are asked of the carpenter, and those that can be hung join the places that pieces have already.
After a few rounds the programme over all places is solved as ever.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from cutopt.cut.placing import moved
from cutopt.cut.records import Place
from cutopt.cut.saws import Saws
from cutopt.cut.solving import Solving
from cutopt.cut.stock import Stock
from cutopt.fit import Carpenter, Fit
from cutopt.geometry import extent
from cutopt.job.records import Job
from cutopt.tile import Point

ROUNDS = 4
MOST_NEW = 40  # places that join in a round: each may go with many others
TRIALS = 400  # fills at random in a round
WANTED = 40  # of them the best ones, whose places are asked for
ASKED_A_SECOND = 30  # places asked for, a second of the limit
GAIN = 1e-6

Spot = tuple[int, bool, Point]  # class, half turn, shift


def with_more_places(stock: Stock, job: Job, carpenter: Carpenter, seed: int = 0) -> Stock:
    """The stock with places anywhere on a tile that may save tiles; at most so many are looked at as the limit has."""
    saws = Saws(tile=job.tile, rules=job.rules, cutting=job.cutting)
    search = _Search(job=job, carpenter=carpenter, left=round(job.cutting.seconds * ASKED_A_SECOND))
    dice = random.Random(seed)
    for _ in range(ROUNDS):
        solving = Solving(stock=stock, job=job, carpenter=carpenter, saws=saws, twins=True)
        more = search.places(stock, _worths(solving), dice)
        if not more:
            break
        stock = replace(
            stock,
            places=tuple((*found, *(p for p in more if p.kind == kind)) for kind, found in enumerate(stock.places)),
        )
    return stock


@dataclass(frozen=True, kw_only=True, slots=True)
class _Worths:
    """What a piece of each class is worth on a tile, its backers paid for, and what a tile costs less its backers."""

    pieces: tuple[float, ...]
    tile: float


def _worths(solving: Solving) -> _Worths:
    prices, wood = solving.counted.prices, solving.wood
    if wood is None:
        return _Worths(pieces=tuple(prices.tolist()), tile=1.0)
    lengths, scarcity = np.array(wood.lengths), np.array(solving.counted.scarcity)
    first = {place.kind: place for place in reversed(solving.places)}
    wants = [sum(float(scarcity[lengths <= n].sum()) for n in first[k].fit.needs) for k in range(len(prices))]
    own = sum(float(scarcity[lengths <= b.v[1] - b.v[0]].sum()) for b in solving.carpenter.tile.backers)
    return _Worths(pieces=tuple(p + w for p, w in zip(prices.tolist(), wants, strict=True)), tile=1.0 + own)


@dataclass(kw_only=True)
class _Search:
    """Asks for places; `left`: how many more may be asked for."""

    job: Job
    carpenter: Carpenter
    left: int
    _asked: set[Spot] = field(default_factory=set)

    def places(self, stock: Stock, worths: _Worths, dice: random.Random) -> list[Place]:
        """New places of the fills that are worth more than their tile, those that can be hung."""
        known = {(p.kind, p.half_turn, p.shift) for found in stock.places for p in found}
        fills = {tuple(sorted(fill)): fill for fill in (self._filled(stock, worths, dice) for _ in range(TRIALS))}
        worth = {key: sum(worths.pieces[kind] for kind, _, _ in fill) for key, fill in fills.items()}
        best = sorted((key for key in fills if worth[key] > worths.tile + GAIN), key=lambda key: (-worth[key], key))
        found: list[Place] = []
        for key in best[:WANTED]:
            for spot in fills[key]:
                if spot in known or spot in self._asked or self.left <= 0:
                    continue
                self.left -= 1
                self._asked.add(spot)
                place = self._place(stock, spot)
                found += [place] if place else []
                if len(found) >= MOST_NEW:
                    return found
        return found

    def _place(self, stock: Stock, spot: Spot) -> Place | None:
        """The class in its spot as in its cell, else half-turned there; None where neither can be hung."""
        kind, _, shift = spot
        shape = stock.classes[kind].shape
        for half_turn in (False, True) if self.carpenter.slats_turn else (False,):
            at = _turned(shift, extent(shape.outline), self.carpenter) if half_turn else shift
            there = moved(shape, half_turn, at, self.carpenter)
            answer = self.carpenter.fit(there.outline, there.holes)
            if isinstance(answer, Fit):
                return Place(kind=kind, half_turn=half_turn, shift=at, shape=there, fit=answer)
        return None

    def _filled(self, stock: Stock, worths: _Worths, dice: random.Random) -> list[Spot]:
        """A tile filled with columns across it or rows along it, each with pieces one after another."""
        axis = dice.randrange(2)
        size = (self.carpenter.tile.length, self.carpenter.tile.width)
        order = [kind for kind, worth in enumerate(worths.pieces) if worth > GAIN]
        order.sort(key=lambda kind: -worths.pieces[kind] * dice.random() ** 0.5)
        left = [min(one.demand, 4) for one in stock.classes]
        fill: list[Spot] = []
        at = 0
        while at < size[axis]:
            column, wide = self._column(stock, order, left, axis, size[axis] - at, at)
            if not column:
                break
            fill += column
            at += self._next(wide)
        return fill

    def _column(
        self, stock: Stock, order: Sequence[int], left: list[int], axis: int, room: int, at: int
    ) -> tuple[list[Spot], int]:
        """Pieces one after another in what is left of the tile, no wider than the first, and its width."""
        other = 1 - axis
        depth = (self.carpenter.tile.length, self.carpenter.tile.width)[other]
        column: list[Spot] = []
        wide, down = room, 0
        for kind in order:
            box = extent(stock.classes[kind].shape.outline)
            lengths = (int(box[2] - box[0]), int(box[3] - box[1]))
            while left[kind] and lengths[axis] <= wide and lengths[other] <= depth - down:
                wide = lengths[axis] if not column else wide
                shift = [0, 0]
                shift[axis], shift[other] = at - int(box[axis]), down - int(box[other])
                column.append((kind, False, (shift[0], shift[1])))
                left[kind] -= 1
                down += self._next(lengths[other])
        return column, wide

    def _next(self, length: int) -> int:
        """How far on the next piece starts: past the kerf, on a mark."""
        mark = self.job.mark
        return -(-(length + self.job.cutting.straight_kerf) // mark) * mark


def _turned(shift: Point, box: tuple[float, float, float, float], carpenter: Carpenter) -> Point:
    """The shift that lays a half-turned shape where its box lies with another shift when it is not turned."""
    size = (carpenter.tile.length, carpenter.tile.width)
    u, v = (shift[axis] + int(box[axis]) + int(box[axis + 2]) - size[axis] for axis in (0, 1))
    return u, v
