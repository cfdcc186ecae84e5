"""The order of fence settings: as few as the order of the cuts on each tile lets there be.

Each tile wants settings one after another, its chain. A row of settings in which every chain is found in its order does
for all tiles: a common supersequence, and the shortest one has the fewest settings. That is hard in general (Maier,
J. ACM 25, 1978) and easy here: what first chains all wait for can be set at once, and settings that wait for each other
in a circle are few.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

MOST_LOOKED_AT = 20_000  # states of one knot

Setting = TypeVar("Setting", bound=Hashable)
Chain = tuple[Setting, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class SettingOrder(Generic[Setting]):
    """A row of settings that serves every chain, and a number that no such row goes below."""

    row: tuple[Setting, ...]
    bound: int


def setting_order(chains: Iterable[Sequence[Setting]]) -> SettingOrder[Setting]:
    """The shortest row found; it is the shortest there is where its length is the bound."""
    left = list(dict.fromkeys(_merged(chain) for chain in chains))
    head: list[Setting] = []
    tail: list[Setting] = []
    while True:
        left = [chain for chain in left if chain]
        first = _ready(left, 0)
        last = _ready(left, -1) if first is None else None
        if first is not None:
            head.append(first)
            left = [chain[1:] if chain[0] == first else chain for chain in left]
        elif last is not None:
            tail.append(last)
            left = [chain[:-1] if chain[-1] == last else chain for chain in left]
        else:
            break
    knots = [_untied(some) for some in _together(left)]
    row = (*head, *(setting for knot in knots for setting in knot.row), *reversed(tail))
    return SettingOrder(row=row, bound=len(head) + len(tail) + sum(knot.bound for knot in knots))


def _merged(chain: Sequence[Setting]) -> Chain[Setting]:
    """A setting that follows itself is the same one."""
    return tuple(one for n, one in enumerate(chain) if n == 0 or one != chain[n - 1])


def _ready(chains: Sequence[Chain[Setting]], end: int) -> Setting | None:
    """A setting that every chain that wants it wants at this end, and wants once: made there, it is made once for all,
    and no row has it less often.
    """
    wanted = Counter(setting for chain in chains for setting in chain)
    at_end = Counter(chain[end] for chain in chains)
    return next((setting for setting, times in at_end.items() if wanted[setting] == times), None)


def _together(chains: Sequence[Chain[Setting]]) -> list[list[Chain[Setting]]]:
    """Chains that share settings, directly or by others."""
    groups: list[tuple[set[Setting], list[Chain[Setting]]]] = []
    for chain in chains:
        joined: tuple[set[Setting], list[Chain[Setting]]] = (set(chain), [chain])
        apart = []
        for settings, some in groups:
            if settings & joined[0]:
                joined = (joined[0] | settings, [*some, *joined[1]])
            else:
                apart.append((settings, some))
        groups = [*apart, joined]
    return [some for _, some in groups]


def _untied(chains: Sequence[Chain[Setting]]) -> SettingOrder[Setting]:
    """The shortest row for chains that wait for each other: a best-first search over how far each chain is.

    At least as many settings are left as there are different ones in what is left of the chains.
    """
    start = (0,) * len(chains)
    heap: list[tuple[int, int, int, tuple[int, ...]]] = [(_apart(chains, start), 0, 0, start)]
    came: dict[tuple[int, ...], tuple[tuple[int, ...], Setting]] = {}
    known = {start: 0}
    count = 0
    while True:
        least, _, _, at = heapq.heappop(heap)
        done = all(n == len(chain) for n, chain in zip(at, chains, strict=True))
        if done or len(known) > MOST_LOOKED_AT:
            break
        for setting in _fronts(chains, at):
            new, made = _stepped(chains, at, setting), known[at] + 1
            if made < known.get(new, made + 1):
                known[new], came[new] = made, (at, setting)
                count += 1
                heapq.heappush(heap, (made + _apart(chains, new), -sum(new), count, new))
    row: list[Setting] = []
    back = at
    while back in came:
        back, setting = came[back]
        row.append(setting)
    row.reverse()
    while fronts := _fronts(chains, at):  # where the search ended early: what most chains want next
        setting = max(fronts, key=lambda one: sum(_stepped(chains, at, one)))
        row.append(setting)
        at = _stepped(chains, at, setting)
    return SettingOrder(row=tuple(row), bound=least)


def _fronts(chains: Sequence[Chain[Setting]], at: Sequence[int]) -> list[Setting]:
    return list(dict.fromkeys(chain[n] for n, chain in zip(at, chains, strict=True) if n < len(chain)))


def _stepped(chains: Sequence[Chain[Setting]], at: Sequence[int], setting: Setting) -> tuple[int, ...]:
    """How far the chains are after a setting."""
    return tuple(n + 1 if n < len(chain) and chain[n] == setting else n for n, chain in zip(at, chains, strict=True))


def _apart(chains: Sequence[Chain[Setting]], at: Sequence[int]) -> int:
    """Different settings that are still wanted."""
    return len({setting for n, chain in zip(at, chains, strict=True) for setting in chain[n:]})
