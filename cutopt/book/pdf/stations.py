"""The steps station by station, for whoever stands at one machine: number, tile, cut, face, fence."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import accumulate
from types import MappingProxyType

from cutopt.book.drawings.sides import SIDE_NAMES
from cutopt.book.pdf import fonts
from cutopt.book.pdf.blocks import BOX, HAIR, NOTE, TICK, Block, Row, block, cells, moved, ticked
from cutopt.book.pdf.ink import Ink
from cutopt.book.pdf.pages import Flow
from cutopt.book.pdf.typeset import BASELINE, LEADING, run
from cutopt.book.words import printed
from cutopt.planfile.model import Plan, Step

# in the order that a tile meets them
STATIONS: tuple[str, ...] = ("bench", "table saw", "guided saw", "jigsaw", "drill", "brush")
DOING: Mapping[str, str] = MappingProxyType(
    {
        "mark": "mark",
        "unscrew": "take out",
        "cut": "cut",
        "re-hang": "re-hang",
        "screw": "screw",
        "drill": "drill",
        "seal": "seal",
        "label": "label",
        "rack": "to the rack",
    }
)
TICKED = 6.0  # mm from the edge of a column to the words beside its boxes
PADDING = 0.35  # mm above and below a line
HEADS = ("Step", "Tile", "Face", "What to do")


def station_lists(plan: Plan, flow: Flow, key: str) -> None:
    """A list for each station with steps; a line a step, in the order of their numbers."""
    flow.section("Station by station", key)
    uses = {source.id: source.uses for source in plan.sources}
    copied = {step.source for step in plan.steps if step.copy_ > 1}
    wide = flow.column(2)
    for station in STATIONS:
        steps = [step for step in plan.steps if step.station == station]
        if not steps:
            continue
        flow.heading(_title(station, steps), f"{key}-{station.replace(' ', '-')}", 1)
        lines = [_words(plan, step, uses, copied) for step in steps]
        widths = _widths(lines, wide)
        flow.spread([_headed(_line(line, widths), widths, n == 0) for n, line in enumerate(lines)], 2)


def _title(station: str, steps: list[Step]) -> str:
    return f"{station.capitalize()}: {printed.plural(len(steps), 'step')}"


def _words(plan: Plan, step: Step, uses: Mapping[str, int], copied: Iterable[str]) -> tuple[str, str, str, str]:
    tile = step.source
    if step.source in copied:
        tile += f" no. {step.copy_}"
    elif uses.get(step.source, 1) > 1:
        tile += f" × {uses[step.source]}"
    return str(step.n), tile, step.face, _what(plan, step)


def _what(plan: Plan, step: Step) -> str:
    """What is done with what; for a cut the fence first."""
    what = DOING[step.do]
    if step.cut is not None:
        what = f"cut {step.cut}" if step.do == "cut" else f"{what} for cut {step.cut}"
    if step.setup is not None:
        what += f": {printed.with_unit(step.setup.fence, plan.job.show)} from the {SIDE_NAMES[step.setup.datum]}"
    parts = [step.backer or "", _counted(step)]
    told = ", ".join(part for part in parts if part)
    what += f" {told}" if told else ""
    if step.pieces and step.do != "cut":
        what += f" · {', '.join(step.pieces)}"
    return f"{what} (on site)" if step.where == "site" else what


def _counted(step: Step) -> str:
    """How many screws or holes."""
    if step.do == "unscrew" and step.screws:
        return printed.plural(len(step.screws), "screw")
    return printed.plural(len(step.holes), "hole") if step.do == "drill" and step.holes else ""


def _widths(lines: Sequence[tuple[str, ...]], wide: float) -> tuple[float, ...]:
    """Of the columns, in mm: the last one takes what the others leave."""
    own = [
        max(fonts.width(words, NOTE, True) for words in [head, *(line[n] for line in lines)]) + 2.5
        for n, head in enumerate(HEADS[:3])
    ]
    return (*own, wide - TICKED - sum(own))


def _line(words: Sequence[str], widths: Sequence[float]) -> Block:
    *_, what = words
    if fonts.width(what, NOTE) > widths[-1] - 1.5:
        runs = [[run(one, bold=n == 0)] for n, one in enumerate(words)]
        return ticked(cells(list(zip(widths, runs, strict=True)), NOTE, pad=PADDING), TICKED)
    return block(_short(words, widths))


def _short(words: Sequence[str], widths: Sequence[float]) -> Row:
    """The same where nothing has to be broken, as nearly always: a book may have tens of thousands of these lines."""
    lefts = [TICKED, *(TICKED + total for total in accumulate(widths))]
    high = max(NOTE * LEADING, TICK) + 2 * PADDING

    def paint(ink: Ink, left: float, top: float) -> None:
        ink.box(left, top - PADDING + 0.1, TICK, TICK, BOX)
        for n, one in enumerate(words):
            ink.text((left + lefts[n], top - PADDING - NOTE * BASELINE), one, NOTE, bold=n == 0)
        ink.path([(left + TICKED, top - high), (left + lefts[-1], top - high)], HAIR)

    return Row(height=high, paint=paint)


def _headed(line: Block, widths: Sequence[float], first: bool) -> Block:
    """The first line under the heads of the columns."""
    if not first:
        return line
    heads = [(width, [run(words, bold=True)]) for width, words in zip(widths, HEADS, strict=True)]
    return block([moved(row, TICKED) for row in cells(heads, NOTE, pad=PADDING).rows], line.rows)
