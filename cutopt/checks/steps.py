"""The steps do all the work once, in an order that a person can follow."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence

from cutopt.checks.evidence import Evidence, hardware_of, same_spot
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import number, same
from cutopt.checks.wood import IN_PLACE, stick_of
from cutopt.planfile.model import Backer, Cut, Source, Step

STATIONS = {"table_saw": "table saw", "guided_saw": "guided saw", "jigsaw": "jigsaw"}
SUM = re.compile(r"^\s*(\d+(?:\.\d+)?(?:\s*\+\s*\d+(?:\.\d+)?)+)\s*=\s*(\d+(?:\.\d+)?)\s*$")
PRINTED_TO = 0.06  # mm: rounding of a printed number


def steps(evidence: Evidence) -> Iterator[Fault]:
    """All faults of the steps."""
    sources = {source.id: source for source in evidence.plan.sources}
    for place, step in enumerate(evidence.plan.steps, 1):
        yield from _numbered(place, step)
        source = sources.get(step.source)
        if source is None:
            yield fault("reference", _where(step), f"is of source {step.source}, which is not there")
        else:
            yield from _refers(evidence, step, source)
    for source in evidence.plan.sources:
        mine = evidence.steps(source)
        yield from _cut_once(source, mine)
        yield from _screws_out(source, mine)
        yield from _drilled(source, mine)
        yield from _finished(source, mine)
        for backer in source.backers:
            yield from _hung(evidence, source, backer, mine)


def _where(step: Step) -> str:
    return f"step {step.n}"


def _numbered(place: int, step: Step) -> Iterator[Fault]:
    if step.n != place:
        yield fault("step-order", _where(step), f"stands at place {place}; steps are numbered in order from 1")
    late = [n for n in step.after if n >= step.n or n < 1]
    if late:
        yield fault("step-order", _where(step), f"comes after steps {late}, which are not before it")
    if step.copy_ != 1:
        yield fault("step-order", _where(step), f"is for copy {step.copy_}; the steps of copy 1 stand for all")
    found = SUM.match(step.sum)
    if found:
        total = sum(float(part) for part in found[1].split("+"))
        if abs(total - float(found[2])) > PRINTED_TO * (found[1].count("+") + 2):
            yield fault("step-sum", _where(step), f"its sum is wrong: {step.sum}")


def _refers(evidence: Evidence, step: Step, source: Source) -> Iterator[Fault]:
    """What a step names is there, and the station fits."""
    placed = {placement.piece for placement in source.placements}
    for piece in step.pieces:
        if piece not in placed:
            yield fault("reference", _where(step), f"names piece {piece}, which is not cut from {source.id}")
    if step.backer is not None and step.backer not in {b.id for b in source.backers}:
        yield fault("reference", _where(step), f"names backer {step.backer}, which {source.id} does not list")
    if step.do != "cut":
        return
    cut = next((cut for cut in source.cuts if cut.n == step.cut), None)
    if cut is None:
        yield fault("reference", _where(step), f"makes cut {step.cut} of {source.id}, which is not there")
        return
    if step.station != STATIONS[cut.saw]:
        yield fault("step-station", _where(step), f"makes a {cut.saw} cut at the {step.station}")
    yield from _setup(evidence, step, cut)


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
    if abs(distance - step.setup.fence) > PRINTED_TO:
        text = (
            f"fence {number(step.setup.fence)} from {step.setup.datum}; the blade's near side is at {number(distance)}"
        )
        yield fault("setup", _where(step), text)


def _cut_once(source: Source, mine: Sequence[Step]) -> Iterator[Fault]:
    """Each cut has one step, after the one that made the part it saws."""
    where = f"source {source.id}"
    made = [step.cut for step in mine if step.do == "cut"]
    for cut in source.cuts:
        count = made.count(cut.n)
        if count != 1:
            yield fault("step-cuts", where, f"cut {cut.n} is made in {count} steps; one is meant")
    at = {step.cut: step.n for step in mine if step.do == "cut"}
    for cut in source.cuts:
        parent = next((other for other in source.cuts if cut.part in other.into), None)
        if parent and cut.n in at and parent.n in at and at[parent.n] >= at[cut.n]:
            yield fault("step-order", where, f"cut {cut.n} saws part {cut.part} before cut {parent.n} has made it")


def _screws_out(source: Source, mine: Sequence[Step]) -> Iterator[Fault]:
    taken = Counter(name for step in mine if step.do == "unscrew" for name in step.screws)
    for name in source.screws_out:
        if taken[name] != 1:
            yield fault(
                "step-screws", f"source {source.id}", f"screw {name} is taken out in {taken[name]} steps; one is meant"
            )
    for name in sorted(set(taken) - set(source.screws_out)):
        yield fault("step-screws", f"source {source.id}", f"screw {name} is taken out in a step and not listed as out")


def _drilled(source: Source, mine: Sequence[Step]) -> Iterator[Fault]:
    done = [spot for step in mine if step.do == "drill" for spot in step.holes]
    wanted = [(hole.u, hole.v) for hole in source.pin_holes if hole.state == "drilled"]
    for spot in wanted:
        count = sum(same_spot(spot, other) for other in done)
        if count != 1:
            yield fault(
                "step-drill", f"source {source.id}", f"the hole at {spot} is drilled in {count} steps; one is meant"
            )
    for spot in done:
        if not any(same_spot(spot, other) for other in wanted):
            yield fault("step-drill", f"source {source.id}", f"a step drills at {spot}, where no new hole is listed")


def _finished(source: Source, mine: Sequence[Step]) -> Iterator[Fault]:
    """Each piece is labelled, and sealed after its last cut where it has sealed ends."""
    for placement in source.placements:
        piece = placement.piece
        where = f"piece {piece} on {source.id}"
        if sum(step.do == "label" and piece in step.pieces for step in mine) != 1:
            yield fault("step-label", where, "is not labelled in one step")
        if not any(line.piece == piece for line in source.sealed):
            continue
        cuts = {cut.n for cut in source.cuts if cut.piece == piece or piece in cut.into}
        last = max((step.n for step in mine if step.do == "cut" and step.cut in cuts), default=0)
        seals = [step.n for step in mine if step.do == "seal" and piece in step.pieces]
        if not seals:
            yield fault("step-seal", where, "has cut ends and no step that seals them")
        elif max(seals) < last:
            yield fault("step-order", where, f"is sealed in step {max(seals)}, before its last cut in step {last}")


def _hung(evidence: Evidence, source: Source, backer: Backer, mine: Sequence[Step]) -> Iterator[Fault]:
    """A backer that goes elsewhere is hung once, after its wood is free, and screwed."""
    where = f"backer {backer.id} of {source.id}"
    hung = [step.n for step in mine if step.do == "re-hang" and step.backer == backer.id]
    if backer.state in IN_PLACE:
        if backer.state != "shaved" and hung:
            yield fault("step-backers", where, f"is {backer.state}, and step {hung[0]} hangs it elsewhere")
        return
    if len(hung) != 1:
        yield fault("step-backers", where, f"is hung in {len(hung)} steps; one is meant")
        return
    screwed = [step.n for step in mine if step.do == "screw" and step.backer == backer.id]
    if screwed and min(screwed) < hung[0]:
        yield fault("step-order", where, f"is screwed in step {min(screwed)}, before it is hung in step {hung[0]}")
    yield from _free(evidence, where, backer, hung[0])


def _free(evidence: Evidence, where: str, backer: Backer, hung: int) -> Iterator[Fault]:
    stick = stick_of(evidence, backer)
    if stick is None or backer.from_ is None or hardware_of(evidence.plan, stick.source) is None:
        return
    first, last = backer.from_.span
    names = {screw.id for screw in stick.screws if first <= screw.v <= last}
    for step in evidence.plan.steps:
        late = sorted(names & set(step.screws)) if step.source == stick.source.id and step.do == "unscrew" else []
        if late and step.n > hung:
            text = f"is hung in step {hung}, before step {step.n} takes screws {', '.join(late)} out of its wood"
            yield fault("step-order", where, text)
