"""Work done aside: in a copy of this process that goes on beside it, so that every processor has something to do.

The system copies the process as it stands (`fork`), so that nothing need be sent to it, and what it finds comes back.
That is the same with and without it: where the system cannot copy, or a copy comes to grief, all is done here.
"""

from __future__ import annotations

import gc
import os
import pickle
import sys
import threading
import warnings
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Generic, TypeVar

from cutopt.interrupts import put_off

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

K = TypeVar("K")
T = TypeVar("T")
R = TypeVar("R")

MOST_PROCESSES = 60  # Windows waits for no more at once
MOST_PARTS = 4  # more copies find too little to do: what is between the parts is done by one


def processes() -> int:
    """How many processors this process may use."""
    free = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(free, MOST_PROCESSES)


def shared(work: Callable[[Sequence[T]], Sequence[R]], items: Sequence[T], *, least: int) -> Sequence[R]:
    """What `work` finds for the items, one for each, in their order; done in parts at once where there are many.

    `least`: items for which a copy of this process is worth its start.
    """
    parts = min(processes() - _own.running, MOST_PARTS, len(items) // max(least, 1))
    if parts < 2 or not beside():
        return work(items)
    ends = [len(items) * part // parts for part in range(parts + 1)]
    first, *others = (items[low:high] for low, high in pairwise(ends))
    with ExitStack() as begun:
        rests = [begun.enter_context(Begun(partial(work, some))) for some in others]
        return [*work(first), *(one for rest in rests for one in rest.result())]


def foreseen(known: dict[K, R], wanted: Mapping[K, T], work: Callable[[T], R], *, least: int) -> None:
    """Work out what is wanted and not known yet, by its key, so that it is known; many at once as in `shared`."""
    new = {key: one for key, one in wanted.items() if key not in known}
    found = shared(lambda some: [work(one) for one in some], list(new.values()), least=least)
    known.update(zip(new, found, strict=True))


class Begun(Generic[T]):
    """Work that is begun in a copy of this process, where that can be; else it is done when its result is wanted.

    A copy that ends without a result has its work done here as well. Used as a context, it is ended with it.

    `busy`: also where no processor is free, as when this process does nothing but wait. Ctrl-C then ends the copy,
    where the work itself would not heed it.
    """

    def __init__(self, work: Callable[[], T], *, busy: bool = False) -> None:
        self._work = work
        self._copy: tuple[BaseProcess, Connection] | None = None
        if _copied() if busy else beside():
            self._copy = _started(work)
            _own.running += 1

    def __enter__(self) -> Begun[T]:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def result(self) -> T:
        """What the work finds, once; waits for it."""
        if self._copy is None:
            return self._work()
        _, here = self._copy
        try:
            found: T = pickle.loads(here.recv_bytes())
        except (EOFError, OSError):
            return self._work()
        finally:
            self.stop()
        return found

    def stop(self) -> None:
        """Want no result any more."""
        if self._copy is not None:
            process, here = self._copy
            process.kill()
            process.join()
            here.close()
            self._copy = None
            _own.running -= 1


@dataclass(kw_only=True, slots=True)
class _Own:
    """What this process does: how many copies of it are running, and whether it may make some."""

    running: int = 0
    alone: bool = False


_own = _Own()


def never() -> None:
    """Do no more work aside: this process is one of many that keep all processors busy."""
    _own.alone = True


def _started(work: Callable[[], object]) -> tuple[BaseProcess, Connection]:
    """A copy that does the work, and the end of the pipe that its result comes out of."""
    import multiprocessing  # slow to load, and not needed for a small job

    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_sent, args=(work, here, there), daemon=True)
    # a copy that is made here never leaves this block: Ctrl-C is for the process that waits
    with put_off(), warnings.catch_warnings():
        # some Pythons warn of threads: those of numpy's libraries are made anew in the copy, and there are no others
        warnings.simplefilter("ignore", DeprecationWarning)
        process.start()
    there.close()
    return process, here


def beside() -> bool:
    """Whether work can be done aside: this process can be copied, and a processor has nothing to do."""
    return processes() > 1 + _own.running and _copied()


def _copied() -> bool:
    """Whether this process can be copied: the system does it, no other thread runs, and it is no copy itself nor one
    that makes none.

    On a Mac the system's own libraries do not bear to be copied.
    """
    if _own.alone or not hasattr(os, "fork") or sys.platform == "darwin" or threading.active_count() > 1:
        return False
    known = sys.modules.get("multiprocessing")
    return known is None or not known.current_process().daemon


def _sent(work: Callable[[], T], here: Connection, there: Connection) -> None:
    """Do the work in the copy and send what it finds. A failure is left to the process that waits: it meets it too."""
    here.close()  # else nothing would tell this process that nobody waits any more, and it would wait for ever
    gc.disable()  # a search of memory would write on all of it, and what is written on has to be copied first
    try:
        there.send_bytes(pickle.dumps(work(), pickle.HIGHEST_PROTOCOL))
    except Exception:
        return
