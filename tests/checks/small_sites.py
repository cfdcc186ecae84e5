"""Small rooms planned by the planner itself, each for what it has. Tiles of 600 x 600, whole from the first corner.

Common practice, no source: the sizes are ours.
"""

from __future__ import annotations

from functools import cache

from cutopt.job.records import Job
from cutopt.planfile import Plan
from cutopt.planning import plan
from tests.checks.small_plan import Json, as_values
from tests.jobs import area_text, job_of, post_text, room


def _pipe(x: float, y: float, diameter: float) -> str:
    return f'[[area.post]]\nname = "pipe"\nat = [{x!r}, {y!r}]\ndiameter = {diameter!r}\n'


def _slanted(*corners: tuple[float, float]) -> Job:
    return job_of(f'[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n{area_text(corners)}')


def _job(name: str) -> Job:
    match name:
        case "shared":  # a strip of 182: 180 in all would leave 6.7 of slat 3, so slats 2 and 3 share
            return room(1220, 798)
        case "copies":
            return room(1220, 798, more="count = 3\n")
        case "strips":  # one half-turned, one with a backer of another tile
            return room(1320, 1820)
        case "notched":  # a post at the right wall
            return room(1639, 1012, more=post_text(1330, 300, 100))
        case "crossing":  # a post where four tiles meet
            return room(1639, 1012, more=post_text(1250, 640, 100))
        case "round":
            return room(1639, 1012, more=_pipe(1300, 613, 60))
        case "bare":  # ground beside a round post stays open, where its notch has straight sides
            return room(1639, 1012, more=_pipe(1211, 600, 110))
        case "slanted":  # a backer that hangs along the oblique wall
            return _slanted((0, 0), (1000, 0), (1150, 620), (0, 620))
    raise LookupError(name)


ROOMS = ("shared", "copies", "strips", "notched", "crossing", "round", "bare", "slanted")


@cache
def small_site(name: str) -> Plan:
    """The plan of a room, made once a run."""
    return plan(_job(name))


def values_at(name: str) -> Json:
    """A fresh copy of its values."""
    return as_values(small_site(name))
