"""The cut plan of a job at given grid starts: as few tiles as can be proven, then as little work."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from cutopt.cut.anywhere import with_more_places
from cutopt.cut.bounding import fewest_anywhere, least_minutes
from cutopt.cut.records import CutPlan, CutTile, PieceClass
from cutopt.cut.saws import Saws
from cutopt.cut.solving import Found, Key, Solving
from cutopt.cut.stock import Stock, with_offcuts
from cutopt.fit import Carpenter
from cutopt.job.records import Job


def cut(
    stock: Stock, job: Job, carpenter: Carpenter, *, twins: bool = True, most: float = math.inf, other: int = 0
) -> CutPlan:
    """The cut plan of the sorted pieces. Raises `NoPlan` where the spare backers allowed are too few.

    `twins`: a piece that is wanted many times may come more than once from one tile. `most`: in a plan of more tiles,
    which will not be taken, no larger offcuts are looked for; nor in the plans numbered `other`, which are tried where
    the wood for plan 0 does not do.
    """
    if not any(stock.places):
        return CutPlan(tiles=(), bound=0, spare_backers=0, value=0.0, least=0.0)
    saws = Saws(tile=job.tile, rules=job.rules, cutting=job.cutting)
    anywhere = job.cutting.strategy == "anywhere"
    if anywhere:
        stock = with_more_places(stock, job, carpenter)
    stock = with_offcuts(stock, job.rack, carpenter)
    solving = Solving(stock=stock, job=job, carpenter=carpenter, saws=saws, twins=twins, other=other)
    found = solving.solved()
    forbidden: set[Key] = set()
    while True:
        chosen = _trimmed(found, stock, solving)
        bad = {key for key, cut_, _ in chosen if not solving.sawable(cut_)}
        if not bad:
            break
        forbidden |= bad
        found = solving.solved_without(found, forbidden)
    if job.cutting.strategy != "one-for-one" and found.tiles <= most and not other:
        tidier = solving.tidied(found)
        better = _trimmed(tidier, stock, solving)
        if all(solving.sawable(cut_) for _, cut_, _ in better):
            found, chosen = tidier, better
    tiles = _handed_out([(cut_, times) for _, cut_, times in chosen], solving, stock.classes)
    made = sum(tile.uses for tile in tiles if tile.offcut is None)
    bound, least = found.bound, found.least
    if anywhere:
        bound = max(0, fewest_anywhere(stock, job) - stock.saved_by(job.rack))
        work = 0.0 if solving.weights.tiles_first else solving.weights.minute * least_minutes(stock, job)
        least = min(found.value, solving.weights.tile * bound + work)
    bound = min(bound, made)
    if job.cutting.aim == "tiles":
        return CutPlan(tiles=tuple(tiles), bound=bound, spare_backers=found.spares, value=made, least=bound)
    return CutPlan(tiles=tuple(tiles), bound=bound, spare_backers=found.spares, value=found.value, least=least)


Cut = tuple[Key, Key, int]  # the set it comes from, what is cut of it, and how often


def _trimmed(found: Found, stock: Stock, solving: Solving) -> list[Cut]:
    """What is cut, places that make more than wanted taken out of the sets found."""
    places = solving.places
    made = Counter({kind: -c.demand for kind, c in enumerate(stock.classes)})
    for key, times in zip(found.keys, found.times, strict=True):
        made.update({kind: times * n for kind, n in Counter(places[i].kind for i in key).items()})
    out: dict[tuple[Key, Key], int] = {}
    for key, times in zip(found.keys, found.times, strict=True):
        for _ in range(times):
            cut_ = key
            for i in sorted(key, key=lambda i: -len(places[i].fit.needs)):
                if made[places[i].kind] > 0:
                    made[places[i].kind] -= 1
                    cut_ = tuple(k for k in cut_ if k != i)
            out[key, cut_] = out.get((key, cut_), 0) + 1
    return [(key, cut_, times) for (key, cut_), times in out.items() if cut_]


def _handed_out(chosen: Sequence[tuple[Key, int]], solving: Solving, classes: Sequence[PieceClass]) -> list[CutTile]:
    """Give each place of each tile a piece of its class; tiles cut alike for the same pieces are one entry.

    Of a class, the pieces that most are still wanted of go first, and those that are not yet on the tile.
    """
    left = {m: count for kind in classes for m, count in zip(kind.members, kind.counts, strict=True)}
    dealt: dict[tuple[Key, tuple[int, ...]], int] = {}
    for key, times in chosen:
        for _ in range(times):
            pieces: list[int] = []
            for i in key:
                free = [m for m in classes[solving.places[i].kind].members if left[m]]
                pieces.append(max(free, key=lambda m: (m not in pieces, left[m], -m)))
                left[pieces[-1]] -= 1
            dealt[key, tuple(pieces)] = dealt.get((key, tuple(pieces)), 0) + 1
    return [
        CutTile(
            pattern=solving.pattern(key),
            tree=tree,
            pieces=pieces,
            uses=uses,
            offcut=solving.job.rack[source - 1] if (source := solving.source(key)) else None,
        )
        for (key, pieces), uses in dealt.items()
        for tree in [solving.tree(key)]
        if tree is not None
    ]
