"""The steps of one source, in the order in which a person does them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from cutopt.work.fastening import foreign, new_screws, rehang
from cutopt.work.finishing import drill, put_away, seal
from cutopt.work.lending import Lent, set_aside
from cutopt.work.preparing import marks, name_parts, offer_up, share, unscrew
from cutopt.work.ripping import rip_backer
from cutopt.work.sawing import cut
from cutopt.work.slate import Draft, Slate


def bench_work(slate: Slate, lent: Sequence[Lent]) -> list[Draft]:
    """All steps of a source: what can be done at once, then what waits for other tiles' wood."""
    boards = slate.source.boards
    early = [board for board in boards if board.early]
    after = [board for board in boards if board.state in ("moved", "added") and board not in early]
    after.sort(key=lambda board: foreign(slate, board))
    steps = [name_parts(slate), *marks(slate), *offer_up(slate), *unscrew(slate), *share(slate)]
    rips = [rip_backer(slate, board) for board in early]
    steps += [step for together in zip(*(two for two in rips if two), strict=True) for step in together]  # pass by pass
    steps += [rehang(slate, board) for board in early]
    steps += new_screws(slate)
    steps += drill(slate, before=True)
    for n in range(len(slate.source.tile.tree.cuts)):
        steps += cut(slate, n)
    steps += set_aside(slate, lent)
    late = False
    for board in after:
        late = late or foreign(slate, board)
        steps += [replace(step, late=late) for step in (*rip_backer(slate, board), rehang(slate, board))]
    closing = [*drill(slate, before=False), *seal(slate), *put_away(slate)]
    return steps + [replace(step, late=late) for step in closing]
