"""A search's limit, counted in work: the same order, seed and limit give the same answer on any machine."""

from __future__ import annotations

from dataclasses import dataclass

# What the steps took on the machine where they were measured (one core of an AMD EPYC, Python 3.11), in seconds.
A_STEP = 7e-5  # one step of many fills at once
A_CHOICE = 4.5e-9  # looking at one size in one of those fills
A_ROW = 2.8e-7
AN_ENTRY = 6e-7  # one entry of a linear programme's matrix, written and solved
A_CELL = 4e-6  # one rectangle of the dynamic programme
BEFORE_BRANCHING = 5e-6  # one entry of a mixed-integer programme, presolved
AN_ITERATION = 4e-9  # one entry of it at one iteration of its linear programmes
ITERATIONS_A_ROW = 12  # of a mixed-integer programme, at one node
FEW_ROWS = 100  # of a linear programme; with more of them an entry takes longer


@dataclass(kw_only=True)
class Effort:
    """Work left and done, in the seconds that it took on the machine where it was measured."""

    seconds: float
    spent: float = 0.0

    @property
    def left(self) -> float:
        return self.seconds - self.spent

    @property
    def over(self) -> bool:
        return self.spent >= self.seconds

    def fill(self, steps: int, rows: int, sizes: int) -> None:
        """`rows` is summed over the steps: the fills that were still open."""
        self.spent += A_STEP * steps + (A_ROW + A_CHOICE * sizes) * rows

    def programme(self, entries: int, rows: int = 0) -> None:
        self.spent += AN_ENTRY * entries * max(1.0, rows / FEW_ROWS)

    def pool(self, rows: int) -> None:
        self.spent += 4e-6 * rows

    def table(self, width: int, height: int) -> None:
        self.spent += A_CELL * width * height

    def nodes(self, entries: int, rows: int) -> int:
        """About how many nodes of a mixed-integer programme the effort left is enough for, at least one."""
        return max(1, int(self.left / max(entries * rows * ITERATIONS_A_ROW * AN_ITERATION, 1e-9)))

    def branching(self, entries: int, iterations: int) -> None:
        self.spent += entries * (BEFORE_BRANCHING + AN_ITERATION * iterations)
