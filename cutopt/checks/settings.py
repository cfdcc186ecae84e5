"""Fence settings: where the fence stands, from which edge, the sum to check against, and how often it is set."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.replay import Blade
from cutopt.checks.sawing import factory_edge
from cutopt.checks.shapes import number, same
from cutopt.lengths import LengthError, mm, parse_length
from cutopt.planfile.model import Cut, Setup, Step

PRINTED_TO = {"mm": 0.06, "in": 0.21}  # mm: half of the tenth or the 64th that a printed number is rounded to
FENCE_PLAY = 0.06  # mm


def settings(evidence: Evidence) -> Iterator[Fault]:
    """All faults of how the fence is set."""
    for worked in evidence.worked:
        blades = {blade.cut.n: blade for blade in worked.blades}
        cuts = {cut.n: cut for cut in worked.source.cuts}
        for step in evidence.steps(worked.source):
            cut = cuts.get(step.cut) if step.do == "cut" and step.cut is not None else None
            if cut is None:
                if step.setup is not None and step.do != "cut":  # a board alone: see `ripping.py`
                    yield fault("setup", _where(step), "sets a fence and makes no cut")
                continue
            yield from _setup(evidence, step, cut)
            if step.setup is not None and cut.n in blades:
                yield from _edge_there(evidence, step, step.setup, blades[cut.n])
                yield from _sum(evidence, step, step.setup, blades[cut.n])


def setups(evidence: Evidence) -> int:
    """How often the fence is set: at each change of its distance or of the direction it is measured in."""
    found = _fences(evidence)
    return sum(one != other for one, other in itertools.pairwise(found)) + bool(found)


def different(evidence: Evidence) -> int:
    """How many different settings there are."""
    return len(set(_fences(evidence)))


def _fences(evidence: Evidence) -> list[tuple[float, str]]:
    """Where the fence stands at each cut along it, in the order of the work."""
    steps = sorted(evidence.plan.steps, key=lambda step: step.n)
    return [(step.setup.fence, step.setup.datum[0]) for step in steps if step.setup is not None]


def _where(step: Step) -> str:
    return f"step {step.n}"


def _setup(evidence: Evidence, step: Step, cut: Cut) -> Iterator[Fault]:
    """The fence stands where the near side of the blade has to be."""
    if step.setup is None:
        if cut.saw == "table_saw":
            yield fault("setup", _where(step), "is a table saw cut without a fence setting")
        return
    axis = 0 if step.setup.datum[0] == "u" else 1
    if len(cut.path) != 2 or not same(cut.path[0][axis], cut.path[1][axis]):
        yield fault("setup", _where(step), f"sets a fence from {step.setup.datum} for a cut that is not parallel to it")
        return
    far = step.setup.datum[1] == "1"
    size = (evidence.tile.length, evidence.tile.width)[axis]
    line = cut.path[0][axis]
    # heading along +v, left is towards u0; heading along +u, left is towards v1
    upwards = cut.path[1][1 - axis] > cut.path[0][1 - axis]
    left_is_low = upwards if axis == 0 else not upwards
    waste_is_low = (cut.waste_side == "left") is left_is_low
    near = line if waste_is_low is far else line + (cut.kerf if far else -cut.kerf)
    distance = size - near if far else near
    if abs(distance - step.setup.fence) > FENCE_PLAY:
        text = (
            f"fence {number(step.setup.fence)} from {step.setup.datum}; the blade's near side is at {number(distance)}"
        )
        yield fault("setup", _where(step), text)


def _edge_there(evidence: Evidence, step: Step, setup: Setup, blade: Blade) -> Iterator[Fault]:
    """The part still has the factory edge that runs along the fence."""
    axis = 0 if setup.datum[0] == "u" else 1
    at = (evidence.tile.length, evidence.tile.width)[axis] if setup.datum[1] == "1" else 0.0
    if factory_edge(blade.part, axis, at) <= 1.0:
        text = f"measures from {setup.datum}, and part {blade.cut.part} has nothing left of that edge"
        yield fault("setup", _where(step), text)


def _sum(evidence: Evidence, step: Step, setup: Setup, blade: Blade) -> Iterator[Fault]:
    """fence + kerf + rest = size of the part, or fence + dust = size where less than the kerf is left."""
    axis = 0 if setup.datum[0] == "u" else 1
    low, high = blade.part.bounds[axis], blade.part.bounds[axis + 2]
    size = (evidence.tile.length, evidence.tile.width)[axis] - low if setup.datum[1] == "1" else high
    rest = size - setup.fence - blade.cut.kerf
    meant = [setup.fence, blade.cut.kerf, rest, size] if rest > 0 else [setup.fence, size - setup.fence, size]
    yield from sum_fault(evidence, step, meant)


def sum_fault(evidence: Evidence, step: Step, meant: Sequence[float]) -> Iterator[Fault]:
    """A fault where a step's sum is not that of the numbers that are meant, the total last."""
    stated, play = _read(evidence, step.sum), PRINTED_TO[evidence.plan.job.show]
    good = len(stated) == len(meant) and all(abs(a - b) <= play for a, b in zip(stated, meant, strict=True))
    if not good:
        wanted = f"{' + '.join(number(one) for one in meant[:-1])} = {number(meant[-1])}"
        yield fault("step-sum", _where(step), f"its sum is {step.sum!r}; {wanted} is meant")


def _read(evidence: Evidence, text: str) -> list[float]:
    """The numbers of a sum, mm; empty where it is none."""
    left, _, right = text.partition("=")
    try:
        return [mm(parse_length(part.strip(), unit=evidence.plan.job.show)) for part in (*left.split("+"), right)]
    except LengthError:
        return []
