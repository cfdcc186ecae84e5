"""The page: it stands alone, says what the plan says, and nothing in a name can break it."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree

import pytest

from cutopt.book import html_page
from cutopt.book.contents import cards, laying, settings
from cutopt.book.drawing import Text
from cutopt.book.sheets import sheets_of
from cutopt.book.siteplan import area_drawings, start_edge
from cutopt.book.styles import OKABE_ITO, STYLES
from cutopt.book.supports import numbered, support_drawings, support_lists
from cutopt.book.svg import svg
from cutopt.book.wording import proof
from cutopt.planfile import Plan
from cutopt.planfile.model import Area, Cell
from tests.book.sample import sample_json, sample_plan

NASTY = [
    '<script>alert("1")</script>',
    'Quay\'s "deck" & <b>co</b> ]]> --> </svg></style>',
    "مصطبة السطح",
    "x" * 200,
    "{{ 7 * 7 }}{% raw %}",
    "tab\tbell\x07null\x00",
]


class Outline(HTMLParser):
    """Tags, their nesting and the text of a page."""

    VOID = frozenset({"meta", "input", "br", "link", "img"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.words: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def outline(page: str) -> Outline:
    parser = Outline()
    parser.feed(page)
    assert parser.open == []
    return parser


@pytest.fixture(scope="module")
def page() -> str:
    return html_page(sample_plan())


def drawings(page: str) -> list[str]:
    return re.findall(r"<svg.*?</svg>", page, re.DOTALL)


def test_same_plan_same_page(page: str) -> None:
    assert html_page(sample_plan()) == page


def test_drawings_are_xml(page: str) -> None:
    found = drawings(page)
    # a plan and its supports, five cards face down, one of them face up as well, and the legend's samples
    assert len(found) > 2 + 6
    for drawing in found:
        assert ElementTree.fromstring(drawing).tag == "svg"


def test_standalone_drawing_is_xml() -> None:
    plan = sample_plan()
    for drawing in (*area_drawings(plan, plan.areas[0]), *support_drawings(plan, plan.areas[0])):
        assert ElementTree.fromstring(svg(drawing, alone=True)).tag == "{http://www.w3.org/2000/svg}svg"


def test_page_needs_nothing_from_outside(page: str) -> None:
    parsed = outline(page)
    assert not {"script", "link", "img", "iframe", "object", "embed"} & set(parsed.tags)
    assert "//" not in page.replace("<!--", "")
    assert "@import" not in page
    assert "url(" not in page
    links = [value or "" for name, value in parsed.attributes if name in ("href", "src", "xlink:href")]
    assert all(link.startswith("#") for link in links)
    targets = {value for name, value in parsed.attributes if name == "id"}
    assert {link[1:] for link in links} <= targets


@pytest.mark.parametrize("name", NASTY)
def test_no_name_can_break_the_page(name: str) -> None:
    made: dict[str, Any] = sample_json(name=name, area_name=name)
    made["tile"]["name"] = name
    made["warnings"] = [name]
    made["areas"][0]["posts"][0]["name"] = name
    made["steps"][0]["text"] = name
    made["steps"][0]["falls_off"] = name
    made["buy"][0]["item"] = name
    made["areas"][0]["cells"][-1]["left"][0]["why"] = name
    page = html_page(Plan.model_validate(made))
    parsed = outline(page)
    assert not {"script", "b0", "co"} & set(parsed.tags)
    assert parsed.tags.count("style") == 1
    printable = "".join(sign for sign in name if sign >= " " or sign == "\t")
    assert "".join(parsed.words).count(printable) >= 8
    for drawing in drawings(page):
        ElementTree.fromstring(drawing)


def test_each_step_is_printed_once_with_number_sum_and_box_for_each_copy(page: str) -> None:
    plan = sample_plan()
    for step in plan.steps:
        assert page.count(f"<p>{step.text}</p>") == sum(other.text == step.text for other in plan.steps)
        assert page.count(f'aria-label="step {step.n} done"') == plan.sources[0].uses == 2
        if step.sum:
            assert f"Check: {step.sum}" in page


def test_numbers_on_a_card_are_the_plans(page: str) -> None:
    plan = sample_plan()
    for source in plan.sources:
        card = page.split(f'id="{source.id}"')[1].split("</article>")[0]
        for step in plan.steps:
            if step.source == source.id and step.setup:
                assert f">{step.setup.fence:g}</text>" in card
    notch = page.split('id="T5"')[1].split("</article>")[0]
    assert ">482</text>" in notch
    assert ">506</text>" in notch


def test_inch_pages_have_fractions() -> None:
    page = html_page(sample_plan(show="in"))
    # 420 mm = 16.5354 in, nearest sixty-fourth 34/64 = 17/32
    assert ">16-17/32</text>" in page


def test_mirror_flag_stands_at_chiral_pieces_only(page: str) -> None:
    flagged = [n for n in range(1, 6) if "MIRROR IMAGE" in page.split(f'id="T{n}"')[1].split("</article>")[0]]
    assert flagged == [4, 5]


def test_alike_is_said_only_where_more_than_one_is_made(page: str) -> None:
    assert page.count("MAKE 2 ALIKE") == 5
    assert "ALIKE" not in html_page(sample_plan(count=1))


def test_steps_of_copies_that_differ_are_all_printed() -> None:
    made = sample_json()
    other = {**made["steps"][0], "n": 90, "copy": 2, "text": "Another way for the second."}
    made["steps"].append(other)
    assert "Another way for the second." in html_page(Plan.model_validate(made))


def test_open_part_has_its_letter_on_the_plan_and_in_the_list(page: str) -> None:
    assert ">A</text>" in drawings(page)[0]
    assert '<th scope="row">A</th>' in page
    assert "narrower than 75" in page


def test_proven_is_said_only_when_value_and_bound_meet() -> None:
    assert "10: proven" in proof(sample_plan())
    made = sample_json()
    made["proof"] |= {"bound": 9.0, "met": False, "stopped": "limit"}
    words = proof(Plan.model_validate(made))
    assert "not proven" in words
    assert "less than 9, the gap is 1" in words
    assert "limit" in words


def test_laying_order_has_every_cell_once() -> None:
    plan = sample_plan()
    turns = laying(plan, plan.areas[0])
    assert [turn.orders for turn in turns] == ["1", "2", "3", "4", "5", "6–7", "8", "9", "10", "11"]
    assert turns[1].words == "P6"
    assert "scribe" in turns[1].notes[0]
    assert "lifted" in turns[4].notes[0]


def test_settings_in_a_row_are_one_line() -> None:
    made = sample_json()
    cuts = [step for step in made["steps"] if step["setup"]]
    cuts[2]["setup"] = cuts[1]["setup"] = {"fence": 420.0, "datum": "u0"}
    cuts[2]["station"], cuts[2]["face"] = cuts[1]["station"], cuts[1]["face"]
    found = settings(Plan.model_validate(made))
    assert [line.cuts for line in found] == [("T1 cut 1",), ("T2 cut 1", "T3 cut 1"), ("T3 cut 2",)]


def test_start_wall_is_the_edge_along_x() -> None:
    plan = sample_plan()
    assert start_edge(plan.areas[0]) == 0
    turned = plan.areas[0].model_copy(update={"outline": plan.areas[0].outline[2:] + plan.areas[0].outline[:2]})
    assert start_edge(turned) == 3


def test_colours_are_okabe_and_ito() -> None:
    # Okabe and Ito, "Color Universal Design" (2008): values from memory; greys and pale tints apart
    assert OKABE_ITO == ("#000000", "#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7")
    strokes = {style.stroke for style in STYLES.values()} - {"none"}
    greys = {colour for colour in strokes if len(set(re.findall("..", colour[1:]))) == 1}
    assert strokes - greys <= set(OKABE_ITO)


def test_marks_that_matter_differ_in_more_than_colour() -> None:
    for one, other in (("backer-old", "backer"), ("hidden", "slat"), ("cut", "outline"), ("edge-open", "edge-flush")):
        first, second = STYLES[one], STYLES[other]  # type: ignore[index]
        assert (first.width, first.dash) != (second.width, second.dash)


def test_cards_come_in_the_order_of_their_first_steps() -> None:
    made = sample_json()
    for step in made["steps"]:
        step["n"] += 100 if step["source"] == "T1" else 0
        step["after"] = []
    made["steps"].sort(key=lambda step: step["n"])
    assert [card.source.id for card in cards(Plan.model_validate(made))] == ["T2", "T3", "T4", "T5", "T1"]


def test_a_card_names_the_tile_whose_wood_it_waits_for() -> None:
    made = sample_json()
    first = next(step for step in made["steps"] if step["source"] == "T1" and step["do"] == "cut")
    last = [step for step in made["steps"] if step["source"] == "T5"][-1]
    last["after"] = [first["n"]]
    page = html_page(Plan.model_validate(made))
    card = page.split('id="T5"')[1].split("</article>")[0]
    assert f'WAITS for wood of <a href="#T1">T1</a>, step {first["n"]}' in card
    assert f"First step {first['n']} of" in card
    assert "WAITS" not in html_page(sample_plan())


def test_the_sides_have_their_words_and_never_their_letters(page: str) -> None:
    printed_words = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
    for step in sample_plan().steps:  # the sample's own step texts are not the book's
        printed_words = printed_words.replace(step.text, "")
    assert not re.findall(r"\b[uv][01]\b", printed_words)
    assert "256 mm</b> from the far side" in printed_words


def test_where_the_rest_goes_is_said_once() -> None:
    plan = sample_plan()
    goes = [line.goes for card in cards(plan) for line in card.steps if line.step.cut == 1]
    # the words of T1's step say "to the rack" already; T3's first cut leaves T3.2, which is cut again
    assert goes[0] == "offcut R1, 176.8 wide: to the rack"
    assert "T3.2 on to cut 2" in goes[2]


def test_supports_are_numbered_row_by_row_and_alike_in_drawing_and_list() -> None:
    plan = sample_plan()
    area = plan.areas[0]
    places = numbered(plan, area)
    assert [place.number for place in places] == list(range(1, len(places) + 1))
    heights = [round(place.support.at[1]) for place in places]
    assert heights == sorted(heights)
    (drawing,) = support_drawings(plan, area)
    drawn = {shape.text for shape in drawing.shapes if isinstance(shape, Text)}
    listed = {name for one in support_lists(plan, area) for name, _ in one.places}
    assert listed == {place.name for place in places} == drawn & listed
    letters = {name.split()[1] for one in support_lists(plan, area) for name, _ in one.places}
    assert letters == {place.support.shape[0].upper() for place in places}


def test_a_large_area_is_drawn_on_sheets_that_show_every_cell_and_support() -> None:
    plan = sample_plan()
    area = large(plan.areas[0])
    sheets = sheets_of(area)
    # 30 cells along at 14 a sheet are 3 sheets, 40 away at 18 a sheet are 3
    assert [sheet.number for sheet in sheets] == list(range(1, 10))
    for cell in area.cells:
        x, y = (cell.col + 0.5) * 604, (cell.row + 0.5) * 604
        assert any(s.box[0] < x < s.box[2] and s.box[1] < y < s.box[3] for s in sheets)
    key, *parts = area_drawings(plan, area)
    assert "sheet 9" in {shape.text for shape in key.shapes if isinstance(shape, Text)}
    shown = {shape.text for part in parts for shape in part.shapes if isinstance(shape, Text)}
    assert {str(cell.order) for cell in area.cells} <= shown
    assert sheets_of(plan.areas[0]) == ()


def large(area: Area) -> Area:
    """Whole tiles only, 30 along and 40 away."""
    cells = tuple(
        Cell(row=n // 30, col=n % 30, quarter_turn=False, kind="whole", pieces=(), order=n + 1, liftable=False, left=())
        for n in range(1200)
    )
    wide, high = 30 * 604.0, 40 * 604.0
    outline = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))
    grid = area.grid.model_copy(update={"origin": (0.0, 0.0)})
    return area.model_copy(update={"cells": cells, "outline": outline, "posts": (), "grid": grid})
