"""SVG files read back: geometry equals the plan, in true millimetres with y downwards, and names cannot break them."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import pytest

from cutopt.book.drawings.drawingfiles import drawing_files
from cutopt.book.drawings.legend import Kind, legend
from cutopt.book.drawings.sidebyside import site_drawing
from cutopt.book.drawings.svg import svg_file
from cutopt.planfile import Plan
from tests.book.readback import Ring, Round, same_rings, same_rounds, site_geometry, tiles_geometry
from tests.book.sample import sample_json, sample_plan
from tests.plans import plan_named

SITES = ("sample", "demo", "balconies")
SPEAKS_FOR_ITSELF = {
    "bubble", "cut-leader", "cut-text", "plain", "piece-text", "side-text", "small", "text", "waste-text",  # words
    "ground", "piece", "cell-hole", "piece-hole", "move-halo",  # white or nearly so
    "home", "move", "arrowhead", "cut-dimension",  # on a site scale bar, grid start and overall lengths, with words
}  # fmt: skip
SVG = "{http://www.w3.org/2000/svg}"
NASTY = [
    '<script>alert("1")</script>',
    'Quay\'s "deck" & <b>co</b> ]]> --> </svg></style>',
    "مصطبة السطح",
    "x" * 200,
    "tab\tbell\x07null\x00",
    "half a pair \ud800",
]


def plan_of(name: str) -> Plan:
    return sample_plan() if name == "sample" else plan_named(name)


def read(content: bytes) -> ElementTree.Element:
    """The drawing without its legend, which is the last thing in it."""
    root = ElementTree.fromstring(content.decode("utf-8"))
    assert root.tag == f"{SVG}svg"
    legends = [one for one in root if one.get("class") == "legend"]
    assert legends == list(root)[-1:]
    root.remove(legends[0])
    return root


def rings(root: ElementTree.Element, *styles: str) -> list[Ring]:
    """The paths of some styles, y turned upwards again; a closed one without its first point once more; many lines in
    one path are none of them."""
    found = []
    for path in root.iter(f"{SVG}path"):
        if path.get("class") in {f"s-{style}" for style in styles} and path.get("d", "").count("M") == 1:
            numbers = [float(number) for number in re.findall(r"-?[\d.]+", path.get("d", ""))]
            found.append(tuple(zip(numbers[::2], (-y for y in numbers[1::2]), strict=True)))
    return found


def circles(root: ElementTree.Element, *styles: str) -> list[Round]:
    names = {f"s-{style}" for style in styles}
    found = [one for one in root.iter(f"{SVG}circle") if one.get("class") in names]
    return [(float(one.get("cx", "")), -float(one.get("cy", "")), float(one.get("r", ""))) for one in found]


@pytest.mark.parametrize("name", SITES)
def test_the_site_is_as_planned(name: str) -> None:
    plan = plan_of(name)
    root = read(drawing_files(plan)["site.svg"])
    expected = site_geometry(plan, rings(root, "ground"))
    assert same_rings(rings(root, "post", "drain"), expected.posts)
    assert same_rings(rings(root, "cell-whole"), expected.tiles)
    assert same_rings(rings(root, "cell-cut", "cell-hole"), expected.pieces)
    texts = ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]
    assert {piece.id for piece in plan.pieces} <= set(texts)


@pytest.mark.parametrize("name", SITES)
def test_the_tiles_are_as_planned(name: str) -> None:
    plan = plan_of(name)
    root = read(drawing_files(plan)["tiles.svg"])
    expected = tiles_geometry(plan, rings(root, "outline"))
    assert same_rings(rings(root, "piece", "piece-hole"), expected.pieces)
    assert same_rings(rings(root, "cut"), expected.cuts)
    assert same_rounds(circles(root, "hole-kept", "hole-drilled", "hole-old"), expected.holes)
    texts = [text for text in ("".join(one.itertext()) for one in root.iter(f"{SVG}text")) if ": P" in text]
    assert {text.split(":")[0] for text in texts} >= {source.id for source in plan.sources}


def test_the_sheet_is_the_drawing_at_its_scale() -> None:
    plan = sample_plan()
    drawing = site_drawing(plan)
    root = read(svg_file(drawing).encode())
    left, top, wide, high = (float(value) for value in root.get("viewBox", "").split())
    box = (left, -top - high, left + wide, -top)
    assert box == pytest.approx(drawing.box, abs=0.02)
    assert root.get("width", "").endswith("mm")
    assert float(root.get("width", "").removesuffix("mm")) == pytest.approx(wide / drawing.scale, abs=0.01)
    # a cut is 0.9 mm wide on the sheet
    widths = re.search(r"\.s-cut\{[^}]*stroke-width:([\d.]+)", "".join(root.itertext()))
    assert widths is not None
    assert float(widths[1]) == pytest.approx(0.9 * drawing.scale, abs=0.01)


@pytest.mark.parametrize("name", NASTY)
def test_no_name_can_break_the_file(name: str) -> None:
    made: dict[str, Any] = sample_json(name=name, area_name=name)
    made["areas"][0]["posts"][0]["name"] = name
    files, plain = drawing_files(Plan.model_validate(made)), drawing_files(sample_plan())
    for file in ("site.svg", "tiles.svg"):
        kinds = [[element.tag for element in read(f[file]).iter()] for f in (files, plain)]
        assert sorted(kinds[0]) == sorted(kinds[1])
    texts = ["".join(text.itertext()) for text in read(files["site.svg"]).iter(f"{SVG}text")]
    clean = "".join(sign if sign.isprintable() else " " for sign in name)
    assert any(len(text) >= 10 and clean.startswith(text.split("…")[0].split(" ·")[0].rstrip()) for text in texts)


@pytest.mark.parametrize(("file", "kind"), [("site.svg", "site"), ("tiles.svg", "bench")])
def test_a_legend_says_what_the_marks_mean(file: str, kind: Kind) -> None:
    root = ElementTree.fromstring(drawing_files(plan_of("demo"))[file].decode())
    words = " ".join("".join(text.itertext()) for text in list(root)[-1].iter(f"{SVG}text"))
    assert all(entry.words in words for entry in legend(kind))
    styles = {name for one in list(root)[-1].iter() if (name := one.get("class", "")).startswith("s-")}
    drawn = {name for one in root.iter() if (name := one.get("class", "")).startswith("s-")}
    missing = {name.removeprefix("s-") for name in drawn - styles}
    # what explains itself: words, dimensions, the things that the legend's samples are parts of
    assert missing <= SPEAKS_FOR_ITSELF, missing
