"""Minutes: each step by the rates of the rules, summed by source and by station."""

from __future__ import annotations

from collections.abc import Iterator

from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.settings import setups
from cutopt.checks.shapes import number, same
from cutopt.checks.steps import STATIONS
from cutopt.planfile.model import Source, Step

STEP_PLAY = 0.002  # minutes: rounding of a step
ENDS = 2  # of a board
TOTAL_PLAY = 0.06  # minutes: totals are rounded to a tenth


def minutes(evidence: Evidence) -> Iterator[Fault]:
    """All faults of minutes."""
    plan, rates = evidence.plan, evidence.limits
    stations: dict[str, float] = {}
    for source in plan.sources:
        mine = evidence.steps(source)
        for step in mine:
            yield from _step(evidence, source, step)
        total = sum(step.minutes for step in mine)
        if abs(total - source.minutes) > STEP_PLAY * (len(mine) + 1):
            text = f"takes {number(source.minutes)} minutes; its steps add up to {number(total)}"
            yield fault("minutes", f"source {source.id}", text)
    for step in plan.steps:
        stations[step.station] = stations.get(step.station, 0.0) + step.minutes
    counts = {area.name: area.count for area in plan.areas}
    whole = sum(area.count for area in plan.areas for cell in area.cells if cell.kind == "whole")
    pieces = sum(counts.get(piece.area, 1) for piece in plan.pieces)
    stations["setting fences"] = setups(evidence) * rates.rate_setup
    stations["laying"] = whole * rates.rate_lay_whole + pieces * rates.rate_lay_cut
    yield from _totals(evidence, stations)


def _totals(evidence: Evidence, stations: dict[str, float]) -> Iterator[Fault]:
    totals = evidence.plan.totals
    for station in sorted({*stations, *totals.minutes_by_station}):
        stated, found = totals.minutes_by_station.get(station, 0.0), stations.get(station, 0.0)
        if abs(stated - found) > TOTAL_PLAY:
            text = f"is {number(stated)}; counted {number(found)}"
            yield fault("minutes", f"totals.minutes_by_station.{station}", text)
    found = sum(stations.values())
    if abs(totals.minutes - found) > TOTAL_PLAY:
        yield fault("minutes", "totals.minutes", f"is {number(totals.minutes)}; counted {number(found)}")


def _step(evidence: Evidence, source: Source, step: Step) -> Iterator[Fault]:
    """A step's minutes are those of one copy, as often as the source is cut."""
    bounds = _rate(evidence, source, step)
    if bounds is None:
        return
    least, most = (one * source.uses for one in bounds)
    if not least - STEP_PLAY <= step.minutes <= most + STEP_PLAY:
        wanted = number(least) if least == most else f"{number(least)} to {number(most)}"
        text = f"takes {number(step.minutes)} minutes; by the rates {wanted}"
        yield fault("minutes", f"step {step.n}", text)


def _rate(evidence: Evidence, source: Source, step: Step) -> tuple[float, float] | None:
    """Least and most minutes of one copy; None for marks, whose number only the text tells."""
    rates = evidence.limits
    exact: float
    if step.do == "unscrew":
        return _taking_off(evidence, step)
    if step.do == "drill":
        exact = rates.rate_hole * len(step.holes)
    elif step.do == "seal":
        exact = rates.rate_seal
    elif step.do in ("label", "rack"):
        exact = rates.rate_label
    elif step.do == "cut":
        saw = next((STATIONS[cut.saw] for cut in source.cuts if cut.n == step.cut), step.station)
        saw = "guided saw" if step.station == "guided saw" else saw
        by_saw = {"table saw": rates.rate_table_saw, "guided saw": rates.rate_guided_saw, "jigsaw": rates.rate_jigsaw}
        exact = by_saw.get(saw, 0.0)  # at no saw: `steps.py` says so
    elif step.do == "screw" and step.backer is None:
        exact = rates.rate_share
    elif step.do in ("re-hang", "screw"):
        return _driving(evidence, source, step)
    else:
        return None
    return (exact, exact)


def _taking_off(evidence: Evidence, step: Step) -> tuple[float, float]:
    """Screws out, and where the text names a saw, the stretch that they held sawn in two."""
    out = evidence.limits.rate_screw_out * len(step.screws)
    saw = _saw_named(evidence, step)
    if saw is None:
        return out, out
    return out + saw, out + saw


def _saw_named(evidence: Evidence, step: Step) -> float | None:
    """Minutes for a cut with the saw that a step at the bench names; None where it names none."""
    rates = evidence.limits
    by_saw = {"table saw": rates.rate_table_saw, "guided saw": rates.rate_guided_saw, "jigsaw": rates.rate_jigsaw}
    return next((rate for name, rate in by_saw.items() if f"with the {name}" in step.text), None)


def _driving(evidence: Evidence, source: Source, step: Step) -> tuple[float, float]:
    """A backer that is hung, and its new screws: predrilled ones take longer, and only the text tells which."""
    rates = evidence.limits
    # a backer that is hung may be screwed in the same step or in one of its own
    apart = any(s.do == "screw" and s.backer == step.backer for s in evidence.steps(source)) and step.do == "re-hang"
    count = 0 if apart else sum(s.backer == step.backer and s.state != "kept" for s in source.screws)
    least, most = _hanging(evidence, source, step) if step.do == "re-hang" else (0.0, 0.0)
    slow, quick = max(rates.rate_screw_in, rates.rate_screw_new), min(rates.rate_screw_in, rates.rate_screw_new)
    return (least + count * quick, most + count * slow)


def _hanging(evidence: Evidence, source: Source, step: Step) -> tuple[float, float]:
    """A backer hung, with the mark of an oblique line, and sawn to length at one end or both where the text names a
    saw.
    """
    rates = evidence.limits
    backer = next((one for one in source.backers if one.id == step.backer), None)
    oblique = backer is not None and not same(backer.line[0][0], backer.line[-1][0])
    hung = rates.rate_backer + rates.rate_mark * oblique
    saw = _saw_named(evidence, step)
    if saw is None:
        return hung, hung
    return hung + saw, hung + ENDS * saw
