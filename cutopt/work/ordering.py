"""The order of all steps over all sources: few fence settings, and no step before what it needs."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.hang import HungSource, Stretch
from cutopt.lay.records import Piece
from cutopt.lengths import mm
from cutopt.planfile.model import Step
from cutopt.tile import Point
from cutopt.work.ids import Ids
from cutopt.work.slate import Draft


def saw_order(sources: Sequence[HungSource], pieces: Sequence[Piece]) -> list[int]:
    """Sources that are cut in the shop before those scribed on site; each by the fence settings of its cuts."""

    def key(number: int) -> tuple[bool, list[tuple[int, str]], int]:
        cuts = sources[number].tile.tree.cuts
        scribed = any(pieces[m].scribe for m in sources[number].tile.pieces)
        return scribed, sorted((c.fence, c.datum) for c in cuts if c.fence is not None and c.datum is not None), number

    return sorted(range(len(sources)), key=key)


def numbered(
    drafts: Sequence[Sequence[Draft]], sources: Sequence[HungSource], pieces: Sequence[Piece], ids: Ids
) -> tuple[Step, ...]:
    """The steps, one after the other: tile by tile, and at the end what waits for the wood of other tiles."""
    order = saw_order(sources, pieces)
    queue = [d for s in order for d in drafts[s] if not d.late] + [d for s in order for d in drafts[s] if d.late]
    last: dict[int, int] = {}
    freed: dict[tuple[int, Stretch], int] = {}
    steps: list[Step] = []
    for n, draft in enumerate(queue, start=1):
        after = {last[draft.source]} if draft.source in last else set()
        if draft.awaits is not None and draft.awaits in freed:
            after.add(freed[draft.awaits])
        steps.append(_step(n, draft, tuple(sorted(after)), sources, pieces, ids))
        last[draft.source] = n
        if draft.frees is not None:
            freed[draft.frees] = n
    return tuple(steps)


def _step(
    n: int, draft: Draft, after: tuple[int, ...], sources: Sequence[HungSource], pieces: Sequence[Piece], ids: Ids
) -> Step:
    scribe = any(pieces[m].scribe for m in sources[draft.source].tile.pieces)
    uses = sources[draft.source].tile.uses
    return Step(
        n=n,
        source=ids.source(draft.source),
        copy_=1,
        pieces=tuple(ids.piece(m) for m in draft.pieces),
        where="site" if scribe else "shop",
        station=draft.station,
        face=draft.face,
        do=draft.do,
        cut=draft.cut,
        screws=draft.screws,
        backer=draft.backer,
        holes=tuple(_mm(p) for p in draft.holes),
        after=after,
        text=draft.text,
        setup=draft.setup,
        sum=draft.sum,
        falls_off=draft.falls_off,
        minutes=round(draft.minutes * uses, 3),
    )


def _mm(point: Point) -> tuple[float, float]:
    return mm(point[0]), mm(point[1])


def setups_of(steps: Sequence[Step]) -> int:
    """How often the fence is set: once for every run of cuts with the same setting."""
    settings = [(step.setup.fence, step.setup.datum[0]) for step in steps if step.setup is not None]
    return sum(1 for i, setting in enumerate(settings) if i == 0 or setting != settings[i - 1])
