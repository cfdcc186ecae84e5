"""Boards that are ripped alone: backers narrower than their wood, and one of two slats that share a rip."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.settings import FENCE_PLAY, sum_fault
from cutopt.checks.shapes import TOLERANCE, falls_short, number, polygon
from cutopt.checks.steps import free
from cutopt.checks.wood import IN_PLACE, stick_of
from cutopt.planfile.model import Backer, Source, Step

PASSES = 2  # as much off each edge, so that the centre line stays


def ripping(evidence: Evidence) -> Iterator[Fault]:
    """All faults of boards that are ripped alone."""
    for source in evidence.plan.sources:
        mine = evidence.steps(source)
        alone = [step for step in mine if step.do == "cut" and step.cut is None]
        for backer in source.backers:
            yield from _backer(evidence, source, backer, [step for step in mine if step.backer == backer.id])
        for step in alone:
            if step.backer is None:
                yield from _slat(evidence, source, step)


def _backer(evidence: Evidence, source: Source, backer: Backer, mine: Sequence[Step]) -> Iterator[Fault]:
    """Two passes before it is hung, once its wood is free, each taking as much."""
    where = f"backer {backer.id} of {source.id}"
    passes = [step for step in mine if step.do == "cut"]
    full = _wood_width(evidence, backer)
    ripped = backer.state not in IN_PLACE and falls_short(backer.width, full)
    if len(passes) != PASSES * ripped:
        meant = PASSES if ripped else "none"
        text = f"of {number(full)} is hung {number(backer.width)} wide and ripped in {len(passes)} passes; {meant}"
        yield fault("step-backers", where, f"{text} are meant")
        return
    if not ripped:
        return
    hung = min((step.n for step in mine if step.do == "re-hang"), default=len(evidence.plan.steps) + 1)
    if passes[-1].n > hung:
        yield fault("step-order", where, f"is hung in step {hung}, before step {passes[-1].n} rips it")
    yield from free(evidence, where, backer, passes[0].n)
    off = (full - backer.width) / 2
    for step, left in zip(passes, (full - off, backer.width), strict=True):
        yield from _fence(evidence, step, left, left + off)


def _slat(evidence: Evidence, source: Source, step: Step) -> Iterator[Fault]:
    """The inner of two slats that share is ripped to what it is laid back with."""
    shared = [f for f in source.slats if f.state == "shared" and f.piece in step.pieces]
    widths = [bounds[3] - bounds[1] for bounds in (polygon(f.outline).bounds for f in shared)]
    fence = step.setup.fence if step.setup is not None else 0.0
    left = min(widths, key=lambda width: abs(width - fence), default=0.0)
    yield from _fence(evidence, step, left, evidence.tile.slat_width)


def _fence(evidence: Evidence, step: Step, left: float, before: float) -> Iterator[Fault]:
    """At the table saw the fence stands off the blade by what is left of the board, and the sum says so."""
    if step.setup is None:
        if step.station == "table saw":
            yield fault("setup", f"step {step.n}", "rips a board at the table saw without a fence setting")
        return
    if abs(step.setup.fence - left) > FENCE_PLAY:
        text = f"fence {number(step.setup.fence)}; the board is ripped to {number(left)}"
        yield fault("setup", f"step {step.n}", text)
    kerf = evidence.plan.kerf.get("table_saw", 0.0)
    rest = before - left - kerf
    meant = [left, kerf, rest, before] if rest > TOLERANCE else [left, before - left, before]
    yield from sum_fault(evidence, step, meant)


def _wood_width(evidence: Evidence, backer: Backer) -> float:
    """How wide the wood is that a backer is made of; a bought one is as wide as the tile's narrowest."""
    stick = stick_of(evidence, backer)
    if stick is not None:
        return stick.backer.width
    return min((own.width for own in evidence.plan.tile.backers), default=backer.width)
