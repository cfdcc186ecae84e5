"""What no other choice beats: Pareto's order, checked against an example in print and by brute force."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutopt.comparing.records import Figures
from cutopt.comparing.unbeaten import beaten_by, beats, best, lays_more, weighed
from cutopt.job.records import Aim
from tests.comparing.figures import figures

# few values, so that ties in one or in all of the three are common
CHOICES = st.lists(
    st.builds(
        lambda tiles, cost, minutes: figures(tiles=tiles, cost=float(cost), minutes=float(minutes)),
        *(st.integers(min_value=0, max_value=4) for _ in range(3)),
    ),
    min_size=1,
    max_size=12,
)
AIMS: tuple[Aim, ...] = get_args(Aim)


def test_cars_of_a_textbook() -> None:
    """M. Ehrgott, Multicriteria Optimization, 2nd edition, Springer 2005, example 1.1 (values from memory): four cars
    by price in 1000 euros, petrol in litres a 100 km, and power in kW, of which more is better.

    By price and petrol the second and the third are efficient, the others are not; with power all four are.
    """
    price, petrol, power = (16.2, 14.9, 14.0, 15.2), (7.2, 7.0, 7.5, 8.2), (66.0, 62.0, 55.0, 71.0)

    def efficient(cars: list[tuple[float, float, float]]) -> list[int]:
        return [k for k, car in enumerate(cars) if not any(beats(other, car) for other in cars)]

    assert efficient([(a, b, 0.0) for a, b in zip(price, petrol, strict=True)]) == [1, 2]
    assert efficient([(a, b, -c) for a, b, c in zip(price, petrol, power, strict=True)]) == [0, 1, 2, 3]


def test_equal_ones_do_not_beat_each_other() -> None:
    twins = [figures(tiles=9, cost=700.0, minutes=50.0, pieces=pieces) for pieces in (6, 9)]
    assert beaten_by(twins) == ((), ())


def test_better_in_one_and_worse_in_none() -> None:
    #            tiles  money  minutes
    plans = [
        figures(tiles=9, cost=700.0, minutes=60.0),
        figures(tiles=9, cost=690.0, minutes=60.0),  # beats the first: money
        figures(tiles=8, cost=710.0, minutes=60.0),  # fewer tiles for more money: beats none
        figures(tiles=10, cost=720.0, minutes=70.0),  # beaten by all
    ]
    assert beaten_by(plans) == ((1,), (), (), (0, 1, 2))


@given(CHOICES)
def test_brute_force(plans: list[Figures]) -> None:
    for k, found in enumerate(beaten_by(plans)):
        mine = weighed(plans[k])
        for j, plan in enumerate(plans):
            theirs = weighed(plan)
            worse_nowhere = max(t - m for t, m in zip(theirs, mine, strict=True)) <= 0
            better_somewhere = min(t - m for t, m in zip(theirs, mine, strict=True)) < 0
            assert (j in found) == (worse_nowhere and better_somewhere)


@given(CHOICES)
def test_whatever_is_beaten_is_beaten_by_an_unbeaten_one(plans: list[Figures]) -> None:
    found = beaten_by(plans)
    unbeaten = {k for k, others in enumerate(found) if not others}
    assert unbeaten
    assert all(not others or unbeaten & set(others) for others in found)


@given(CHOICES, st.tuples(*(st.integers(min_value=1, max_value=9) for _ in range(3))))
def test_the_least_of_any_weighted_sum_is_unbeaten(plans: list[Figures], weights: tuple[int, ...]) -> None:
    sums = [sum(w * x for w, x in zip(weights, weighed(plan), strict=True)) for plan in plans]
    assert beaten_by(plans)[sums.index(min(sums))] == ()


@given(CHOICES, st.sampled_from(AIMS))
def test_the_best_is_unbeaten_and_first_by_the_aim(plans: list[Figures], aim: Aim) -> None:
    first = best(plans, aim)
    assert beaten_by(plans)[first] == ()
    assert value(plans[first], aim) == min(value(plan, aim) for plan in plans)


def value(plan: Figures, aim: Aim) -> float:
    return {"tiles": float(plan.tiles), "cost": plan.cost, "minutes": plan.minutes}[aim]


@pytest.mark.parametrize(("aim", "first"), [("tiles", 1), ("cost", 0), ("minutes", 2)])
def test_the_best_follows_the_aim(aim: Aim, first: int) -> None:
    plans = [
        figures(tiles=9, cost=600.0, minutes=60.0),
        figures(tiles=8, cost=650.0, minutes=61.0),
        figures(tiles=9, cost=640.0, minutes=59.0),
    ]
    assert best(plans, aim) == first


def test_of_equal_ones_the_best_leaves_the_least_open() -> None:
    assert best([figures(open_area=2.0), figures(open_area=1.0), figures(open_area=1.0)], "tiles") == 1


def test_what_is_beaten_only_by_laying_less() -> None:
    one, less, hardly_less = (figures(open_area=area) for area in (100_000.0, 400_000.0, 110_000.0))
    assert lays_more(one, [less, less])
    assert not lays_more(one, [less, hardly_less])
    assert not lays_more(one, [one])
    assert not lays_more(one, [])  # unbeaten
