"""The names that print on pages and stick on wood: T1 a source, P1 a piece, R1 an offcut to rack, W1 waste."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import count

from cutopt.hang import HungSource


@dataclass(frozen=True, kw_only=True)
class Ids:
    """Names of everything that the sources hold. `parts` maps (source, part) to a name."""

    parts: dict[tuple[int, int], str]

    @staticmethod
    def source(number: int) -> str:
        return f"T{number + 1}"

    @staticmethod
    def piece(number: int) -> str:
        return f"P{number + 1}"

    def part(self, source: int, part: int | None) -> str:
        """The part's name; empty for dust."""
        return "" if part is None else self.parts[source, part]


def ids_of(sources: Sequence[HungSource], racked: Collection[str]) -> Ids:
    """Name every part: pieces and leftovers by what they become, those that are cut again after their source.

    `racked`: the names on the rack; a new offcut gets none of them.
    """
    parts: dict[tuple[int, int], str] = {}
    free = (name for n in count(1) if (name := f"R{n}") not in racked)
    wasted = 0
    for s, source in enumerate(sources):
        parts[s, 0] = Ids.source(s)
        tree = source.tile.tree
        for p, part in enumerate(tree.finished):
            parts[s, part] = Ids.piece(source.tile.pieces[p])
        for rest in source.rests:
            wasted += not rest.keep
            parts[s, rest.part] = next(free) if rest.keep else f"W{wasted}"
        for cut in tree.cuts:
            for half in (cut.left, cut.right):
                if half is not None:
                    parts.setdefault((s, half), f"{Ids.source(s)}.{half}")
    return Ids(parts=parts)
