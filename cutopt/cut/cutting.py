"""The cut plan of a job at given grid starts: as few tiles as can be proven, then as little work."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.cut.master import Answer, Master, Weights
from cutopt.cut.notching import legs
from cutopt.cut.patterns import pattern_of, patterns_of, places_of
from cutopt.cut.records import CutPlan, CutTile, Pattern, PieceClass, Place, SawTree
from cutopt.cut.sawing import saw_tree
from cutopt.cut.saws import Saws
from cutopt.errors import NoPlan
from cutopt.fit import Carpenter, Refusal
from cutopt.geometry import area2
from cutopt.job.records import Cutting, Job
from cutopt.lay.records import Piece


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Pieces sorted for cutting: classes with their places, and the pieces that no place can make, with why."""

    classes: tuple[PieceClass, ...]
    places: tuple[tuple[Place, ...], ...]
    refused: tuple[tuple[int, Refusal], ...]

    @property
    def area2(self) -> int:
        """Twice the wood wanted, square ticks."""
        return sum(kind.demand * area2(kind.shape.outline) for kind in self.classes)


def sort_pieces(
    pieces: Sequence[Piece], counts: Sequence[int], carpenter: Carpenter, cutting: Cutting | None = None
) -> Stock:
    """Group equal pieces into classes and ask the carpenter for their places. `counts`: of each piece, how many.

    With `cutting`, pieces that the saws at hand cannot make are refused too.
    """
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, piece in enumerate(pieces):
        # pieces wanted equally often, so that those of a class can always be dealt to tiles without one meeting itself
        key = (piece.shape.outline, piece.shape.notches, piece.fixed, counts[number])
        groups.setdefault(key, []).append(number)
    classes: list[PieceClass] = []
    places: list[tuple[Place, ...]] = []
    refused: list[tuple[int, Refusal]] = []
    for members in groups.values():
        first = pieces[members[0]]
        kind = PieceClass(
            shape=first.shape, fixed=first.fixed, members=tuple(members), counts=tuple(counts[m] for m in members)
        )
        found = _beyond_saws(kind, carpenter, cutting) or places_of(len(classes), kind, carpenter)
        if isinstance(found, Refusal):
            refused += [(number, found) for number in members]
            continue
        classes.append(kind)
        places.append(tuple(found))
    return Stock(classes=tuple(classes), places=tuple(places), refused=tuple(refused))


def _beyond_saws(kind: PieceClass, carpenter: Carpenter, cutting: Cutting | None) -> Refusal | None:
    """Why the saws at hand cannot make a piece, None where they can."""
    if cutting is None:
        return None
    shape, reach = kind.shape, carpenter.rules.jigsaw_reach
    if shape.notches and "jigsaw" not in cutting.saws:
        return Refusal(rule="saws", why="a notch wants a jigsaw")
    sides = [leg for notch in shape.notches for leg in legs(notch)]
    if "guided_saw" not in cutting.saws and any(math.dist(a, b) > reach for a, b in sides):
        return Refusal(rule="jigsaw_reach", why="a side of the notch is longer than a jigsaw follows")
    oblique = any(a[0] != b[0] and a[1] != b[1] for a, b in shape.chords)
    if oblique and cutting.saws == ("table_saw",):
        return Refusal(rule="saws", why="a taper wants a guided saw")
    return None


def cut(stock: Stock, job: Job, carpenter: Carpenter) -> CutPlan:
    """The cut plan of the sorted pieces. Raises `NoPlan` where the spare backers allowed are too few."""
    saws = Saws(tile=job.tile, rules=job.rules, cutting=job.cutting)
    together = job.cutting.strategy != "one-for-one"
    places = [place for found in stock.places for place in found]
    if not places:
        return CutPlan(tiles=(), bound=0, stopped="met", spare_backers=0)
    # one piece, wanted many times, is not cut twice from one tile, for its hardware is listed by its name
    patterns, complete = patterns_of(places, stock.classes, carpenter, saws, together=together, twins=False)
    bound = _bound(patterns, complete, stock, job)
    if together and any(count > 1 for kind in stock.classes for count in kind.counts):
        # but nothing is claimed to be proven that such twins might beat
        patterned = patterns_of(places, stock.classes, carpenter, saws, together=True, twins=True)
        bound = min(bound, _bound(*patterned, stock, job))
    # a pattern forbidden below might be sawn if its places lay otherwise, so this bound stands
    while True:
        answer = _solved(patterns, stock, job)
        chosen = _trimmed(patterns, answer, stock, carpenter, saws)
        trees = {pattern: saw_tree(pattern.places, carpenter.outline, saws) for pattern in chosen}
        bad = {pattern.kinds for pattern, tree in trees.items() if tree is None or not _shares_held(pattern, carpenter)}
        if not bad:
            break
        patterns = [pattern for pattern in patterns if pattern.kinds not in bad]
    tiles = _handed_out(chosen, {p: t for p, t in trees.items() if t is not None}, stock.classes)
    made = sum(tile.uses for tile in tiles)
    stopped = "met" if made <= bound else "limit"
    return CutPlan(tiles=tuple(tiles), bound=min(bound, made), stopped=stopped, spare_backers=answer.spares)


def _shares_held(pattern: Pattern, carpenter: Carpenter) -> bool:
    """Whether slats that share can be screwed down before the cut that runs through them.

    They lose all their screws, so they want a backer that stays, or one that no piece keeps and that is hung first. A
    tile of its own always has one.
    """
    if len(pattern.places) == 1 or any(backer.id not in pattern.kept for backer in carpenter.tile.backers):
        return True
    for place in pattern.places:
        held = {
            place.fit.fragments[drive.fragment].slat
            for seat, drives in zip(place.fit.seats, place.fit.drives, strict=True)
            for drive in drives
            if seat.backer is not None
        }
        share = place.fit.share
        if share is not None and not {share.inner.id, share.outer.id} <= held:
            return False
    return True


def _bound(patterns: list[Pattern], complete: bool, stock: Stock, job: Job) -> int:
    """Tiles that no plan goes below: by the programme over all patterns, or where those are too many, by the wood."""
    if complete:
        return _master(patterns, stock, job).fewest_tiles()
    return math.ceil(stock.area2 / 2 / (job.tile.length * job.tile.width) - 1e-9)


def _master(patterns: list[Pattern], stock: Stock, job: Job) -> Master:
    money = job.money
    aims = {
        "tiles": Weights(tile=1, minute=1, spare=max(0.5, 60 * money.backer / max(money.hour, 1)), tiles_first=True),
        "cost": Weights(tile=money.tile, minute=money.hour / 60, spare=money.backer, tiles_first=False),
        "minutes": Weights(tile=1e-3, minute=1, spare=0.01, tiles_first=False),
    }
    return Master(
        patterns=patterns,
        demands=[kind.demand for kind in stock.classes],
        most_spares=job.rules.spare_backers,
        weights=aims[job.cutting.aim],
        seconds=job.cutting.seconds,
    )


def _solved(patterns: list[Pattern], stock: Stock, job: Job) -> Answer:
    answer = _master(patterns, stock, job).solve()
    if not any(answer.times):
        raise NoPlan(
            what=f"the pieces want more backers than the tiles leave and {job.rules.spare_backers} spare ones give",
            rule="spare_backers",
            remedy="allow more spare backers in [rules]",
        )
    return answer


def _trimmed(
    patterns: list[Pattern], answer: Answer, stock: Stock, carpenter: Carpenter, saws: Saws
) -> dict[Pattern, int]:
    """The chosen patterns with their times, places that make more than wanted taken out."""
    chosen = [(pattern, times) for pattern, times in zip(patterns, answer.times, strict=True) if times]
    made = Counter({kind: -c.demand for kind, c in enumerate(stock.classes)})
    for pattern, times in chosen:
        made.update({kind: times * n for kind, n in Counter(pattern.kinds).items()})
    out: dict[tuple[Place, ...], int] = {}
    for pattern, times in chosen:
        for _ in range(times):
            places = pattern.places
            for place in sorted(places, key=lambda p: -len(p.fit.needs)):
                if made[place.kind] > 0:
                    made[place.kind] -= 1
                    places = tuple(p for p in places if p is not place)
            out[places] = out.get(places, 0) + 1
    return {pattern_of(places, carpenter, saws): times for places, times in out.items() if places}


def _handed_out(
    chosen: dict[Pattern, int], trees: dict[Pattern, SawTree], classes: Sequence[PieceClass]
) -> list[CutTile]:
    """Give each place of each tile a piece of its class; tiles cut alike for the same pieces are one entry.

    Of a class, the pieces that most are still wanted of go first: then no tile ever needs one piece twice.
    """
    left = {m: count for kind in classes for m, count in zip(kind.members, kind.counts, strict=True)}
    dealt: dict[tuple[Pattern, tuple[int, ...]], int] = {}
    for pattern, times in chosen.items():
        for _ in range(times):
            pieces: list[int] = []
            for place in pattern.places:
                free = [m for m in classes[place.kind].members if m not in pieces]
                pieces.append(max(free, key=lambda m: (left[m], -m)))
                left[pieces[-1]] -= 1
            key = (pattern, tuple(pieces))
            dealt[key] = dealt.get(key, 0) + 1
    return [
        CutTile(pattern=pattern, tree=trees[pattern], pieces=pieces, uses=uses)
        for (pattern, pieces), uses in dealt.items()
    ]
