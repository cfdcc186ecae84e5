"""Seats matched to wood: never more bought than must be, by an exhaustive search over small cases."""

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from cutopt.hang.matching import Offer, Want, matched

MM = 320
lengths = st.integers(min_value=1, max_value=6)


def _fewest_bought(wants: list[int], offers: list[int], forbidden: set[tuple[int, int]]) -> int:
    slots: list[int | None] = [*range(len(offers)), *[None] * len(wants)]
    return min(
        sum(
            o is None or offers[o] < want or (w, o) in forbidden
            for w, (want, o) in enumerate(zip(wants, p, strict=True))
        )
        for p in permutations(slots, len(wants))
    )


@given(
    st.lists(lengths, max_size=4),
    st.lists(lengths, max_size=4),
    st.sets(st.tuples(st.integers(0, 3), st.integers(0, 3)), max_size=6),
)
def test_as_few_are_bought_as_an_exhaustive_search_finds(
    wants: list[int], offers: list[int], forbidden: set[tuple[int, int]]
) -> None:
    found = matched(
        [Want(key=w, length=n * 100 * MM, source=w, pinned=False) for w, n in enumerate(wants)],
        [Offer(length=n * 100 * MM, source=o, bored=False) for o, n in enumerate(offers)],
        lambda w, o: (w, o) not in forbidden,
    )
    taken = [o for o in found.values() if o is not None]
    assert len(taken) == len(set(taken))
    assert all(offers[o] >= wants[w] and (w, o) not in forbidden for w, o in found.items() if o is not None)
    assert sum(o is None for o in found.values()) == _fewest_bought(wants, offers, forbidden)


def test_a_short_seat_leaves_its_tiles_long_backer_to_one_that_needs_it() -> None:
    wants = [Want(key="short", length=200 * MM, source=0, pinned=False)]
    wants.append(Want(key="long", length=500 * MM, source=1, pinned=False))
    offers = [Offer(length=588 * MM, source=0, bored=False), Offer(length=250 * MM, source=1, bored=False)]
    assert matched(wants, offers, lambda w, o: True) == {"short": 1, "long": 0}


def test_own_wood_goes_first_where_nothing_is_bought_for_it() -> None:
    wants = [Want(key=k, length=200 * MM, source=k, pinned=False) for k in (0, 1)]
    offers = [Offer(length=588 * MM, source=0, bored=False), Offer(length=250 * MM, source=1, bored=False)]
    assert matched(wants, offers, lambda w, o: True) == {0: 0, 1: 1}
