"""The whole book: its sections laid out on pages first, so that a page knows how many there are; then painted."""

from __future__ import annotations

import io
from collections.abc import Sequence

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from cutopt.book.pdf import fonts
from cutopt.book.pdf.blocks import HAIR, NOTE
from cutopt.book.pdf.cardpages import cards_pages
from cutopt.book.pdf.cover import cover
from cutopt.book.pdf.direction import isolated, joined, plain, unisolated
from cutopt.book.pdf.endmatter import marks, to_buy, warnings
from cutopt.book.pdf.ink import PER_MM, Ink, Letters
from cutopt.book.pdf.labels import label_pages, labels
from cutopt.book.pdf.pages import MARGIN, Flow, Page, Paper, PaperName, paper_of
from cutopt.book.pdf.site import area_title, laying_order, site_plan, stays_open
from cutopt.book.pdf.stations import station_lists
from cutopt.book.words import printed
from cutopt.book.words.areaparts import AreaPart, area_parts
from cutopt.book.words.contents import Card, cards
from cutopt.planfile.model import Plan


def pdf_book(
    plan: Plan,
    tiles: Sequence[Card] | None = None,
    areas: Sequence[AreaPart] | None = None,
    *,
    paper: PaperName = "A4",
) -> bytes:
    """The cut book for A4 or Letter paper; the same plan gives the same bytes. `tiles`, `areas`: its cards and areas,
    where they are made already.

    Cover with cautions and totals, site plans, cards, station lists, laying order, what to buy, what stays open,
    warnings, legend, labels. Every text of the plan is shown as it is, letters that the font has not as boxes.
    """
    sheet, size = io.BytesIO(), paper_of(paper)
    canvas = _canvas(plan, sheet, size)
    flow = Flow(size, Letters(canvas._doc))
    _lay_out(plan, cards(plan) if tiles is None else tiles, area_parts(plan) if areas is None else areas, flow)
    for number, page in enumerate(flow.pages, 1):
        _finish(canvas, page, size, _foot(plan, page, number, len(flow.pages)))
    canvas.save()
    return sheet.getvalue()


def _lay_out(plan: Plan, tiles: Sequence[Card], drawn: Sequence[AreaPart], flow: Flow) -> None:
    stickers = list(labels(plan))
    areas = [(f"area-{n}", part) for n, part in enumerate(drawn, 1)]
    parts = [(key, area_title(part.area)) for key, part in areas]
    parts += [("cards", "The tiles to cut")] if plan.sources else []
    parts += [("stations", "Station by station")] if plan.steps else []
    parts += [("laying", "Laying order"), ("buy", "To buy"), ("open", "What stays open"), ("warnings", "Warnings")]
    parts += [("legend", "Legend")]
    parts += [("labels", "Labels for the pieces")] if stickers else []
    flow.waiting = True  # for the numbers of the pages
    cover(plan, flow, parts)
    flow.waiting = False
    for key, part in areas:
        site_plan(flow, part, key)
    if plan.sources:
        cards_pages(flow, tiles, "cards")
    if plan.steps:
        station_lists(plan, flow, "stations")
    laying_order(flow, drawn, "laying")
    to_buy(plan, flow, "buy")
    stays_open(plan, flow, "open")
    warnings(plan, flow, "warnings")
    marks(flow, "legend")
    if stickers:
        label_pages(plan, flow, stickers, "labels")


def _canvas(plan: Plan, sheet: io.BytesIO, paper: Paper) -> Canvas:
    """An empty document: no dates, fonts of its own only."""
    rl_config.useA85 = 0  # streams as bytes and not as text: smaller, and made sooner
    fonts.face(False)  # reportlab would begin each page with a font that is not in the file
    canvas = Canvas(
        sheet,
        pagesize=(paper.width * PER_MM, paper.height * PER_MM),
        invariant=1,
        pageCompression=1,
        lang="en",
        initialFontName=fonts.NAMES[False],
    )
    canvas.setTitle(f"Cut book: {plain(plan.job.name)}")
    canvas.setAuthor("cutopt")
    canvas.setCreator("cutopt")
    canvas.setSubject("Cut plan for timber deck tiles")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.showOutline()
    return canvas


def _finish(canvas: Canvas, page: Page, paper: Paper, foot: tuple[str, str]) -> None:
    ink = page.paint()
    if not page.bare:
        _paint_foot(ink, paper, *foot)
    canvas.addLiteral(ink.operators())
    for mark in page.marks:
        canvas.bookmarkHorizontal(mark.key, 0, (mark.top + 2.0) * PER_MM)
        canvas.addOutlineEntry(unisolated(plain(mark.title)), mark.key, level=mark.level, closed=mark.level == 0)
    for key, box in ink.links:
        canvas.linkRect("", key, tuple(value * PER_MM for value in box), thickness=0)
    canvas.showPage()


def _foot(plan: Plan, page: Page, number: int, total: int) -> tuple[str, str]:
    name = isolated(printed.short(plan.job.name, 60))
    return f"{name}  ·  {page.title}" if page.title else name, f"{number} of {total}"


def _paint_foot(ink: Ink, paper: Paper, left: str, right: str) -> None:
    y = MARGIN + 1.0
    ink.path([(MARGIN, y + 3.6), (paper.width - MARGIN, y + 3.6)], HAIR)
    ink.text((MARGIN, y), left, NOTE)
    ink.text((paper.width - MARGIN - fonts.width(joined(right), NOTE), y), right, NOTE)
