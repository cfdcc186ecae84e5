"""The minutes that `fit` takes for least are those that the steps of a piece add up to."""

from __future__ import annotations

import re

import pytest
import shapely

from cutopt.fit import Fit
from cutopt.geometry import from_lowest
from cutopt.lengths import ticks
from cutopt.planfile import Plan
from cutopt.planfile.model import Step
from cutopt.planning import plan
from tests.jobs import area_text, carpenter_of, job_of

HEAD = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n[rules]\nspare_backers = 20\n'
BENCH = ("unscrew", "re-hang", "screw", "drill")
OWN_WOOD = ("a blade along the last backer", "a backer moved", "ripped", "two slats share", "predrilled")
CROSSCUT = 1.5  # minutes: rate_guided_saw, which saws boards to length


def area(along: int, across: int) -> str:
    """An area that one piece of this size fills, the least gap of 6 mm all round."""
    return area_text([(0, 0), (along + 12, 0), (along + 12, across + 12), (0, across + 12)])


SITES = {
    "a blade along the last backer": area(588, 600),
    "a backer moved": area(420, 600),
    "backers ripped narrower": area(112, 600),
    "ripped": area(600, 420),
    "two slats share": area(600, 186),
    "predrilled": area(600, 112),
    "notched": area_text([(0, 0), (497, 0), (497, 115), (612, 115), (612, 612), (0, 612)]),
    "oblique": area_text([(0, 0), (612, 0), (552, 612), (0, 612)]),
}


def bench(planned: Plan) -> tuple[list[Step], list[Step]]:
    """Steps at bench and drill, and boards ripped alone: cuts of the piece itself are not of `fit`."""
    steps = planned.steps
    return [s for s in steps if s.do in BENCH], [s for s in steps if s.do == "cut" and s.cut is None]


@pytest.mark.parametrize("name", SITES)
def test_steps_of_one_piece_add_up_to_its_fit(name: str) -> None:
    job = job_of(HEAD + SITES[name])
    planned = plan(job)
    (source,), (piece,) = planned.sources, planned.pieces
    (place,) = source.placements
    way, far = (-1, 600) if place.half_turn else (1, 0)
    lying = [(place.shift[0] + far + way * u, place.shift[1] + far + way * v) for u, v in piece.outline]
    found = carpenter_of(job).fit(from_lowest(tuple((ticks(u), ticks(v)) for u, v in lying)))
    assert isinstance(found, Fit)
    driving, ripping = bench(planned)
    spent = sum(step.minutes for step in (*driving, *ripping) if step.do != "unscrew")
    spent -= CROSSCUT * sum(len(re.findall(r"at [\d.]+(?: mm)?(?= and| from)", _sawn(step))) for step in driving)
    hung = sum(len(d) for seat, d in zip(found.seats, found.drives, strict=True) if seat.backer is None)
    staying = {drive.screw for drives in found.drives for drive in drives if drive.screw}
    off = {fragment.slat for fragment in found.fragments if fragment.shared}
    shape = shapely.Polygon([(ticks(u), ticks(v)) for u, v in lying])
    own = [s for s in job.tile.screws if s.slat in off or shape.covers(shapely.Point(s.at))]
    out = len(own) - len(staying)
    assert spent == pytest.approx(found.minutes - job.rules.rate_screw_out * (out + hung), abs=0.01)
    # which screws hold the wood that boards are made of is known by then: its own, or none where it is bought
    assert {s.id for s in own} - staying <= set(source.screws_out)
    if name in OWN_WOOD:
        assert len(source.screws_out) == out + hung


def _sawn(step: Step) -> str:
    """The words of a re-hang step that tell where its board is sawn to length, ending before the saw."""
    found = re.search(r"(?:sawn|cut to) .*? with the guided saw", step.text)
    return found.group(0).replace("cut to", "at").replace(" with", " from") if found else ""


def test_a_backer_sawn_to_length_takes_its_minutes_and_names_its_saw() -> None:
    planned = plan(job_of(HEAD + SITES["notched"]))
    hung = [step for step in planned.steps if step.do == "re-hang"]
    sawn = [step for step in hung if "sawn at" in step.text or "cut to" in step.text]
    assert sawn
    rates = planned.rules
    for step in sawn:
        assert "with the guided saw" in step.text
        screws = sum(s.backer == step.backer and s.state != "kept" for source in planned.sources for s in source.screws)
        most = float(str(rates["rate_screw_new"])) * screws + float(str(rates["rate_backer"]))
        assert step.minutes >= float(str(rates["rate_backer"])) + CROSSCUT
        assert step.minutes <= most + 2 * CROSSCUT
