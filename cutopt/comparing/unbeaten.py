"""Which choices no other beats, and which of them is the best by the job's aim."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.comparing.records import Figures
from cutopt.job.records import Aim

NOTEWORTHY = 50_000.0  # square millimetres: a choice that leaves so much more open is cheaper because it lays less
Weighed = tuple[float, float, float]  # tiles, money, minutes


def weighed(figures: Figures) -> Weighed:
    """What decides whether a choice is beaten: tiles, money, minutes; less is better."""
    return figures.tiles, figures.cost, figures.minutes


def beats(one: Weighed, other: Weighed) -> bool:
    """Whether one is at least as good in everything and better in something: Pareto dominance."""
    return one != other and all(mine <= theirs for mine, theirs in zip(one, other, strict=True))


def beaten_by(figures: Sequence[Figures]) -> tuple[tuple[int, ...], ...]:
    """For each choice the indices of those that beat it, none for one that is unbeaten. Equal ones do not beat each
    other.
    """
    points = [weighed(one) for one in figures]
    return tuple(tuple(k for k, other in enumerate(points) if beats(other, point)) for point in points)


def lays_more(one: Figures, beaters: Sequence[Figures]) -> bool:
    """Whether a choice is beaten only by those that leave more ground open."""
    return bool(beaters) and all(other.open_area - one.open_area >= NOTEWORTHY for other in beaters)


def best(figures: Sequence[Figures], aim: Aim) -> int:
    """The index of the choice that is first by the aim, then by what the aim leaves equal.

    It is unbeaten, since whatever beat it would come before it. Equal ones: the one that leaves the least open, then
    the first.
    """
    return min(range(len(figures)), key=lambda k: (_order(figures[k], aim), figures[k].open_area, k))


def _order(figures: Figures, aim: Aim) -> Weighed:
    tiles, money, minutes = weighed(figures)
    if aim == "cost":
        return money, tiles, minutes
    return (minutes, tiles, money) if aim == "minutes" else (tiles, minutes, money)
