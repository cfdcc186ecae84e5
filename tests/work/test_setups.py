"""Rows of fence settings against the shortest common supersequence, found by trying every row."""

from __future__ import annotations

import random
from itertools import product

import pytest

import cutopt.work.setups
from cutopt.work.setups import setting_order


def merged(chain: str) -> str:
    return "".join(c for n, c in enumerate(chain) if n == 0 or c != chain[n - 1])


def serves(row: tuple[str, ...], chain: str) -> bool:
    rest = iter(row)
    return all(setting in rest for setting in merged(chain))


def shortest(chains: list[str]) -> int:
    letters = sorted(set("".join(chains)))
    length = 0
    while True:
        if any(all(serves(row, chain) for chain in chains) for row in product(letters, repeat=length)):
            return length
        length += 1


@pytest.mark.parametrize(
    ("chains", "length"),
    [
        ([], 0),
        (["a", "a", "a"], 1),
        (["aab"], 2),  # a setting that follows itself is the same one
        (["ab", "bc", "ac"], 3),
        (["ab", "ba"], 3),  # each waits for the other
        (["ab", "bc", "ca"], 4),
        (["aba"], 3),
        (["abc", "cba"], 5),
    ],
)
def test_by_hand(chains: list[str], length: int) -> None:
    found = setting_order(chains)
    assert (len(found.row), found.bound) == (length, length)
    assert all(serves(found.row, chain) for chain in chains)


@pytest.mark.parametrize("seed", range(40))
def test_as_short_as_can_be(seed: int) -> None:
    dice = random.Random(seed)
    letters = "abcd"[: dice.randint(2, 4)]
    chains = ["".join(dice.choices(letters, k=dice.randint(1, 3))) for _ in range(dice.randint(2, 4))]
    found = setting_order(chains)
    assert (len(found.row), found.bound) == (shortest(chains),) * 2
    assert all(serves(found.row, chain) for chain in chains)


def test_a_search_that_ends_early_still_serves_and_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    dice = random.Random(1)
    chains = ["".join(dice.sample("abcdefgh", 5)) for _ in range(8)]
    best = setting_order(chains)
    monkeypatch.setattr(cutopt.work.setups, "MOST_LOOKED_AT", 5)
    early = setting_order(chains)
    assert all(serves(early.row, chain) for chain in chains)
    assert early.bound <= best.bound <= len(best.row) <= len(early.row)
