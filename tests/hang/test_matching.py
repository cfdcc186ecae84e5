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
        [Want(length=n * 100 * MM, source=w, pinned=False) for w, n in enumerate(wants)],
        [Offer(kind=object(), length=n * 100 * MM, source=o, bored=False) for o, n in enumerate(offers)],
        lambda w, o: (w, o) not in forbidden,
    )
    pairs = [(w, o) for w, o in enumerate(found) if o is not None]
    assert len(pairs) == len({o for _, o in pairs})
    assert all(offers[o] >= wants[w] and (w, o) not in forbidden for w, o in pairs)
    assert found.count(None) == _fewest_bought(wants, offers, forbidden)


def _want(length: int, source: int) -> Want:
    return Want(length=length * MM, source=source, pinned=False)


def _offer(length: int, source: int) -> Offer:
    return Offer(kind=(length, source), length=length * MM, source=source, bored=False)


def test_a_short_seat_leaves_its_tiles_long_backer_to_one_that_needs_it() -> None:
    wants, offers = [_want(200, 0), _want(500, 1)], [_offer(588, 0), _offer(250, 1)]
    assert matched(wants, offers, lambda w, o: True) == [1, 0]


def test_own_wood_goes_first_where_nothing_is_bought_for_it() -> None:
    wants, offers = [_want(200, 0), _want(200, 1)], [_offer(588, 0), _offer(250, 1)]
    assert matched(wants, offers, lambda w, o: True) == [0, 1]
