"""What is worked out one by one as it is asked for, and remembered for whoever asks again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Generic, TypeVar

T = TypeVar("T")


class Known(Generic[T]):
    """What an iterator gives, as often as it is asked for; no more of it is worked out than is asked for."""

    def __init__(self, source: Iterator[T]) -> None:
        self._source = source
        self._found: list[T] = []

    def __iter__(self) -> Iterator[T]:
        at = 0
        while at < len(self._found) or self._goes_on():
            yield self._found[at]
            at += 1

    def _goes_on(self) -> bool:
        """Work out one more, where there is one."""
        for one in self._source:
            self._found.append(one)
            return True
        return False
