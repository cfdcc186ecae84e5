"""The scout: a copy of this process works out the grid start that comes next while this one works out its own.

It goes by the best grid as it was when it left. Where a better one is found meanwhile, what it has learnt of the
carpentry is all that is of use. So what is found is the same with and without it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from cutopt.aside import Begun
from cutopt.fit import Carpenter, Learnt
from cutopt.gridchoice.grids import Grid


@dataclass(frozen=True, kw_only=True, slots=True)
class Brought:
    """What a scout comes back with: the grid without its areas, None where it was given up."""

    grid: Grid | None
    learnt: Learnt


@dataclass(kw_only=True, slots=True)
class Scout:
    """Sent ahead with a carpenter. Used as a context: it is called off at the end."""

    carpenter: Carpenter
    _out: Begun[Brought] | None = None
    _errand: tuple[object, float] | None = None

    def __enter__(self) -> Scout:
        return self

    def __exit__(self, *_: object) -> None:
        self.call_off()

    def send(self, where: object, limit: float, work: Callable[[], Grid | None]) -> None:
        """Have a grid start worked out up to a limit, in a copy of this process."""
        before = self.carpenter.answers

        def brought() -> Brought:
            grid = work()
            return Brought(grid=grid and replace(grid, areas=()), learnt=self.carpenter.learnt(before))

        self._out, self._errand = Begun(brought), (where, limit)

    def back(self, where: object, limit: float) -> Brought | None:
        """What it has found there, None where it went elsewhere or by another limit."""
        if self._out is None or self._errand is None or self._errand[0] != where:
            self.call_off()
            return None
        brought, same = self._out.result(), self._errand[1] == limit
        self.call_off()
        self.carpenter.taught(brought.learnt if same else replace(brought.learnt, asked={}))
        return brought if same else None

    def call_off(self) -> None:
        """Want nothing of it any more."""
        if self._out is not None:
            self._out.stop()
            self._out = None
