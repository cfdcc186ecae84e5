"""What would work where a piece cannot be hung: what is said is true, and no more than is needed is asked for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from cutopt.fit import Fit, fit
from cutopt.gridchoice import Chooser, Grid
from cutopt.gridchoice.nearest import LOOSER, NOTHING_NEAR, Nearest
from cutopt.job.records import Job
from cutopt.lay import Left, Shape
from tests.jobs import area_text, carpenter_of, job_of, room, surveyed

CHANGE = re.compile(r"(\w+) were (\d+) mm")


def chosen(job: Job) -> Grid:
    """The job's only area worked out."""
    areas = [surveyed(job)]
    chooser = Chooser(areas=areas, job=job, carpenter=carpenter_of(job), progress=None)
    return chooser.told(chooser.choose().ranked[0], areas)


def lefts(grid: Grid) -> list[Left]:
    return [left for layout in grid.layouts for cell in layout.cells for left in cell.left]


#  strips along the far wall of 1290 - 6 - 2 x 604 = 76 mm less the least gap of 6: 70 mm, a slat less 10 mm
def test_a_strip_says_how_thin_it_would_have_to_be_allowed() -> None:
    whys = {left.why for left in lefts(chosen(room(1820, 1290)))}
    assert whys == {"only 70 mm wide across the slats; it would hang if thinnest_strip were 70 mm"}
    allowed = room(1820, 1290, before='[rules]\nthinnest_strip = "70 mm"\n')
    assert lefts(chosen(allowed)) == []
    less = room(1820, 1290, before='[rules]\nthinnest_strip = "71 mm"\n')
    assert lefts(chosen(less))


def test_a_strip_that_could_not_be_hung_either_says_so() -> None:
    whys = {left.why for left in lefts(chosen(room(1820, 1254)))}
    assert all(why.endswith(NOTHING_NEAR) for why in whys)


REFUSED = [  # millimetres; of a tile of 600: by a wall that leans, and with notches that leave 23 and 19 of a slat
    [(0, 0), (432, 0), (126, 600), (0, 600)],
    [(0, 0), (600, 0), (600, 543), (551, 543), (551, 600), (0, 600)],
    [(0, 0), (600, 0), (600, 452), (515, 452), (515, 600), (0, 600)],
]


def test_what_is_said_to_work_does() -> None:
    """Each refused shape is hung under the rules named, and not with one of them a step nearer to the job's own."""
    job = room(1820, 1290)
    nearest = Nearest(job=job, areas=[surveyed(job)], carpenter=carpenter_of(job))
    named = 0
    for corners in REFUSED:
        shape = Shape(outline=tuple((u * 320, v * 320) for u, v in corners), chords=(), notches=())
        changes = {rule: int(mm) * 320 for rule, mm in CHANGE.findall(nearest.would_work(shape))}
        if hangs(shape, job, {}) or not changes:
            continue
        named += 1
        assert hangs(shape, job, changes)
        for rule, value in changes.items():
            steps = [0, *(step * 320 for step in LOOSER[rule])]
            own = getattr(job.rules, rule)
            assert not hangs(shape, job, changes | {rule: own + steps[steps.index(value - own) - 1]})
    assert named


#  a wall at 60 degrees leaves a sharp triangle that no rule loosened a little holds
def test_a_refused_piece_says_what_would_work_or_that_nothing_near_does() -> None:
    text = area_text([(0, 0), (1300, 0), (615, 615), (0, 615)])
    grid = chosen(job_of('[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n' + text))
    settled = [key for key, tried in grid.tried.items() if tried.settled]
    assert settled
    cells = {(0, cell.row, cell.col): cell for layout in grid.layouts for cell in layout.cells}
    for key in settled:
        whys = [left.why for left in cells[key].left]
        assert any("; it would hang if" in why or why.endswith(NOTHING_NEAR) for why in whys)


def hangs(shape: Shape, job: Job, changes: Mapping[str, int]) -> bool:
    """Whether a shape can be hung under the job's rules but for some lengths."""
    rules = replace(job.rules, **changes)  # type: ignore[arg-type]  # only lengths are changed
    return isinstance(fit(shape.outline, job.tile, rules, shape.holes), Fit)
