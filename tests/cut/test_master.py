"""The whole-number programme by hand: wood is balanced by the tiles that are cut for pieces that are wanted."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutopt.cut.master import Master, Weights
from cutopt.cut.records import Pattern, Place
from cutopt.fit import Fit
from cutopt.lay.records import Shape

MM = 320
NO_FIT = Fit(fragments=(), seats=(), drives=(), stands=(), minutes=0)
SHAPE = Shape(outline=((0, 0), (MM, 0), (MM, MM), (0, MM)), chords=(), notches=())


def pattern(kind: int, needs: tuple[int, ...] = (), had: tuple[int, ...] = ()) -> Pattern:
    place = Place(kind=kind, half_turn=False, shift=(0, 0), shape=SHAPE, fit=NO_FIT)
    return Pattern(places=(place,), needs=tuple(n * MM for n in needs), had=tuple(n * MM for n in had), minutes=1.0)


def master(spares: int, demands: list[int]) -> Master:
    """Pieces that want three backers of 500 mm, and pieces whose tile leaves three of 588."""
    weights = Weights(tile=1, minute=1, spare=1, tiles_first=True)
    patterns = [pattern(0, needs=(500, 500, 500)), pattern(1, had=(588, 588, 588))]
    return Master(patterns=patterns, demands=demands, most_spares=spares, weights=weights, seconds=1, scarce=[])


@pytest.mark.parametrize(("spares", "bought"), [(3, 3), (4, 3), (2, None)])
def test_no_tile_is_cut_for_its_backers_alone(spares: int, bought: int | None) -> None:
    """Two tiles want six backers and one leaves three: three are bought, or there is no plan; another tile of pieces
    that nobody wants would leave three more.
    """
    answer = master(spares, [2, 1]).fewest()
    assert answer.possible is (bought is not None)
    if bought is not None:
        assert (answer.tiles, answer.times) == (3, (2, 1))
        assert bought <= answer.spares <= spares


def test_wood_that_is_long_enough_stands_in() -> None:
    answer = master(0, [1, 1]).fewest()
    assert (answer.tiles, answer.times, answer.spares) == (2, (1, 1), 0)


def test_other_plans_of_as_many_tiles() -> None:
    """Six pieces in pairs that all go together, fifteen pairs of about as much work: other numbers, other pairs."""
    pairs = [(a, b) for a in range(6) for b in range(a + 1, 6)]
    patterns = [
        replace(pattern(a), places=(pattern(a).places[0], pattern(b).places[0]), minutes=1 + (a + b) / 1000)
        for a, b in pairs
    ]
    plans = set()
    for other in range(4):
        weights = Weights(tile=1, minute=1, spare=1, tiles_first=True)
        programme = Master(
            patterns=patterns, demands=[1] * 6, most_spares=0, weights=weights, seconds=1, scarce=[], other=other
        )
        answer = programme.least_work(3, programme.fewest())
        assert (answer.possible, answer.tiles) == (True, 3)
        chosen = [pair for pair, times in zip(pairs, answer.times, strict=True) if times]
        assert sorted(kind for pair in chosen for kind in pair) == list(range(6))
        plans.add(tuple(chosen))
    assert len(plans) > 1
