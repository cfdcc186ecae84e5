"""How often memory is searched for records that hold each other: a search looks at all that there is."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

RECORDS = 100_000  # made between two searches: hardly any hold each other, and a search is slow


@contextmanager
def rarely_searched() -> Iterator[None]:
    """Within, or while what is decorated with it runs, memory is searched only after many more records."""
    often, *others = gc.get_threshold()
    if 0 < often < RECORDS:
        gc.set_threshold(RECORDS, *others)
    try:
        yield
    finally:
        gc.set_threshold(often, *others)


@contextmanager
def not_searched() -> Iterator[None]:
    """Within, memory is not searched at all: for what makes millions of records, none of which hold each other."""
    before = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if before:
            gc.enable()
