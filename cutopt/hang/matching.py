"""Seats matched to wood: own wood first, short wood first, and as few backers bought as can be.

Seats take wood one after another; where one finds none, others that have wood for it move to other wood (augmenting
paths: Berge, Proc. Natl. Acad. Sci. 43, 1957), so that no backer is bought that the wood at hand could save.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import deque
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

MOST_LOOKS = 100_000  # at wood, for a seat that found none: beyond it, it is bought a backer


@dataclass(frozen=True, kw_only=True, slots=True)
class Want:
    """A seat: the wood that it needs, ticks, its source, and whether it stands on pins."""

    length: int
    source: int
    pinned: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Offer:
    """A stretch of wood: its length, ticks, its source, and whether it is bored. Those of one `kind` do alike."""

    kind: Hashable
    length: int
    source: int
    bored: bool


def matched(wants: Sequence[Want], offers: Sequence[Offer], does: Callable[[int, int], bool]) -> list[int | None]:
    """For each want the number of its offer, None where a backer is bought.

    `does(want, offer)`: whether that wood can be hung there; asked once for a want and a kind of wood. Wants are served
    in their order.
    """
    pairing = _Pairing(wants=wants, offers=offers, does=does)
    for own in (True, False):
        for number in range(len(wants)):
            pairing.take(number, own=own)
    for number in range(len(wants)):
        pairing.make_room(number)
    return [pairing.given.get(number) for number in range(len(wants))]


@dataclass(kw_only=True)
class _Pairing:
    """Who has which wood so far."""

    wants: Sequence[Want]
    offers: Sequence[Offer]
    does: Callable[[int, int], bool]
    given: dict[int, int] = field(default_factory=dict)
    taken: dict[int, int] = field(default_factory=dict)
    _known: dict[tuple[int, Hashable], bool] = field(default_factory=dict)

    @cached_property
    def _by_length(self) -> tuple[list[int], list[int]]:
        """Offers from the shortest on, and their lengths."""
        order = sorted(range(len(self.offers)), key=lambda o: self.offers[o].length)
        return order, [self.offers[o].length for o in order]

    @cached_property
    def _by_source(self) -> dict[int, list[int]]:
        found: dict[int, list[int]] = {}
        for o, offer in enumerate(self.offers):
            found.setdefault(offer.source, []).append(o)
        return found

    def take(self, want: int, *, own: bool) -> None:
        """The shortest free wood that does; bored wood where the seat stands on pins."""
        if want in self.given:
            return
        one = self.wants[want]
        free = [o for o in self._long_enough(want, own=own) if o not in self.taken]
        free.sort(key=lambda o: (self.offers[o].length, self.offers[o].bored != one.pinned))
        for offer in free:
            if self._fits(want, offer):
                self.given[want], self.taken[offer] = offer, want
                return

    def make_room(self, want: int) -> None:
        """Wood for a want that found none, others moving to other wood."""
        if want in self.given:
            return
        came: dict[int, int] = {}  # offers reached, and the want that would take each
        waiting, looks = deque([want]), 0
        while waiting and looks < MOST_LOOKS:
            one = waiting.popleft()
            for offer in self._long_enough(one, own=None):
                looks += 1
                if offer in came or not self._fits(one, offer):
                    continue
                came[offer] = one
                if offer not in self.taken:
                    self._moved(offer, came)
                    return
                waiting.append(self.taken[offer])

    def _moved(self, offer: int | None, came: Mapping[int, int]) -> None:
        """Each want along the path takes the wood that it reached."""
        while offer is not None:
            want = came[offer]
            before = self.given.get(want)
            self.given[want], self.taken[offer] = offer, want
            offer = before

    def _long_enough(self, want: int, *, own: bool | None) -> Iterator[int]:
        """Wood as long as wanted: its source's own, that of others, or all."""
        one = self.wants[want]
        if own:
            yield from (o for o in self._by_source.get(one.source, ()) if self.offers[o].length >= one.length)
            return
        order, lengths = self._by_length
        for offer in order[bisect_left(lengths, one.length) :]:
            if own is None or self.offers[offer].source != one.source:
                yield offer

    def _fits(self, want: int, offer: int) -> bool:
        key = (want, self.offers[offer].kind)
        if key not in self._known:
            self._known[key] = self.does(want, offer)
        return self._known[key]
