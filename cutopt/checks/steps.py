"""The steps do all the work once, in an order that a person can follow."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from shapely.geometry import Point, Polygon

from cutopt.checks.evidence import Evidence, Stick, hardware_of, same_spot
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import angle_from_slats, board_across, overlap, polygon
from cutopt.checks.wood import IN_PLACE, stick_of
from cutopt.planfile.model import Backer, Cut, Source, Step

STATIONS = {"table_saw": "table saw", "guided_saw": "guided saw", "jigsaw": "jigsaw"}
PLACES = {"mark": "bench", "unscrew": "bench", "re-hang": "bench", "screw": "bench", "label": "bench", "rack": "bench"}
PLACES |= {"drill": "drill", "seal": "brush"}
FACES = {"unscrew": "down", "re-hang": "down", "screw": "down", "drill": "down"}  # backers are worked on from below
SAW_FACES = {"table_saw": "up", "jigsaw": "down"}  # the guided saw: down for rips, either way for crosscuts


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
        yield from _shared(source, mine)
        yield from _off_and_on(evidence, source, mine)
        yield from _screws_out(source, mine)
        yield from _drilled(source, mine)
        yield from _driven(source, mine)
        yield from _on_site(evidence, source, mine)
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
    if not step.text.strip():
        yield fault("step-text", _where(step), "says nothing that a person could do")


def _refers(evidence: Evidence, step: Step, source: Source) -> Iterator[Fault]:
    """What a step names is there, and the station fits."""
    placed = {placement.piece for placement in source.placements}
    for piece in step.pieces:
        if piece not in placed:
            yield fault("reference", _where(step), f"names piece {piece}, which is not cut from {source.id}")
    yield from _backer_named(evidence, step, source)
    if step.do != "cut":
        yield from _station(step, PLACES[step.do], FACES.get(step.do))
        return
    cut = next((cut for cut in source.cuts if cut.n == step.cut), None)
    if step.cut is None and step.backer is not None:  # ripped alone: see `ripping.py`
        if step.station not in {STATIONS[saw] for saw in evidence.plan.kerf if saw in STATIONS}:
            yield fault(
                "step-station", _where(step), f"rips a backer at the {step.station}, which is no saw of the job"
            )
        return
    if step.cut is None and _rips_a_slat(evidence, step, source):
        yield from _station(step, step.station, SAW_FACES.get(step.station.replace(" ", "_")))
        return
    if cut is None:
        yield fault("reference", _where(step), f"makes cut {step.cut} of {source.id}, which is not there")
        return
    if cut.saw == "jigsaw" and step.station == "guided saw":  # its long legs are prepared
        yield from _station(step, "guided saw", None)
        return
    face = SAW_FACES.get(cut.saw)
    rip = len(cut.path) == 2 and angle_from_slats(*cut.path) <= evidence.limits.end_grain_angle
    yield from _station(step, STATIONS[cut.saw], "down" if cut.saw == "guided_saw" and rip else face)


def _rips_a_slat(evidence: Evidence, step: Step, source: Source) -> bool:
    """Whether a step rips the inner of two slats that share, off the tile and before both are laid back."""
    shared = {fragment.piece for fragment in source.slats if fragment.state == "shared"}
    saws = {STATIONS[saw] for saw in evidence.plan.kerf if saw in STATIONS}
    back = [s.n for s in evidence.steps(source) if s.do == "screw" and s.backer is None and s.pieces == step.pieces]
    mine = len(step.pieces) == 1 and set(step.pieces) <= shared
    return mine and step.station in saws and any(n > step.n for n in back)


def _station(step: Step, station: str, face: str | None) -> Iterator[Fault]:
    if step.station != station:
        yield fault("step-station", _where(step), f"is done at the {step.station}; {station} is meant")
    if face is not None and step.face != face:
        yield fault("step-face", _where(step), f"is done with the face {step.face}; {face} is meant")


def _backer_named(evidence: Evidence, step: Step, source: Source) -> Iterator[Fault]:
    """A backer that is taken off is named by what it becomes, anywhere in the plan, or as nothing else is."""
    if step.backer is None or step.backer in {backer.id for backer in source.backers}:
        return
    becomes = [b for other in evidence.plan.sources for b in other.backers if b.id == step.backer]
    hardware = hardware_of(evidence.plan, source)
    own = {screw.backer for screw in hardware.screws if screw.id in step.screws} if hardware else set()
    wood = [(b.from_.source, b.from_.backer) for b in becomes if b.from_ is not None]
    if step.do != "unscrew" or any(name != source.id or number_ not in own for name, number_ in wood):
        yield fault("reference", _where(step), f"names backer {step.backer}, which {source.id} does not list")


def _cut_once(source: Source, mine: Sequence[Step]) -> Iterator[Fault]:
    """Each cut has one step, after the one that made the part it saws."""
    where = f"source {source.id}"
    for cut in source.cuts:
        made = [step for step in mine if step.do == "cut" and step.cut == cut.n]
        stations = [step.station for step in made]
        # a guided saw may go first along the long legs of what a jigsaw then finishes
        prepared = cut.saw == "jigsaw" and stations[-1:] == ["jigsaw"] and set(stations[:-1]) == {"guided saw"}
        if len(made) != 1 and not prepared:
            yield fault("step-cuts", where, f"cut {cut.n} is made in {len(made)} steps; one is meant")
        started = [step for step in mine if step.do == "drill" and step.cut == cut.n]
        if cut.closed and made and not any(step.n < made[0].n for step in started):
            yield fault("starter-hole", where, f"cut {cut.n} is a ring, and no step drills a hole to start it from")
        for step in started:
            yield from _starter(cut, step)
    at = {step.cut: step.n for step in mine if step.do == "cut"}
    for cut in source.cuts:
        parent = next((other for other in source.cuts if cut.part in other.into), None)
        if parent and cut.n in at and parent.n in at and at[parent.n] >= at[cut.n]:
            yield fault("step-order", where, f"cut {cut.n} saws part {cut.part} before cut {parent.n} has made it")


def _starter(cut: Cut, step: Step) -> Iterator[Fault]:
    """The hole that a ring is started from lies in its waste, off the line by the kerf."""
    if len(step.holes) != 1:
        yield fault("starter-hole", _where(step), f"lists {len(step.holes)} holes for cut {cut.n}; one is meant")
    waste = polygon(cut.path).buffer(-cut.kerf) if cut.closed else Polygon()
    for hole in step.holes:
        if not waste.covers(Point(hole)):
            yield fault("starter-hole", _where(step), f"drills at {hole}, which is not in the waste of cut {cut.n}")


def _shared(source: Source, mine: Sequence[Step]) -> Iterator[Fault]:
    """Of two slats that share, one is ripped off the tile, in one step, and one step lays both back."""
    for piece in sorted({fragment.piece for fragment in source.slats if fragment.state == "shared"}):
        where = f"piece {piece} on {source.id}"
        own = [step for step in mine if piece in step.pieces]
        ripped = sum(step.do == "cut" and step.cut is None and step.backer is None for step in own)
        back = sum(step.do == "screw" and step.backer is None for step in own)
        if ripped != 1:
            yield fault("step-cuts", where, f"a slat that shares is ripped in {ripped} steps; one is meant")
        if back != 1:
            yield fault("step-screws", where, f"the slats that share are laid back in {back} steps; one is meant")


def _off_and_on(evidence: Evidence, source: Source, mine: Sequence[Step]) -> Iterator[Fault]:
    """Slats that share are off before one of them is ripped, and lie again before they are screwed."""
    for placed in (one for one in evidence.on(source) if one.shared):
        slats = {fragment.slat for fragment in placed.shared}
        old = {screw.id for screw in placed.hardware.screws if screw.slat in slats}
        new = {screw.backer for screw in placed.screws if screw.slat in slats}
        off = max((step.n for step in mine if step.do == "unscrew" and old & set(step.screws)), default=0)
        driven = {step.backer: step.n for step in mine if step.do in ("re-hang", "screw") and step.backer in new}
        on = min(driven.values(), default=len(evidence.plan.steps))
        for step in (step for step in mine if placed.piece.id in step.pieces):
            if step.do == "cut" and step.cut is None and step.backer is None and step.n < off:
                text = f"a slat that shares is ripped in step {step.n}, before step {off} takes its screws out"
                yield fault("step-order", placed.where, text)
            elif step.do == "screw" and step.backer is None and step.n > on:
                text = f"slats that share are screwed in step {on}, before step {step.n} lays them back"
                yield fault("step-order", placed.where, text)


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
    done = [spot for step in mine if step.do == "drill" and step.cut is None for spot in step.holes]
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


def _driven(source: Source, mine: Sequence[Step]) -> Iterator[Fault]:
    """Each backer with new screws has a step that drives them."""
    done = {step.backer for step in mine if step.do in ("re-hang", "screw")}
    for backer in sorted({screw.backer for screw in source.screws if screw.state != "kept"} - done):
        yield fault("step-screws", f"source {source.id}", f"no step drives the new screws of backer {backer}")


def _on_site(evidence: Evidence, source: Source, mine: Sequence[Step]) -> Iterator[Fault]:
    """What is scribed is cut on site, after its neighbours lie."""
    scribed = {placed.piece.id for placed in evidence.on(source) if placed.piece.fit == "scribe"}
    cuts = {cut.n for cut in source.cuts if cut.piece in scribed}
    for step in mine:
        if step.do == "cut" and step.cut in cuts and step.where != "site":
            yield fault("step-where", _where(step), f"makes cut {step.cut} of a piece that is scribed, in the shop")


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
    yield from free(evidence, where, backer, hung[0])


def free(evidence: Evidence, where: str, backer: Backer, hung: int) -> Iterator[Fault]:
    """A backer's wood is free, its screws out and sawn off what stays, before the step that takes it."""
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
    yield from _sawnfree(evidence, where, stick, hung)


def _sawnfree(evidence: Evidence, where: str, stick: Stick, hung: int) -> Iterator[Fault]:
    """A stretch of a backer of which another stays in its piece is there once the cuts between them are made."""
    stays = any(
        b.state in IN_PLACE and b.from_ is not None and stick_of(evidence, b) is stick for b in stick.source.backers
    )
    worked = next((one for one in evidence.worked if one.source is stick.source), None)
    if not stays or worked is None:
        return
    whole = board_across(stick.backer.u, stick.backer.v, stick.backer.width)
    through = {blade.cut.n for blade in worked.blades if overlap(blade.dust, whole)}
    last = max((step.n for step in evidence.steps(stick.source) if step.do == "cut" and step.cut in through), default=0)
    if last > hung:
        yield fault("step-order", where, f"is hung in step {hung}, before step {last} saws its wood free")
