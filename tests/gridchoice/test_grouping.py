"""Areas that there are many of: a tile holds the same piece of two of them, under names of its own."""

from __future__ import annotations

from collections import Counter

from cutopt import check, plan
from tests.jobs import area_text, job_of

TILE = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n[rules]\nspare_backers = 99\n'


def many(count: int, depth: float) -> str:
    """Rooms one tile deep and two wide, with a strip of 290 mm at one wall."""
    text = area_text([(0, 0), (1510, 0), (1510, depth), (0, depth)])
    return TILE + text.replace("[[area]]\n", f"[[area]]\ncount = {count}\n", 1)


def test_two_strips_of_one_room_in_two_groups_come_from_one_tile() -> None:
    made = plan(job_of(many(7, 612)))
    assert made.proof.met
    assert [area.count for area in made.areas] == [3, 3, 1]
    assert [area.name for area in made.areas] == ["Room 1 to 3", "Room 4 to 6", "Room 7"]
    for source in made.sources:
        assert max(Counter(placement.piece for placement in source.placements).values()) == 1
    assert made.totals.cut == 4  # 7 strips, two a tile
    assert check(made) == ()


#  strips of 666 - 6 - 604 = 56 mm less the gap stay open in every room, and it is said what would let them be laid
def test_what_stays_open_is_told_of_each_group() -> None:
    made = plan(job_of(many(4, 666)))
    assert len(made.areas) > 1
    lefts = [left for area in made.areas for cell in area.cells for left in cell.left]
    assert {left.rule for left in lefts} == {"thinnest_strip"}
    assert check(made) == ()
