"""What the page says of two people at work: their lists, and who waits for what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cutopt.book.words import printed
from cutopt.book.words.contents import Wait
from cutopt.book.words.twohands import PEOPLE, Person, Stint, TwoHands, stints, two_hands
from cutopt.planfile.model import Plan


@dataclass(frozen=True, kw_only=True, slots=True)
class Hand:
    """What one of two people does, in order; `wait` is all the time that they wait, `other` the other's name."""

    title: str
    other: str
    stations: str
    stints: tuple[StintLine, ...]
    wait: str


@dataclass(frozen=True, kw_only=True, slots=True)
class StintLine:
    """Some steps at one tile: when, and what for and how long they are waited for before it."""

    stint: Stint
    start: str
    source: str
    wait: Wait | None
    waited: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Shift:
    """Two people's lists, and how long both take against one."""

    hands: tuple[Hand, ...]
    together: str
    alone: str


def shift(plan: Plan) -> Shift | None:
    """The steps for two people, or None where one of them would have nothing to do."""
    found = two_hands(plan)
    if not all(found.jobs.values()):
        return None
    sources = {step.n: step.source for step in plan.steps}
    return Shift(
        hands=tuple(_hand(found, who, sources) for who in PEOPLE),
        together=printed.minutes(found.minutes),
        alone=printed.minutes(found.alone),
    )


def _hand(found: TwoHands, who: Person, sources: Mapping[int, str]) -> Hand:
    lines = []
    for stint in stints(found, who):
        first = stint.jobs[0]
        wait = None if first.waits_for is None else Wait(step=first.waits_for, source=sources[first.waits_for])
        line = StintLine(
            stint=stint,
            start=_clock(first.start),
            source=first.step.source,
            wait=wait,
            waited=printed.minutes(max(1.0, first.waited)),
        )
        lines.append(line)
    other = next(one for one in PEOPLE if one != who)
    stations = dict.fromkeys(job.step.station for job in found.jobs[who])
    waited = sum(job.waited for job in found.jobs[who])
    return Hand(
        title=f"At the {who}",
        other=f"the {other}",
        stations=", ".join(stations),
        stints=tuple(lines),
        wait=printed.minutes(waited),
    )


def _clock(minutes: float) -> str:
    """Minutes from the beginning as hours and minutes: "1:05"."""
    hours, rest = divmod(round(minutes), 60)
    return f"{hours}:{rest:02d}"
