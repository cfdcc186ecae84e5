"""Plans of pieces made by hand: cut, hung, written up and with their steps, but not laid."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from cutopt.cut import cut, sort_pieces
from cutopt.cut.notching import bite
from cutopt.fit import Carpenter
from cutopt.geometry import Ring, ring_of
from cutopt.hang import hang
from cutopt.job.records import Job
from cutopt.lay import Layout, Piece, Shape, Surveyed
from cutopt.lay.records import Cell, Notch, Side
from cutopt.planfile import Plan
from cutopt.planfile.model import Step
from cutopt.site import sited
from cutopt.writeup import Result, plan_of
from tests.jobs import room

Spots = list[tuple[float, float]]

JOB = room(1820, 1216, before="[rules]\nspare_backers = 99\n")
WHOLE: Spots = [(0, 0), (600, 0), (600, 600), (0, 600)]
T = 320  # ticks a millimetre


def ticks(spots: Spots) -> Ring:
    return tuple((round(x * T), round(y * T)) for x, y in spots)


def piece(
    col: int,
    outline: Spots = WHOLE,
    chords: Sequence[Spots] = (),
    notches: Sequence[Notch] = (),
    *,
    fixed: Sequence[Side] = ("u0", "v0", "v1"),
    scribe: bool = False,
) -> Piece:
    """A piece in cell (0, col): what the chords leave is `outline`, in millimetres; the notches are taken out of it."""
    wood = shapely.Polygon(ticks(outline))
    for notch in notches:
        wood = wood if notch.closed else wood.difference(bite(wood, notch))
    lines = tuple((a, b) for a, b in map(ticks, chords))
    shape = Shape(outline=ring_of(wood), chords=lines, notches=tuple(notches))
    return Piece(area=0, row=0, col=col, shape=shape, fixed=frozenset(fixed), scribe=scribe, uncertainty=0)


def planned(pieces: Sequence[Piece], job: Job = JOB) -> Plan:
    """The plan of these pieces."""
    carpenter = Carpenter(tile=job.tile, rules=job.rules, mark=job.mark)
    stock = sort_pieces(pieces, [1] * len(pieces), carpenter, job.cutting)
    assert stock.refused == ()
    tiles = cut(stock, job, carpenter)
    area = Surveyed(index=0, site=sited(job.areas[0]), job=job)
    pitch = (job.tile.length + 4 * T, job.tile.width + 4 * T)
    cells = tuple(
        Cell(row=row, col=col, quarter_turn=False, kind="cut", left=(), liftable=False)
        for row, col in dict.fromkeys((p.row, p.col) for p in pieces)
    )
    layout = Layout(area=0, origin=(6 * T, 6 * T), pitch=pitch, cells=cells, pieces=tuple(pieces))
    return plan_of(
        Result(
            job=job,
            areas=(area,),
            layouts=(layout,),
            pieces=tuple(pieces),
            cut=tiles,
            sources=hang(tiles.tiles, job),
            supports=(),
            considered=1,
            dropped=0,
            finished=True,
            interrupted=False,
            seed=0,
        )
    )


def steps_that(plan: Plan, do: str) -> list[Step]:
    """The steps of one kind, in order."""
    return [step for step in plan.steps if step.do == do]
