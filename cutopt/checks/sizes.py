"""Numbers beyond any site: what is that far off is said once, and nothing else of the plan is looked at."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from cutopt.checks.finding import Fault, fault
from cutopt.planfile import Plan

MOST = 10_000_000.0  # mm: ten kilometres
PARTS = ("kerf", "tile", "stock", "areas", "pieces", "sources", "supports", "steps")


def sizes(plan: Plan) -> Iterator[Fault]:
    """Each part of the plan that has a number beyond all measure."""
    for part in PARTS:
        for number in _numbers(getattr(plan, part)):
            if abs(number) > MOST:
                yield fault("size", part, f"has the number {number:g}; lengths up to {MOST:g} mm are looked at")
                break
    if not 0 < plan.job.mark <= MOST:
        yield fault("size", "job.mark", f"is {plan.job.mark:g}; a length above 0 is meant")


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
