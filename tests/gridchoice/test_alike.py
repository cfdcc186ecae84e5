"""Areas alike whose pieces are cut in several ways are groups that stand on supports of their own."""

from __future__ import annotations

from cutopt import check, plan
from tests.jobs import area_text, job_of

HEAD = '[tile]\nuse = "hardwood-24in"\n[lay]\ngrid = "full-first"\n[cut]\nseconds = 2\n[rules]\nspare_backers = 99\n'


def test_rooms_whose_piece_has_its_pins_elsewhere_are_a_group_of_their_own() -> None:
    """Once the pins of a piece that was cut in two ways met the holes of one of them only."""
    area = area_text([(0, 0), (881, 0), (861, 803), (0, 803)]).replace("[[area]]\n", "[[area]]\ncount = 5\n", 1)
    made = plan(job_of(HEAD + area))
    assert [str(finding) for finding in check(made)] == []
    assert [area.name for area in made.areas] == ["Room 1 to 2", "Room 3", "Room 4", "Room 5"]
    assert [area.count for area in made.areas] == [2, 1, 1, 1]
    assert sum(source.uses * len(source.placements) for source in made.sources) == made.totals.pieces
