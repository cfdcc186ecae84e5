"""The page: it stands alone, says what the plan says, and nothing in a name can break it."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree

import pytest

from cutopt.book import html_page
from cutopt.book.contents import laying, settings
from cutopt.book.siteplan import area_drawing, start_edge, support_drawing
from cutopt.book.styles import OKABE_ITO, STYLES
from cutopt.book.svg import svg
from cutopt.book.wording import proof
from cutopt.planfile import Plan
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
    for drawing in (area_drawing(plan, plan.areas[0]), support_drawing(plan, plan.areas[0])):
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
    assert ">16 17/32</text>" in page


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
