"""The check: replays a plan file with no code of the planner, and answers with numbered findings.

It believes nothing that the plan claims: pitch, free ground, fragments, parts of the sawing, screws that are in at each
cut and what pieces stand on are all derived again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from cutopt.checks.around import around
from cutopt.checks.backers import backers
from cutopt.checks.blades import blades
from cutopt.checks.coverage import coverage
from cutopt.checks.evidence import Evidence, gather
from cutopt.checks.fastening import fastening
from cutopt.checks.finding import Fault, Finding
from cutopt.checks.fragments import fragments
from cutopt.checks.framing import framing
from cutopt.checks.holding import holding
from cutopt.checks.laying import laying
from cutopt.checks.limits import missing_rules
from cutopt.checks.minutes import minutes
from cutopt.checks.names import names
from cutopt.checks.pinholes import pinholes
from cutopt.checks.placement import placement
from cutopt.checks.rings import rings
from cutopt.checks.ripping import ripping
from cutopt.checks.salvage import salvage
from cutopt.checks.sawing import sawing
from cutopt.checks.sealing import sealing
from cutopt.checks.settings import settings
from cutopt.checks.sharing import sharing
from cutopt.checks.sizes import sizes
from cutopt.checks.standing import standing
from cutopt.checks.steps import steps
from cutopt.checks.sums import sums
from cutopt.checks.supports import supports
from cutopt.planfile import Plan

__all__ = ["Finding", "check"]

CHECKS: tuple[Callable[[Evidence], Iterator[Fault]], ...] = (
    laying,
    around,
    coverage,
    placement,
    sawing,
    blades,
    holding,
    fragments,
    sharing,
    fastening,
    backers,
    salvage,
    framing,
    pinholes,
    supports,
    standing,
    sealing,
    steps,
    ripping,
    settings,
    minutes,
    sums,
)


def check(plan: Plan) -> tuple[Finding, ...]:
    """Every fault of a plan, numbered from 1; none means that the plan can be carried out as written."""
    faults: list[Fault] = [*missing_rules(plan), *sizes(plan)]
    fit_to_read = not faults
    if not any(found.rule == "size" for found in faults):
        faults += [*names(plan), *rings(plan)]
    if fit_to_read:
        evidence = gather(plan)
        for concern in CHECKS:
            faults.extend(concern(evidence))
    return tuple(
        Finding(number=number, rule=found.rule, where=found.where, text=found.text)
        for number, found in enumerate(faults, 1)
    )
