"""The rack → offcuts to cut from: those that an earlier plan keeps, of the same tile."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import shapely

from cutopt.errors import BadInput
from cutopt.geometry import Ring
from cutopt.job.ledger import Ledger
from cutopt.job.raw import RackTable
from cutopt.lengths import TICKS_PER_MM
from cutopt.planfile import Plan, load, model
from cutopt.tile import Backer, Offcut, PinHole, Screw, Tile

KEY = "cut.rack"
MOST_OFFCUTS = 100  # the largest: each is a source of its own for every piece


@dataclass(frozen=True, kw_only=True, slots=True)
class Rack:
    """Offcuts, the largest first, and what the foreman should know of those that are not taken."""

    offcuts: tuple[Offcut, ...] = ()
    warnings: tuple[str, ...] = ()


def read_rack(table: RackTable | None, tile: Tile, ledger: Ledger) -> Rack:
    """The offcuts that a plan keeps. Notes a plan that cannot be read, one of another tile, and unknown ids."""
    if table is None:
        return Rack()
    try:
        plan = load(Path(ledger.file).parent / table.plan)
    except BadInput as error:
        ledger.take(error.mistakes)
        return Rack()
    if _anatomy(plan.tile) != _anatomy_of(tile):
        rule = f"offcuts are of the tile of this job, {tile.name}, and that plan's are of {plan.tile.name}"
        ledger.add(f"{KEY}.plan", table.plan, rule, "name a plan of the same tile, or leave the rack out")
        return Rack()
    racked = list(_racked(plan))
    for number, name in enumerate(table.without):
        if name not in [offcut.id for offcut in racked]:
            rule = f"is an offcut that the plan keeps: {', '.join(o.id for o in racked) or 'it keeps none'}"
            ledger.add(f"{KEY}.without[{number}]", name, rule, "leave it out, or correct the id")
    return _sorted([offcut for offcut in racked if offcut.id not in table.without], tile)


def _racked(plan: Plan) -> Iterator[model.Offcut]:
    """The offcuts that a plan keeps; of a source that is cut n times, each of them n times."""
    for source in plan.sources:
        for offcut in source.offcuts:
            if offcut.keep:
                names = [offcut.id] if source.uses == 1 else [f"{offcut.id}.{n + 1}" for n in range(source.uses)]
                yield from (offcut.model_copy(update={"id": name}) for name in names)


def _sorted(racked: Sequence[model.Offcut], tile: Tile) -> Rack:
    """The offcuts that can be cut from. Those with slats that came off are not all wood; one backer in two parts has
    no name for each.
    """
    found: list[tuple[float, Offcut]] = []
    said: list[str] = []
    for one in racked:
        outline = _ring(one.outline)
        solid = shapely.Polygon(outline)
        crossed = {s.id for s in tile.slats if solid.intersection(_strip(s.v, tile)).area > 0}
        if crossed != {slat.id for slat in one.slats}:
            said.append(f"offcut {one.id} is not cut from: slats of it were taken off")
        elif max(Counter(b.id for b in one.backers).values(), default=0) > 1:
            said.append(f"offcut {one.id} is not cut from: a backer of it is in two parts")
        else:
            found.append((solid.area, Offcut(id=one.id, outline=outline, wood=_wood(one, tile))))
    found.sort(key=lambda pair: (-pair[0], pair[1].id))
    said += [f"offcut {one.id} is not cut from: {MOST_OFFCUTS} larger ones are" for _, one in found[MOST_OFFCUTS:]]
    return Rack(offcuts=tuple(one for _, one in found[:MOST_OFFCUTS]), warnings=tuple(said))


def _strip(v: tuple[int, int], tile: Tile) -> shapely.Polygon:
    return shapely.box(0, v[0], tile.length, v[1])


def _wood(one: model.Offcut, tile: Tile) -> Tile:
    """The tile with the hardware that is left of it on an offcut."""
    slats = {slat.id for slat in one.slats}
    return replace(
        tile,
        slats=tuple(slat for slat in tile.slats if slat.id in slats),
        backers=tuple(
            Backer(id=b.id, u=_ticks(b.u), width=_ticks(b.width), v=(_ticks(b.v[0]), _ticks(b.v[1])))
            for b in one.backers
        ),
        screws=tuple(Screw(id=s.id, slat=s.slat, backer=s.backer, at=(_ticks(s.u), _ticks(s.v))) for s in one.screws),
        pin_holes=tuple(
            PinHole(id=h.id, backer=h.backer, at=(_ticks(h.u), _ticks(h.v)), diameter=_ticks(h.diameter))
            for h in one.pin_holes
        ),
        made=tile,
    )


def _ring(outline: Sequence[tuple[float, float]]) -> Ring:
    return tuple((_ticks(u), _ticks(v)) for u, v in outline)


def _ticks(mm: float) -> int:
    return round(mm * TICKS_PER_MM)


Anatomy = tuple[object, ...]


def _anatomy(tile: model.Tile) -> Anatomy:
    """What makes a tile: sizes, slats, backers, screws and pin holes, ticks."""
    return (
        (_ticks(tile.length), _ticks(tile.width), _ticks(tile.slat_thickness), _ticks(tile.backer_thickness)),
        tuple((s.id, *map(_ticks, s.v)) for s in tile.slats),
        tuple((b.id, _ticks(b.u), _ticks(b.width), *map(_ticks, b.v)) for b in tile.backers),
        tuple((s.id, _ticks(s.u), _ticks(s.v)) for s in tile.screws),
        tuple((h.id, _ticks(h.u), _ticks(h.v), _ticks(h.diameter)) for h in tile.pin_holes),
    )


def _anatomy_of(tile: Tile) -> Anatomy:
    return (
        (tile.length, tile.width, tile.slat_thickness, tile.backer_thickness),
        tuple((s.id, *s.v) for s in tile.slats),
        tuple((b.id, b.u, b.width, *b.v) for b in tile.backers),
        tuple((s.id, *s.at) for s in tile.screws),
        tuple((h.id, *h.at, h.diameter) for h in tile.pin_holes),
    )
