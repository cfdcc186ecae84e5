"""The book on paper, read back: it says what the plan says, cuts nothing off, and no name can break it."""

from __future__ import annotations

import io
import math
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from cutopt.book.drawings.drawing import Text
from cutopt.book.pdf import pdf_book
from cutopt.book.pdf.labels import height_of, labels
from cutopt.book.pdf.pages import PaperName, paper_of
from cutopt.book.words.contents import cards
from cutopt.book.words.wording import figures
from cutopt.planfile import Plan
from cutopt.planfile.model import Source, Step
from tests.book.sample import named, sample_json, sample_plan
from tests.plans import plan_named

POINT = 25.4 / 72  # mm
MARGIN = 10.0  # mm: nothing but labels lies nearer to the paper's edge
NAMES = {
    "markup": '<script>alert("1")</script>',
    "quotes": 'Quay\'s "deck" & <b>co</b> ]]> --> {{ 7 * 7 }}',
    "200 letters": "x" * 200,
    "200 letters in words": "West wing of the upper terrace, " * 6,
    "controls": "tab\tbell\x07null\x00",
    "turned around": "\u202eevil\u2066 \u200f end\u2069\u2069",
    "no such letters": "日本 \U0001f600 \ud800",
    "Hebrew": "מרפסת גג 7 (דרום)",
    "Arabic": "مصطبة السطح 12",
}


@cache
def reader(name: str = "", paper: PaperName = "A4") -> PdfReader:
    """The book of one of the plans that many tests look at, the sample's without a name."""
    plan = plan_named(name) if name else sample_plan()
    return PdfReader(io.BytesIO(pdf_book(plan, paper=paper)))


def flat(words: str) -> str:
    """Without blanks: lines break elsewhere on paper."""
    return "".join(words.split())


def text(book: PdfReader) -> str:
    return flat(" ".join(page.extract_text() for page in book.pages))


def card_pages(book: PdfReader, plan: Plan) -> str:
    """What the pages from the first card to the station lists say."""
    starts = {title: number for title, number, _ in outline(book)}
    return flat(
        " ".join(page.extract_text() for page in book.pages[starts["The tiles to cut"] : starts["Station by station"]])
    )


def outline(book: PdfReader, level: Any = None, deep: int = 0) -> Iterator[tuple[str, int, int]]:
    """The document's outline as (title, page from 0, depth)."""
    for one in book.outline if level is None else level:
        if isinstance(one, list):
            yield from outline(book, one, deep + 1)
        else:
            number = book.get_destination_page_number(one)
            assert number is not None
            yield str(one.title), number, deep


def lead(step: Step) -> str:
    """How a step begins: number, station, the face where its words do not begin with it, whether it is done on site."""
    told = step.text.startswith((f"Face {step.face}", f"Tile face {step.face}"))
    face, site = "" if told else f", face {step.face}", ", on site" if step.where == "site" else ""
    return f"{step.n} {step.station}{face}{site}: "


def steps_of(plan: Plan, source: Source) -> list[Step]:
    return [step for step in plan.steps if step.source == source.id]


# bytes, pages, outline


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_same_plan_same_bytes_and_no_date(paper: PaperName) -> None:
    made = pdf_book(sample_plan(), paper=paper)
    assert made == pdf_book(sample_plan(), paper=paper)
    assert b"/CreationDate (D:2000" in made  # reportlab's constant: no clock was read


@pytest.mark.parametrize(("paper", "size"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_paper_has_its_size_on_every_page(paper: PaperName, size: tuple[float, float]) -> None:
    for page in reader("", paper).pages:
        found = float(page.mediabox.width) * POINT, float(page.mediabox.height) * POINT
        assert found == pytest.approx(size, abs=0.01)


def test_document_has_title_language_and_an_outline_that_leads_to_each_card() -> None:
    plan, book = plan_named("demo"), reader("demo")
    assert book.metadata is not None
    assert book.metadata.title == f"Cut book: {plan.job.name}"
    root = book.trailer["/Root"]
    assert isinstance(root, DictionaryObject)
    assert str(root["/Lang"]) == "en"
    found = list(outline(book))
    assert found[0][0] == "Cut book"
    for source in plan.sources:
        (page,) = [number for title, number, _ in found if title.startswith(f"{source.id}:")]
        assert source.id in book.pages[page].extract_text()


def test_every_page_but_labels_says_which_of_how_many_it_is() -> None:
    book = reader("demo")
    count = len(book.pages)
    feet = [f"{n} of {count}" in page.extract_text() for n, page in enumerate(book.pages, 1)]
    sheets = -(-len(list(labels(plan_named("demo")))) // 24)
    assert feet == [True] * (count - sheets) + [False] * sheets


def test_list_of_contents_has_the_pages_of_the_outline() -> None:
    book = reader("demo")
    cover = book.pages[0].extract_text()
    for title, page, deep in outline(book):
        if deep == 0 and title not in ("Cut book", "Labels"):
            assert re.search(rf"\b{page + 1}\s+{re.escape(title)}", cover), title


def test_fonts_are_in_the_file() -> None:
    for page in reader("demo").pages[:8]:
        resources = page["/Resources"]
        assert isinstance(resources, DictionaryObject)
        fonts = resources["/Font"]
        assert isinstance(fonts, DictionaryObject)
        assert {str(font.get_object()["/BaseFont"])[8:] for font in fonts.values()} == {
            "DejaVuSansCondensed",
            "DejaVuSansCondensed-Bold",
        }


# what it says


@pytest.mark.parametrize("name", ["demo", "inches", "balconies"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_book_has_every_piece_step_sum_and_total(name: str, paper: PaperName) -> None:
    plan, book = plan_named(name), reader(name, paper)
    said, on_cards = text(book), card_pages(book, plan)
    for what, how_much in figures(plan):
        assert flat(what + how_much) in said
    for piece in plan.pieces:
        assert flat(f"row {piece.row + 1}, place {piece.col + 1}") in said
        assert piece.id in said
    for step in plan.steps:
        assert flat(f"{lead(step)}{step.text}") in on_cards
        assert flat(f"Check: {step.sum}" if step.sum else "") in on_cards
    for words in (*plan.warnings, *(purchase.why for purchase in plan.buy)):
        assert flat(words) in said


@pytest.mark.parametrize("name", ["demo", "inches"])
def test_numbers_of_a_card_are_the_plans(name: str) -> None:
    """Every fence of the plan stands in its step, in the sum of the step, and at an arrow of the drawing."""
    plan, said = plan_named(name), card_pages(reader(name), plan_named(name))
    checked = 0
    for source in plan.sources:
        for step in steps_of(plan, source):
            if step.setup is None or step.do != "cut":
                continue
            found = re.search(rf"(?<!\d){re.escape(flat(lead(step)))}.*?Check:([^=]+)=", said)
            assert found, step.n
            first = found[1].split("+")[0]
            assert millimetres(first, plan) == pytest.approx(step.setup.fence, abs=grain(plan))
            checked += 1
    assert checked == sum(step.do == "cut" and step.setup is not None for step in plan.steps) > 0


def grain(plan: Plan) -> float:
    """Half of the finest that is printed, in mm."""
    return 25.4 / 128 if plan.job.show == "in" else 0.05


def millimetres(shown: str, plan: Plan) -> float:
    """A printed length as millimetres: "419", "160.7", "23-1/8", "5/64"."""
    if plan.job.show == "mm":
        return float(shown)
    whole, _, part = shown.rpartition("-") if "/" in shown else (shown, "", "")
    over, _, under = part.partition("/")
    return 25.4 * (int(whole or 0) + (int(over) / int(under) if under else 0.0))


def test_every_text_of_a_drawing_is_on_paper() -> None:
    plan = plan_named("demo")
    said = card_pages(reader("demo"), plan)
    for card in cards(plan):
        for drawing in card.drawings:
            for shape in drawing.marks:
                if isinstance(shape, Text):
                    assert flat(shape.text) in said


def test_stations_have_each_step_once_with_its_tile_face_and_fence() -> None:
    plan, book = plan_named("demo"), reader("demo")
    starts = {title: number for title, number, _ in outline(book)}
    lists = book.pages[starts["Station by station"] : starts["Laying order"]]
    said = "\n".join(page.extract_text() for page in lists)
    for step in plan.steps:
        assert len(re.findall(rf"\b{step.n}\s+{step.source}\s+{step.face}\b", said)) == 1
    for step in plan.steps:
        if step.setup is not None:
            fence = re.search(rf"\b{step.n}\s+{step.source}\s+{step.face}\s+cut {step.cut}: ([\d.]+) mm", said)
            assert fence
            assert float(fence[1]) == pytest.approx(step.setup.fence, abs=0.05)


def test_a_label_for_each_piece_that_is_made() -> None:
    plan = plan_named("balconies")
    made = list(labels(plan))
    assert len(made) == sum(source.uses * len(source.placements) for source in plan.sources) == plan.totals.pieces
    book = reader("balconies")
    first = next(number for title, number, _ in outline(book) if title == "Labels")
    sheets = book.pages[first:]
    assert len(sheets) == -(-len(made) // 24)
    said = " ".join(page.extract_text() for page in sheets)
    for label in made:
        assert f"row {label.cell.row + 1}, place {label.cell.col + 1}" in said
        assert f"laid {label.cell.order}" in said
    assert said.count("start wall") == len(made)


def test_arrows_on_labels_point_to_the_sides_that_were_cut() -> None:
    # the sample: P1 and P2 lie before the right wall, P3 and P4, one of them half turned, below the top one
    ways = {label.piece.id: label.ways for label in labels(sample_plan())}
    assert ways["P1"] == ways["P2"] == ((1.0, 0.0),)
    assert ways["P3"] == ways["P5"] == ((0.0, 1.0),)


@pytest.mark.parametrize("name", ["A4", "Letter"])
def test_labels_are_24_a_sheet_and_lie_on_the_paper(name: PaperName) -> None:
    paper = paper_of(name)
    assert height_of(paper) == {"A4": 34.0, "Letter": 33.0}[name]
    assert paper.width - 10 > 3 * 63.0
    assert 8 * height_of(paper) < paper.height - 10


def test_copies_have_a_box_each_and_many_are_counted() -> None:
    assert "MAKE2ALIKE" in text(reader())
    many = text(PdfReader(io.BytesIO(pdf_book(sample_plan(count=40)))))
    assert many.count("done:") == len(sample_plan().steps)
    assert "of40" in many


def test_a_long_card_goes_on_with_its_title_and_loses_no_step() -> None:
    made = sample_json(count=1)
    first = made["steps"][0]
    made["steps"] += [{**first, "n": n, "text": f"Step number {n} " + "and on it goes " * 12} for n in range(100, 160)]
    made["steps"].append({**first, "n": 160, "text": "word " * 4000})
    book = PdfReader(io.BytesIO(pdf_book(Plan.model_validate(made))))
    said = text(book)
    assert "T1continued" in said
    for n in range(100, 160):
        assert said.count(f"Stepnumber{n}") == 1
    assert said.count("word") == 4000


def test_cards_of_the_sample_go_two_to_a_page_and_short_ones_four() -> None:
    found = pages_of_cards(sample_plan(count=1))
    assert found["T1"] == found["T2"] < found["T3"] == found["T4"] < found["T5"]
    found = pages_of_cards(short_cards())
    assert found["X1"] == found["X2"] == found["X3"] == found["X4"] < found["X5"]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_most_cards_of_the_demo_share_a_page_and_none_takes_three(paper: PaperName) -> None:
    book = reader("demo", paper)
    found = Counter(number for title, number, deep in outline(book) if deep == 1 and re.match(r"T\d+:", title))
    starts = {title: number for title, number, deep in outline(book) if deep == 0}
    assert sum(count for count in found.values() if count > 1) >= 8
    assert starts["Station by station"] - starts["The tiles to cut"] <= 13


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", ["demo", "balconies"])
def test_nothing_on_a_card_is_smaller_than_eight_points_but_marks_of_a_crowded_drawing(
    name: str, paper: PaperName
) -> None:
    plan, book = plan_named(name), reader(name, paper)
    starts = {title: number for title, number, deep in outline(book) if deep == 0}
    drawn = {mark.text for card in cards(plan) for one in card.drawings for mark in one.marks if isinstance(mark, Text)}
    sizes: list[tuple[float, str]] = []

    def visit(words: str, over: list[float], matrix: list[float], _font: object, size: float) -> None:
        if words.strip():
            sizes.append((size * math.hypot(*matrix[:2]) * math.hypot(*over[:2]), words.strip()))

    for page in book.pages[starts["The tiles to cut"] : starts["Station by station"]]:
        page.extract_text(visitor_text=visit)
    small = [words for size, words in sizes if size < 7.95]
    assert set(small) <= drawn
    assert min(size for size, _ in sizes) > 5.5
    assert len(small) < 0.03 * len(sizes)


def pages_of_cards(plan: Plan) -> dict[str, int]:
    book = PdfReader(io.BytesIO(pdf_book(plan)))
    return {title.split(":")[0]: number for title, number, deep in outline(book) if deep == 1}


def test_a_plan_without_anything_to_cut_has_a_book() -> None:
    made = sample_json(count=1) | {"pieces": [], "sources": [], "steps": [], "supports": [], "warnings": [], "buy": []}
    for cell in made["areas"][0]["cells"]:
        cell |= {"kind": "whole", "pieces": []}
    said = text(PdfReader(io.BytesIO(pdf_book(Plan.model_validate(made)))))
    assert "Thetilestocut" not in said
    assert "Labels" not in said
    assert "Layingorder" in said


def short_cards() -> Plan:
    """Eight pieces, each crosscut from a racked offcut of 300 by 170, two steps each; nothing else to cut."""
    made = sample_json(count=1)
    strip = [[0.0, 0.0], [300.0, 0.0], [300.0, 170.0], [0.0, 170.0]]
    hardware = {"slats": made["tile"]["slats"][:2], "backers": [], "screws": [], "pin_holes": []}
    source = next(one for one in made["sources"] if one["id"] == "T4")
    steps = [step for step in made["steps"] if step["source"] == "T4" and step["do"] in ("mark", "cut")]
    made |= {"stock": [], "sources": [], "steps": []}
    for n in range(1, 9):
        made["stock"].append({"id": f"R{n}", "outline": strip, **hardware})
        made["pieces"].append({**made["pieces"][0], "id": f"Q{n}", "outline": [[0, 0], [200, 0], [200, 170], [0, 170]]})
        cut = {**source["cuts"][0], "part": f"X{n}", "into": [f"Q{n}", f"X{n}.2"], "piece": f"Q{n}"}
        cut |= {"path": [[200.0, 0.0], [200.0, 170.0]], "waste_side": "right"}
        parts = ("backers", "slats", "screws", "screws_out", "pin_holes", "sealed", "offcuts")
        nothing: dict[str, list[Any]] = {part: [] for part in parts}
        placement = {"piece": f"Q{n}", "half_turn": False, "shift": [0.0, 0.0]}
        new = {"id": f"X{n}", "from": f"stock:R{n}", "outline": strip, "placements": [placement], "cuts": [cut]}
        made["sources"].append({**source, **nothing, **new})
        for step in steps:
            number = len(made["steps"]) + 1
            made["steps"].append({**step, "n": number, "source": f"X{n}", "after": [], "pieces": [f"Q{n}"]})
    return Plan.model_validate(made)


# where it stands


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", ["", "demo", "inches"])
def test_no_text_leaves_the_paper(name: str, paper: PaperName) -> None:
    for page in reader(name, paper).pages:
        places = origins(page)
        edge = MARGIN if "start wall" not in page.extract_text() else 4.0
        assert places
        for x, y in places:
            assert edge <= x * POINT <= float(page.mediabox.width) * POINT - edge
            assert edge <= y * POINT <= float(page.mediabox.height) * POINT - edge


def origins(page: Any) -> list[tuple[float, float]]:
    """Where each text begins, in points."""
    found: list[tuple[float, float]] = []

    def visit(words: str, over: list[float], matrix: list[float], _font: object, _size: object) -> None:
        if words.strip():
            x, y = matrix[4], matrix[5]
            found.append((x * over[0] + y * over[2] + over[4], x * over[1] + y * over[3] + over[5]))

    page.extract_text(visitor_text=visit)
    return found


# names


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_name_can_break_the_book(name: str, paper: PaperName) -> None:
    plan = named(name)
    book = PdfReader(io.BytesIO(pdf_book(plan, paper=paper)))
    said = text(book)
    for step in plan.steps[1:]:
        assert flat(step.text) in said
    for page in book.pages:
        for x, y in origins(page):
            assert 0 < x < float(page.mediabox.width)
            assert 0 < y < float(page.mediabox.height)


@pytest.mark.parametrize("kind", ["markup", "quotes", "200 letters", "200 letters in words"])
def test_names_of_common_letters_are_shown_whole(kind: str) -> None:
    said = text(PdfReader(io.BytesIO(pdf_book(named(NAMES[kind])))))
    assert said.count(flat(NAMES[kind])) >= 4  # cover, plan, step, warning


def test_right_to_left_names_stand_as_they_are_read() -> None:
    # pypdf gives letters that stand from the right in the order in which they are read
    cover = PdfReader(io.BytesIO(pdf_book(named(NAMES["Hebrew"])))).pages[0].extract_text()
    assert "מרפסת גג" in cover
    cover = PdfReader(io.BytesIO(pdf_book(named(NAMES["Arabic"])))).pages[0].extract_text()
    assert "السطح" in unicodedata.normalize("NFKC", cover)
    assert "السطح" not in cover  # joined letters are others
