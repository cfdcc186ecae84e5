"""All that was decided → ordered steps, setups, minutes and what to buy."""

from collections.abc import Sequence

from cutopt.hang import HungSource
from cutopt.job.records import Job
from cutopt.lay.records import Piece
from cutopt.work.bench import bench_work
from cutopt.work.buying import Needs, purchases
from cutopt.work.ids import Ids, ids_of
from cutopt.work.layingorder import laying_order
from cutopt.work.lending import lent_by
from cutopt.work.ordering import Work, numbered, setups_of
from cutopt.work.slate import Slate, chiral
from cutopt.work.supporting import parts_of
from cutopt.work.weight import weight_per_m2

__all__ = [
    "Ids",
    "Needs",
    "Work",
    "chiral",
    "ids_of",
    "laying_order",
    "parts_of",
    "purchases",
    "setups_of",
    "weight_per_m2",
    "work_of",
]


def work_of(sources: Sequence[HungSource], pieces: Sequence[Piece], ids: Ids, job: Job) -> Work:
    """Every step of every source, numbered in the order of the work."""
    drafts = [
        bench_work(
            Slate(job=source.tile.at_bench(job), number=number, source=source, pieces=pieces, ids=ids),
            lent_by(number, sources),
        )
        for number, source in enumerate(sources)
    ]
    return numbered(drafts, sources, pieces, ids)
