"""Seats matched to wood: as few backers bought as can be, then own wood, then short wood.

A minimum-cost flow from seats to stretches of wood. Whether a stretch really does for a seat (its pin holes may meet
the screws) is looked at only for pairs that the flow picks; a pair that does not is forbidden and the flow solved
again.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ortools.graph.python import min_cost_flow

BOUGHT = 1_000_000  # one backer bought outweighs everything else
FOREIGN = 1_000  # wood of another tile, which has to be salvaged first
UNBORED = 50  # holes where none are wanted, or none where they are
MOST_PAIRS = 400_000  # looked at in all; beyond it a want sees a part of the wood, at least as much as below
LEAST_CHOICE = 60
WASTE_STEP = 3200  # ticks (10 mm) of wood left over count as one


@dataclass(frozen=True, kw_only=True, slots=True)
class Want:
    """A seat by its key: the wood that it needs, ticks, its source, and whether it stands on pins."""

    key: Hashable
    length: int
    source: int
    pinned: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Offer:
    """A stretch of wood: its length, ticks, its source, and whether it is bored."""

    length: int
    source: int
    bored: bool


def matched(
    wants: Sequence[Want], offers: Sequence[Offer], does: Callable[[int, int], bool]
) -> Mapping[Hashable, int | None]:
    """By the key of each want, the number of its offer, None where a backer is bought. `does(want, offer)` is asked of
    pairs by number.
    """
    pairs = {(w, o): _cost(wants[w], offers[o]) for w, o in _pairs(wants, offers)}
    known: dict[tuple[int, int], bool] = {}
    while True:
        chosen = _flow(len(wants), len(offers), pairs)
        fresh = [pair for pair in chosen if pair not in known]
        known |= {pair: does(*pair) for pair in fresh}
        wrong = [pair for pair in chosen if not known[pair]]
        if not wrong:
            return {want.key: None for want in wants} | {wants[w].key: o for w, o in chosen}
        for pair in wrong:
            del pairs[pair]


def _pairs(wants: Sequence[Want], offers: Sequence[Offer]) -> Iterator[tuple[int, int]]:
    """Wood that is long enough: a want's own, and where there is much of it, so many of the others, spread evenly."""
    own: dict[int, list[int]] = {}
    for o, offer in enumerate(offers):
        own.setdefault(offer.source, []).append(o)
    order = sorted(range(len(offers)), key=lambda o: offers[o].length)
    lengths = [offers[o].length for o in order]
    most = max(LEAST_CHOICE, MOST_PAIRS // max(len(wants), 1))
    for w, want in enumerate(wants):
        first = bisect_left(lengths, want.length)
        step = max(1, -(-(len(order) - first) // most))
        near = {o for o in own.get(want.source, ()) if offers[o].length >= want.length}
        yield from ((w, o) for o in sorted(near.union(order[first + w % step :: step])))


def _cost(want: Want, offer: Offer) -> int:
    foreign = FOREIGN * (offer.source != want.source)
    return foreign + UNBORED * (offer.bored != want.pinned) + (offer.length - want.length) // WASTE_STEP


def _flow(wants: int, offers: int, pairs: Mapping[tuple[int, int], int]) -> list[tuple[int, int]]:
    """The pairs of the cheapest matching in which every want takes an offer or buys."""
    flow = min_cost_flow.SimpleMinCostFlow()
    start, end = wants + offers, wants + offers + 1
    arcs = {flow.add_arc_with_capacity_and_unit_cost(w, wants + o, 1, cost): (w, o) for (w, o), cost in pairs.items()}
    for w in range(wants):
        flow.add_arc_with_capacity_and_unit_cost(start, w, 1, 0)
        flow.add_arc_with_capacity_and_unit_cost(w, end, 1, BOUGHT)
    for o in range(offers):
        flow.add_arc_with_capacity_and_unit_cost(wants + o, end, 1, 0)
    flow.set_node_supply(start, wants)
    flow.set_node_supply(end, -wants)
    flow.solve()
    return [pair for arc, pair in arcs.items() if flow.flow(arc)]
