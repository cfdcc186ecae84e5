"""The summary for a terminal of 80 columns."""

from __future__ import annotations

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from cutopt.book import printed
from cutopt.book.siteplan import open_parts
from cutopt.book.wording import figures
from cutopt.planfile.model import Plan

MOST_LINES = 8  # of what stays open and of warnings; the page has them all


def summary(plan: Plan) -> RenderableType:
    """Tiles, proof, work, money, what stays open and the warnings. Names are texts, not markup."""
    table = Table(box=box.SIMPLE, show_header=False, pad_edge=False, expand=False)
    table.add_column(style="bold", no_wrap=True)
    table.add_column(overflow="fold")
    for what, how_much in figures(plan):
        table.add_row(Text(what), Text(how_much))
    parts: list[RenderableType] = [Text(printed.short(plan.job.name, 78), style="bold"), table]
    left = [
        f"{part.letter}  {printed.short(part.area, 24)}, cell {part.cell.order}: {part.left.why} ({part.left.rule})"
        for part in open_parts(plan)
    ]
    parts += _listed("Stays open", left) + _listed("Warnings", list(plan.warnings))
    return Group(*parts)


def _listed(title: str, lines: list[str]) -> list[RenderableType]:
    if not lines:
        return []
    shown: list[RenderableType] = [Text(f"{title}:", style="bold")]
    shown += [Text(f"  {printed.short(line, 300)}") for line in lines[:MOST_LINES]]
    if len(lines) > MOST_LINES:
        shown.append(Text(f"  and {len(lines) - MOST_LINES} more, all in the book"))
    return shown
