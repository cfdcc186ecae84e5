"""The stages' records in ticks → the plan file's records in millimetres."""

from cutopt.writeup.plan import Result, plan_of

__all__ = ["Result", "plan_of"]
