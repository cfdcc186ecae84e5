"""What lies on the bench at each cut, from the steps alone: screws that are in, backers hung, slats as they lie."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from shapely.geometry import Polygon, box

from cutopt.checks.evidence import Evidence, hardware_of
from cutopt.checks.replay import Blade, Replay
from cutopt.checks.shapes import Spot, board, board_across, number
from cutopt.checks.sharing import lying_shared
from cutopt.checks.wood import IN_PLACE
from cutopt.planfile.model import Backer, Hardware, Source, Step

NEW = ("moved", "added")  # screws and backers that go in during the work


@dataclass(frozen=True, kw_only=True, slots=True)
class Tie:
    """A screw that is in: it ties slat `slat` at `spot` to a piece of wood named in `Moment.wood`."""

    name: str
    spot: Spot
    slat: int
    wood: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Moment:
    """A cut and what it meets. `step`: None where no step makes it; then all screws that come out are taken as out.

    `wood`: the backers by name, the source's own where they were made and those hung so far; `slats` as they lie.
    """

    blade: Blade
    step: Step | None
    ties: tuple[Tie, ...]
    hung: tuple[Backer, ...]
    wood: Mapping[str, Polygon]
    slats: tuple[tuple[int, Polygon], ...]


@dataclass(slots=True)
class _Bench:
    source: Source
    own: dict[str, Polygon]
    slats: dict[int, Polygon]
    ties: dict[str, Tie]
    hung: list[Backer] = field(default_factory=list)

    def moment(self, blade: Blade, step: Step | None) -> Moment:
        wood = self.own | {backer.id: board(backer.line, backer.width) for backer in self.hung}
        return Moment(
            blade=blade,
            step=step,
            ties=tuple(self.ties.values()),
            hung=tuple(self.hung),
            wood=wood,
            slats=tuple(self.slats.items()),
        )


def moments(evidence: Evidence, worked: Replay) -> Iterator[Moment]:
    """Each cut of a source in the order of its steps."""
    source = worked.source
    hardware = hardware_of(evidence.plan, source)
    if hardware is None:
        return
    bench = _laid_out(evidence, source, hardware)
    steps = evidence.steps(source)
    ahead = {blade.cut.n: blade for blade in worked.blades}
    last = {step.cut: step.n for step in steps if step.do == "cut"}  # another saw may prepare a cut
    for step in steps:
        if step.do == "unscrew":
            for name in step.screws:
                bench.ties.pop(name, None)
        elif step.do == "screw" and step.backer is None:
            bench.slats |= lying_shared(evidence, source, step.pieces)
        elif step.do in ("re-hang", "screw"):
            _hang(bench, step, steps)
        elif step.do == "cut" and step.cut in ahead:
            blade = ahead[step.cut]
            yield bench.moment(blade, step)
            if step.n == last[step.cut]:
                del ahead[step.cut]
    for name in source.screws_out:
        bench.ties.pop(name, None)
    for blade in ahead.values():
        yield bench.moment(blade, None)


def _laid_out(evidence: Evidence, source: Source, hardware: Hardware) -> _Bench:
    """The source before any work."""
    length = evidence.tile.length
    return _Bench(
        source=source,
        own={str(b.id): board_across(b.u, b.v, b.width) for b in hardware.backers},
        slats={slat.id: box(0.0, slat.v[0], length, slat.v[1]) for slat in hardware.slats},
        ties={s.id: Tie(name=s.id, spot=(s.u, s.v), slat=s.slat, wood=str(s.backer)) for s in hardware.screws},
    )


def _hang(bench: _Bench, step: Step, steps: Sequence[Step]) -> None:
    """A backer goes where it is wanted, and its new screws go in, with it or in a step of their own."""
    for backer in (b for b in bench.source.backers if b.id == step.backer):
        if backer.state in NEW and backer not in bench.hung:
            bench.hung.append(backer)
        apart = step.do == "re-hang" and any(s.do == "screw" and s.backer == backer.id and s.n > step.n for s in steps)
        if not apart:
            bench.ties |= _new_ties(bench.source, backer)


def _new_ties(source: Source, backer: Backer) -> dict[str, Tie]:
    """The screws that a step drives: those of the backer that are not the tile's own in their old place."""
    wood = str(backer.from_.backer) if backer.state in IN_PLACE and backer.from_ is not None else backer.id
    found = {}
    for s in source.screws:
        if s.backer == backer.id and s.state in NEW:
            name = f"new one at ({number(s.u)}, {number(s.v)})"
            found[name] = Tie(name=name, spot=(s.u, s.v), slat=s.slat, wood=wood)
    return found
