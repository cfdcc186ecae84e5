"""The bar that shows a search at work: how far it is, the best count so far, and the bound under it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cutopt.planning import Progress


def words(progress: Progress) -> str:
    """Best count and bound in words: `best 34, bound 33`."""
    best = "no plan yet" if progress.best is None else f"best {progress.best}"
    return best if progress.bound is None else f"{best}, bound {progress.bound}"


@contextmanager
def search_bar(*, wanted: bool) -> Iterator[Callable[[Progress], None] | None]:
    """A bar on stderr while the block runs, as the callback that moves it.

    Yields None, and shows nothing, where it is not wanted or stderr is no terminal. The bar is gone afterwards.
    """
    with bar(wanted=wanted, label="searching", first="no plan yet") as move:
        yield None if move is None else lambda at: move(at.done, max(at.of, 1), words(at))


@contextmanager
def bar(*, wanted: bool, label: str, first: str = "") -> Iterator[Callable[[int, int, str], None] | None]:
    """A bar on stderr while the block runs, as what moves it: done, of how many, and words beside it.

    Yields None, and shows nothing, where it is not wanted or stderr is no terminal. The bar is gone afterwards.
    """
    if not (wanted and sys.stderr.isatty()):
        yield None
        return
    from rich import progress as bars
    from rich.console import Console

    columns = (
        bars.TextColumn(label),
        bars.BarColumn(bar_width=24),
        bars.TextColumn("{task.completed:.0f}/{task.total:.0f}"),
        bars.TextColumn("{task.description}"),
    )
    # no thread of its own that draws it: a process with threads cannot be copied (`cutopt.aside`)
    with bars.Progress(*columns, console=Console(stderr=True), transient=True, auto_refresh=False) as shown:
        task = shown.add_task(first, total=1)

        def move(done: int, of: int, beside: str) -> None:
            shown.update(task, completed=done, total=of, description=beside, refresh=True)

        yield move
