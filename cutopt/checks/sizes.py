"""Numbers beyond any site: what is that far off is said once, and nothing else of the plan is looked at."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from cutopt.checks.finding import Fault, fault
from cutopt.planfile import Plan

MOST = 10_000_000.0  # mm: ten kilometres
MOST_SUM = 1e15  # square millimetres, minutes, money: a thousand square kilometres
LEAST = 1e-100  # a number next to nothing that is not nought breaks the arithmetic of shapes
SMALLEST_TILE = 1.0  # mm
PARTS = ("rules", "kerf", "tile", "stock", "areas", "pieces", "sources", "supports", "steps")
SUMS = ("job", "proof", "totals", "buy")


def sizes(plan: Plan) -> Iterator[Fault]:
    """Each part of the plan that has a number beyond all measure."""
    for parts, most, what in ((PARTS, MOST, "lengths"), (SUMS, MOST_SUM, "numbers")):
        for part in parts:
            off = next((one for one in _numbers(getattr(plan, part)) if not _within(one, most)), None)
            if off is not None:
                yield fault("size", part, f"has the number {_said(off)}; {what} up to {most:g} are looked at")
    if not 0 < plan.job.mark <= MOST:
        yield fault("size", "job.mark", f"is {plan.job.mark:g}; a length above 0 is meant")
    for name in ("length", "width"):
        size = getattr(plan.tile, name)
        if size < SMALLEST_TILE:
            yield fault("size", f"tile.{name}", f"is {size:g}; at least {SMALLEST_TILE:g} mm is meant")


def _within(number: float, most: float) -> bool:
    """A number that is none (NaN) is not."""
    return number == 0 or LEAST <= abs(number) <= most


def _said(number: float) -> str:
    try:
        return f"{number:g}"
    except OverflowError:  # a whole number of hundreds of digits
        return "of very many digits"


def _numbers(value: object) -> Iterator[float]:
    if isinstance(value, int | float):
        yield value
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from _numbers(getattr(value, name))
    elif isinstance(value, dict):
        for one in value.values():
            yield from _numbers(one)
    elif isinstance(value, tuple | list):
        for one in value:
            yield from _numbers(one)
