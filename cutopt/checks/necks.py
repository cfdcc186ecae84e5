"""Necks: stretches of a slat fragment too narrow for any screw, between wider wood or cut free by a notch.

┌──────┐      ┌────       ┌────────┐               ┌─────────_____
│      └──────┘           │        └───────        │              ‾‾‾‾‾-----_____
└─────────────────        └────────────────        └──────────────────────────────
a neck                    a tongue: a neck too     a taper's tip: none, nor a tongue that runs out to a point
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely.geometry import Polygon, box

from cutopt.checks.shapes import TOLERANCE, Spot, common, falls_short, polygons, upright

SHORTEST = 1.0  # mm: a shorter stretch is no neck
STEP = 1.0  # mm: where the width changes more than this at one place, it is a notch's side
POINT = 2.0  # mm: a tip that ends no wider has run out to a point


@dataclass(frozen=True, kw_only=True, slots=True)
class _Bay:
    """What a fragment has between two of its corners along the slats: a trapezoid."""

    u: Spot
    spans: tuple[Spot, Spot]  # from where to where across, at both ends

    @property
    def widths(self) -> Spot:
        """At both ends."""
        (low, high), (other_low, other_high) = self.spans
        return (high - low, other_high - other_low)


def necks(outline: Polygon, least: float) -> Iterator[tuple[float, float, float]]:
    """Each neck of a fragment: from u, to u, and its greatest width, mm."""
    if upright(outline):
        return
    bays = _bays(outline)
    narrow = [bay for bay in bays if falls_short(max(bay.widths), least)]
    for run in _runs(narrow):
        start, end = run[0], run[-1]
        if end.u[1] - start.u[0] <= SHORTEST:
            continue
        before = [bay for bay in bays if bay not in run and _meet(bay, start)]
        after = [bay for bay in bays if bay not in run and _meet(end, bay)]
        stepped = any(_step(bay.widths[1], start.widths[0]) for bay in before)
        stepped = stepped or any(_step(bay.widths[0], end.widths[1]) for bay in after)
        widths = [width for bay in run for width in bay.widths]
        if (before and after) or (stepped and not _runs_out(widths if before else widths[::-1])):
            yield start.u[0], end.u[1], max(max(bay.widths) for bay in run)


def _bays(outline: Polygon) -> list[_Bay]:
    low, high = outline.bounds[1] - 1, outline.bounds[3] + 1
    rings = [outline.exterior, *outline.interiors]
    us = sorted({round(float(u), 6) for ring in rings for u, _ in ring.coords})
    places = [us[0]] if us else []
    places += [b for a, b in pairwise(us) if b - a > TOLERANCE]
    found: list[_Bay] = []
    for a, b in pairwise(places):
        for part in polygons(common(outline, box(a, low, b, high))):
            found.append(_Bay(u=(a, b), spans=(_span(part, a), _span(part, b))))
    return found


def _span(part: Polygon, u: float) -> Spot:
    """From where to where a trapezoid reaches across at one of its ends."""
    vs = [float(v) for at, v in part.exterior.coords if abs(at - u) <= 2 * TOLERANCE]
    if not vs:
        middle = shapely.centroid(part)
        return (middle.y, middle.y)
    return (min(vs), max(vs))


def _meet(left: _Bay, right: _Bay) -> bool:
    """Whether wood goes on from one stretch into the next."""
    if abs(left.u[1] - right.u[0]) > TOLERANCE:
        return False
    low, high = max(left.spans[1][0], right.spans[0][0]), min(left.spans[1][1], right.spans[0][1])
    return high - low > TOLERANCE


def _step(wide: float, narrow: float) -> bool:
    return wide - narrow > STEP


def _runs_out(widths: Sequence[float]) -> bool:
    """Whether wood only narrows, to a point."""
    narrows = all(after <= one + TOLERANCE for one, after in pairwise(widths))
    return narrows and widths[-1] <= POINT and widths[0] > 2 * widths[-1]


def _runs(narrow: list[_Bay]) -> list[list[_Bay]]:
    """Narrow stretches that follow one another."""
    runs: list[list[_Bay]] = []
    for bay in sorted(narrow, key=lambda bay: bay.u):
        run = next((run for run in runs if _meet(run[-1], bay)), None)
        if run is None:
            runs.append([bay])
        else:
            run.append(bay)
    return runs
