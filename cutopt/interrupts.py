"""Ctrl-C put off until it can do no harm."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def put_off() -> Iterator[None]:
    """Within, Ctrl-C has to wait, where the system can make it.

    A compiled library that meets it while it is being loaded swallows it or prints a traceback.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
