"""Gaps at edges and posts: their defaults by kind, and whether a cut can be marked inside them."""

from __future__ import annotations

from dataclasses import dataclass

from cutopt.job.ledger import Ledger
from cutopt.job.records import EdgeKind
from cutopt.rules import Rules

Pair = tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Gaps:
    """Where gaps come from when an edge or a post has none of its own.

    `module` is the longer pitch of the grid, ticks: at an open edge or a stone border whole tiles end where they end,
    so up to a module stays free.
    """

    rules: Rules
    mark: int
    module: int

    def at_edge(self, kind: EdgeKind, own: list[int] | None, key: str, ledger: Ledger) -> Pair:
        """The gap of an edge. Notes a mistake where it is no range, or a cut at it could not be marked."""
        if kind in ("open", "stone"):
            return self._checked(own, key, ledger, cut=False) if own else (0, self.module)
        name = "wall_gap" if kind == "wall" else "flush_gap"
        if own:
            return self._checked(own, key, ledger, cut=True)
        return self._checked(list(getattr(self.rules, name)), f"rules.{name}", ledger, cut=True)

    def at_post(self, *, drain: bool, own: list[int] | None, key: str, ledger: Ledger) -> Pair:
        """The gap around a post. A drain is covered, not cut around, and has none."""
        if drain:
            return self._checked(own, key, ledger, cut=False) if own else (0, 0)
        if own:
            return self._checked(own, key, ledger, cut=True)
        return self._checked(list(self.rules.post_gap), "rules.post_gap", ledger, cut=True)

    def _checked(self, gap: list[int], key: str, ledger: Ledger, *, cut: bool) -> Pair:
        least, most = gap
        text = f"{ledger.length(least)} to {ledger.length(most)}"
        if least > most:
            ledger.add(key, text, "the least does not exceed the most", "put the smaller length first")
        elif cut and most - least < self.mark:
            rule = (
                f"a gap's range is at least the finest mark, {ledger.length(self.mark)}, or no cut can be marked in it"
            )
            ledger.add(key, text, rule, "widen the gap, or set a finer job.mark")
        return least, most
