"""All mistakes of a job file, collected in one run."""

from __future__ import annotations

from collections.abc import Iterable

from cutopt.errors import BadInput, Mistake
from cutopt.lengths import Show, format_length
from cutopt.wording import shown

_MOST_MISTAKES = 200


class Ledger:
    """The mistakes found so far in one file. `show` is how lengths are written in messages."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.show: Show = "mm"
        self._mistakes: list[Mistake] = []

    def add(self, key: str, value: object, rule: str, remedy: str) -> None:
        """Note a mistake: where, the value as read (None for none), what is allowed, and what to do."""
        text = "" if value is None else shown(value)
        self.take([Mistake(file=self.file, key=key, value=text, rule=rule, remedy=remedy)])

    def take(self, mistakes: Iterable[Mistake]) -> None:
        """Note mistakes that another part found, each once."""
        for mistake in mistakes:
            if mistake not in self._mistakes:
                self._mistakes.append(mistake)

    def length(self, ticks: int) -> str:
        """A length for a message."""
        return format_length(ticks, show=self.show)

    def close(self) -> None:
        """Raise `BadInput` if there are mistakes, the first 200 of them."""
        if not self._mistakes:
            return
        told = self._mistakes[:_MOST_MISTAKES]
        left = len(self._mistakes) - len(told)
        if left:
            rule, remedy = f"has {left} more mistakes", "mend these first"
            told.append(Mistake(file=self.file, key="", value="", rule=rule, remedy=remedy))
        raise BadInput(told)
