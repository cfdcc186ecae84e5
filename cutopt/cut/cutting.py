"""The cut plan of a job at given grid starts: as few tiles as can be proven, then as little work."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from cutopt.cut.patterns import pattern_of
from cutopt.cut.records import CutPlan, CutTile, Pattern, PieceClass, Place, SawTree
from cutopt.cut.sawing import saw_tree
from cutopt.cut.saws import Saws
from cutopt.cut.solving import Found, Key, Solving
from cutopt.cut.stock import Stock
from cutopt.fit import Carpenter
from cutopt.job.records import Job


def cut(stock: Stock, job: Job, carpenter: Carpenter, *, twins: bool = True) -> CutPlan:
    """The cut plan of the sorted pieces. Raises `NoPlan` where the spare backers allowed are too few.

    `twins`: a piece that is wanted many times may come more than once from one tile.
    """
    if not any(stock.places):
        return CutPlan(tiles=(), bound=0, stopped="met", spare_backers=0)
    saws = Saws(tile=job.tile, rules=job.rules, cutting=job.cutting)
    solving = Solving(stock=stock, job=job, carpenter=carpenter, saws=saws, twins=twins)
    found = solving.solved()
    forbidden: set[Key] = set()
    while True:
        chosen = _trimmed(found, stock, carpenter, saws)
        trees = {pattern: saw_tree(pattern.places, carpenter.outline, saws) for _, pattern, _ in chosen}
        bad = {key for key, p, _ in chosen if trees[p] is None or not _shares_held(p, carpenter)}
        if not bad:
            break
        forbidden |= bad
        found = solving.solved_without(found, forbidden)
    tiles = _handed_out(chosen, {p: t for p, t in trees.items() if t is not None}, stock.classes)
    made = sum(tile.uses for tile in tiles)
    stopped = "met" if made <= found.bound else "limit"
    return CutPlan(tiles=tuple(tiles), bound=min(found.bound, made), stopped=stopped, spare_backers=found.spares)


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


Cut = tuple[Key, Pattern, int]  # the set it comes from, what is cut, and how often


def _trimmed(found: Found, stock: Stock, carpenter: Carpenter, saws: Saws) -> list[Cut]:
    """What is cut, places that make more than wanted taken out of the sets found."""
    made = Counter({kind: -c.demand for kind, c in enumerate(stock.classes)})
    for pattern, times in zip(found.patterns, found.times, strict=True):
        made.update({kind: times * n for kind, n in Counter(pattern.kinds).items()})
    out: dict[tuple[Key, tuple[Place, ...]], int] = {}
    for key, pattern, times in zip(found.keys, found.patterns, found.times, strict=True):
        for _ in range(times):
            places = pattern.places
            for place in sorted(places, key=lambda p: -len(p.fit.needs)):
                if made[place.kind] > 0:
                    made[place.kind] -= 1
                    places = tuple(p for p in places if p is not place)
            out[key, places] = out.get((key, places), 0) + 1
    return [(key, pattern_of(places, carpenter, saws), times) for (key, places), times in out.items() if places]


def _handed_out(chosen: Sequence[Cut], trees: dict[Pattern, SawTree], classes: Sequence[PieceClass]) -> list[CutTile]:
    """Give each place of each tile a piece of its class; tiles cut alike for the same pieces are one entry.

    Of a class, the pieces that most are still wanted of go first, and those that are not yet on the tile.
    """
    left = {m: count for kind in classes for m, count in zip(kind.members, kind.counts, strict=True)}
    dealt: dict[tuple[Pattern, tuple[int, ...]], int] = {}
    for _, pattern, times in chosen:
        for _ in range(times):
            pieces: list[int] = []
            for place in pattern.places:
                free = [m for m in classes[place.kind].members if left[m]]
                pieces.append(max(free, key=lambda m: (m not in pieces, left[m], -m)))
                left[pieces[-1]] -= 1
            key = (pattern, tuple(pieces))
            dealt[key] = dealt.get(key, 0) + 1
    return [
        CutTile(pattern=pattern, tree=trees[pattern], pieces=pieces, uses=uses)
        for (pattern, pieces), uses in dealt.items()
    ]
