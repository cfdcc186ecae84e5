"""Bounds never pass what can be done: orders made by sawing up a known number of sheets."""

from __future__ import annotations

import random

import numpy as np
import pytest

from cutopt.packing.bounds import fewest_bars, fewest_sheets
from cutopt.packing.covering import Cover
from cutopt.packing.effort import Effort
from cutopt.packing.order import Order, read_order
from cutopt.packing.relaxing import Relaxation

Size = tuple[int, int]


def _sawn(sheets: int, seed: int) -> list[Size]:
    """Pieces of so many sheets of 60 × 50; one piece in six is thrown away."""
    dice, made = random.Random(seed), list[Size]()
    for _ in range(sheets):
        parts: list[Size] = [(60, 50)]
        for _ in range(dice.randint(2, 7)):
            wide, high = parts.pop(dice.randrange(len(parts)))
            if dice.random() < 0.5 and wide > 4:
                at = dice.randint(1, wide - 1)
                parts += [(at, high), (wide - at, high)]
            elif high > 4:
                at = dice.randint(1, high - 1)
                parts += [(wide, at), (wide, high - at)]
            else:
                parts.append((wide, high))
        made += [part for part in parts if dice.random() < 5 / 6]
    return made


def _order(items: list[Size]) -> tuple[Order, np.ndarray[tuple[int], np.dtype[np.int64]]]:
    order = read_order(items, (60, 50), 0, 1)
    return order, np.array([len(members) for members in order.members], dtype=np.int64)


@pytest.mark.parametrize("seed", range(60))
def test_no_bound_is_above_a_known_packing(seed: int) -> None:
    sheets = 1 + seed % 6
    order, demand = _order(_sawn(sheets, seed))
    assert 1 <= fewest_sheets(order.sizes, demand) <= sheets
    cover = Cover(demand, Effort(seconds=100))
    for kind in range(len(demand)):
        cover.write(np.eye(len(demand), dtype=np.int64)[kind])
    assert Relaxation(order.sizes).bound(cover, None) <= sheets + 1e-6


@pytest.mark.parametrize("seed", range(40))
def test_no_bound_on_bars_is_above_a_known_cutting(seed: int) -> None:
    dice, lengths = random.Random(seed), list[int]()
    for _ in range(8):
        rest = 97
        while rest > 3 and dice.random() < 0.9:
            lengths.append(dice.randint(1, rest))
            rest -= lengths[-1]
    if lengths:
        assert fewest_bars(np.array(lengths, np.int32), np.ones(len(lengths), np.int64), 97) <= 8


def test_what_the_functions_see_that_area_does_not() -> None:
    # 51 of 100 twice fit neither beside nor above one another; 34 three times do not fit in a row
    order = read_order([(51, 51)] * 4, (100, 100), 0, 1)
    assert fewest_sheets(order.sizes, np.array([4])) == 4
    order = read_order([(34, 51)] * 5, (100, 100), 0, 1)
    assert fewest_sheets(order.sizes, np.array([5])) == 3
    assert fewest_bars(np.array([34], np.int32), np.array([5]), 100) == 3
