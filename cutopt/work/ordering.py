"""The order of all steps over all sources: few fence settings, and no step before what it needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cutopt.hang import HungSource, Stretch
from cutopt.lay.records import Piece
from cutopt.lengths import mm
from cutopt.planfile.model import Step
from cutopt.tile import Point
from cutopt.work.ids import Ids
from cutopt.work.setups import setting_order
from cutopt.work.slate import Draft


@dataclass(frozen=True, kw_only=True, slots=True)
class Work:
    """All steps in the order of the work, and a number of fence settings that no order of them goes below."""

    steps: tuple[Step, ...]
    least_setups: int


Fence = tuple[float, str]  # mm, and the direction that they are measured in


def numbered(
    drafts: Sequence[Sequence[Draft]], sources: Sequence[HungSource], pieces: Sequence[Piece], ids: Ids
) -> Work:
    """The steps, one after the other: what is cut in the shop before what is scribed on site, and at the end what waits
    for the wood of other tiles.
    """
    site = [any(pieces[m].scribe for m in source.tile.pieces) for source in sources]
    turns = [
        {n: [d for d in drafts[n] if d.late is late] for n in range(len(sources)) if late or site[n] is scribed}
        for late, scribed in ((False, False), (False, True), (True, True))
    ]
    queue, least = _in_turns(turns)
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
    return Work(steps=tuple(steps), least_setups=least)


def _in_turns(turns: Sequence[Mapping[int, list[Draft]]]) -> tuple[list[Draft], int]:
    """All drafts, and the least number of fence settings: from turn to turn the fence may stay as it stands."""
    queue: list[Draft] = []
    least = kinds = 0
    for some in turns:
        order = setting_order([_fences(chain) for chain in some.values()])
        queue += _by_settings(some, order.row)
        least += order.bound - (1 if least and order.bound else 0)
        kinds = len({fence for turn in turns for chain in turn.values() for fence in _fences(chain)})
    return queue, max(least, kinds)


def _fences(chain: Sequence[Draft]) -> list[Fence]:
    """The settings that a tile's steps want, in their order."""
    return [(d.setup.fence, d.setup.datum[0]) for d in chain if d.setup is not None]


def _by_settings(chains: Mapping[int, list[Draft]], row: Sequence[Fence]) -> list[Draft]:
    """The steps of tiles where the fence is set in this row: before each setting what the tiles that are sawn at it
    want done, then the cuts at it; what no fence cut is left for is finished at once.
    """
    left = {number: list(chain) for number, chain in chains.items()}
    done: list[Draft] = []
    for fence in row:
        now = [chain for chain in left.values() if _fences(chain)[:1] == [fence]]
        for chain in now:
            while chain[0].setup is None:
                done.append(chain.pop(0))
        for chain in now:
            while _fences(chain)[:1] == [fence]:
                done.append(chain.pop(0))
        for chain in now:
            if not _fences(chain):
                done += chain
                chain.clear()
    return done + [draft for chain in left.values() for draft in chain]


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
