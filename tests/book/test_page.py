"""The page: it stands alone, says what the plan says, and nothing in a name can break it."""

from __future__ import annotations

import json
import re
from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from cutopt.book import html_page
from cutopt.book.drawings.drawing import Text
from cutopt.book.drawings.siteplan import area_drawings, open_parts, start_edge
from cutopt.book.drawings.styles import OKABE_ITO, STYLES
from cutopt.book.drawings.supports import numbered, support_drawings, support_lists
from cutopt.book.drawings.svg import svg_file
from cutopt.book.sheets import sheets_of
from cutopt.book.words.contents import MOST_BOXES, cards, laying, settings
from cutopt.book.words.wording import figures, proof
from cutopt.planfile import Plan
from cutopt.planfile.model import Area, Cell
from cutopt.planfile.reading import dump, load
from cutopt.planfile.ticks import digest
from tests.book.sample import named, sample_json, sample_plan

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
    for drawing in (*area_drawings(plan, plan.areas[0], open_parts(plan)), *support_drawings(plan, plan.areas[0])):
        assert ElementTree.fromstring(svg_file(drawing)).tag == "{http://www.w3.org/2000/svg}svg"


def test_page_needs_nothing_from_outside(page: str) -> None:
    parsed = outline(page)
    assert not {"link", "img", "iframe", "object", "embed"} & set(parsed.tags)
    rest, script = parted(page)
    assert "//" not in rest.replace("<!--", "")
    assert "@import" not in page
    assert "url(" not in page
    assert not re.findall(r"https?:|fetch|XMLHttp|WebSocket|sendBeacon|EventSource|import\b|innerHTML|eval", script)
    assert not [name for name, _ in parsed.attributes if name.startswith("on") or name in ("src", "srcset")]
    links = [value or "" for name, value in parsed.attributes if name in ("href", "src", "xlink:href")]
    assert all(link.startswith("#") for link in links)
    targets = {value for name, value in parsed.attributes if name == "id"}
    assert {link[1:] for link in links} <= targets


def parted(page: str) -> tuple[str, str]:
    """The page without its script, and the script's text."""
    before, script, after = re.fullmatch(r"(.*)<script>(.*?)</script>(.*)", page, re.DOTALL).groups()  # type: ignore[union-attr]
    return before + after, script


def test_policy_lets_only_the_pages_own_script_run(page: str) -> None:
    # https://www.w3.org/TR/CSP3/#match-element-to-source-list: the hash is of the text between the tags
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]+)"', page)
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == f"'sha256-{b64encode(sha256(parted(page)[1].encode()).digest()).decode()}'"


def test_the_script_is_the_same_in_every_book(page: str) -> None:
    other = html_page(sample_plan(show="in", count=1))
    assert parted(other)[1] == parted(page)[1]
    assert parted(other)[0] != parted(page)[0]


@pytest.mark.parametrize("name", NASTY)
def test_no_name_can_break_the_page(name: str) -> None:
    page = html_page(named(name))
    parsed = outline(page)
    assert not {"b0", "co"} & set(parsed.tags)
    assert parsed.tags.count("style") == parsed.tags.count("script") == 1
    assert parted(page)[1] == parted(html_page(sample_plan()))[1]
    printable = "".join(sign for sign in name if sign >= " " or sign == "\t")
    assert "".join(parsed.words).count(printable) >= 8
    for drawing in drawings(page):
        ElementTree.fromstring(drawing)


def test_each_step_is_printed_once_with_number_sum_and_box_for_each_copy(page: str) -> None:
    plan = sample_plan()
    for step in plan.steps:
        assert page.count(f"<p>{step.text}</p>") == sum(other.text == step.text for other in plan.steps)
        boxes = re.findall(rf'data-tick="{step.n}\.(\d)" aria-label="step {step.n} done, tile (\d) of 2"', page)
        assert boxes == [("1", "1"), ("2", "2")]
        if step.sum:
            assert f"Check: {step.sum}" in page


def test_more_copies_than_boxes_are_counted_in_a_field() -> None:
    page = html_page(sample_plan(count=MOST_BOXES + 1))
    assert 'data-tick="1.1"' not in page
    assert f'max="{MOST_BOXES + 1}" data-step="1" aria-label="step 1: tiles done, of {MOST_BOXES + 1}"' in page
    assert page.count('data-tick="1.') == 0
    assert html_page(sample_plan(count=MOST_BOXES)).count('data-tick="1.') == MOST_BOXES


def test_the_page_names_its_plan_by_what_the_plan_file_says(tmp_path: Path) -> None:
    plan = sample_plan()
    file = tmp_path / "plan.json"
    file.write_text(dump(plan), encoding="utf-8")
    said = json.dumps(json.loads(file.read_text(encoding="utf-8")), ensure_ascii=False, separators=(",", ":"))
    assert f'data-plan="{sha256(said.encode()).hexdigest()}"' in html_page(load(file))
    assert digest(plan) == digest(load(file)) != digest(sample_plan(count=1))


def test_fence_settings_are_told_with_what_is_proven() -> None:
    def words(setups: int, bound: int) -> str:
        made = sample_json()
        made["totals"] |= {"setups": setups, "setups_bound": bound}
        return dict(figures(Plan.model_validate(made)))["Table saw"]

    assert words(21, 20) == "21 fence settings; no order of these cuts takes fewer than 20"
    assert words(20, 20) == "20 fence settings, the fewest that the order of the cuts allows"
    assert words(1, 1) == "1 fence setting, the fewest that the order of the cuts allows"
    assert words(21, 0) == "21 fence settings"
    assert words(0, 0) == "0 fence settings"


def test_offcuts_from_the_rack_are_named_with_their_tiles() -> None:
    made = sample_json()
    tile = {key: made["tile"][key] for key in ("slats", "backers", "screws", "pin_holes")}
    made["stock"] = [tile | {"id": name, "outline": made["sources"][0]["outline"]} for name in ("R7", "R8")]
    made["sources"][2]["from"] = "stock:R7"
    plan = Plan.model_validate(made)
    assert dict(figures(plan))["From the rack"] == "R7 is T3, R8"
    assert "from offcut R7 from the rack" in html_page(plan)


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


def test_a_fence_that_stays_is_one_line_whichever_side_runs_along_it() -> None:
    made = sample_json()
    cuts = [step for step in made["steps"] if step["setup"]]
    for step, side in ((cuts[1], "v1"), (cuts[2], "v0")):
        step["setup"] = {"fence": 200.0, "datum": side}
        step["station"], step["face"] = "table saw", "up"
    line = settings(Plan.model_validate(made))[1]
    assert line.datum == "far side or the home side"
    assert line.cuts == ("T2 cut 1 (far side)", "T3 cut 1 (home side)")


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
    assert re.search(r"256 mm</b> from the [a-z ]*far side", printed_words)


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
    drawn = {shape.text for shape in drawing.marks if isinstance(shape, Text)}
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
    key, *parts = area_drawings(plan, area, ())
    assert "sheet 9" in {shape.text for shape in key.marks if isinstance(shape, Text)}
    shown = {shape.text for part in parts for shape in part.marks if isinstance(shape, Text)}
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
