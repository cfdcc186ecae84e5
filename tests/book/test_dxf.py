"""DXF files read back: geometry equals the plan, layers and line types say what it is, names cannot break the file."""

from __future__ import annotations

import csv
import io
import os
import re
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

import ezdxf
import pytest
from ezdxf.document import Drawing as Document
from ezdxf.tools.text import plain_text
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.ops import unary_union

from cutopt.book.drawings import drawing as display
from cutopt.book.drawings.drawingfiles import drawing_files
from cutopt.book.drawings.dxf import DIMENSION, LAYERS, LEFT_OUT, LEGEND, LINE_TYPES, dxf, one_line
from cutopt.book.drawings.legend import Kind, legend
from cutopt.book.drawings.sidebyside import tiles_drawing
from cutopt.book.drawings.styles import StyleName
from cutopt.book.lists.cutlist import cuts_csv
from cutopt.planfile import Plan, dump
from tests.book.readback import EXACT, Ring, Round, same_rings, same_rounds, site_geometry, tiles_geometry
from tests.book.sample import sample_json, sample_plan
from tests.plans import plan_named

SITES = ("sample", "demo", "balconies")
NASTY = [
    '<b>Quay\'s "deck" & co</b>',
    "مصطبة السطح",
    "100 %% %%d %%u ^J caret^",
    "\\U+0041 \\M+18190 {\\P}",
    "x" * 200,
    "tab\tbell\x07null\x00line\nreturn\r  0\nEOF\n",
    "half a pair \ud800",
]


def plan_of(name: str) -> Plan:
    return sample_plan() if name == "sample" else plan_named(name)


def read(content: bytes) -> Document:
    document: Document = ezdxf.read(io.StringIO(content.decode("utf-8")))  # type: ignore[attr-defined]
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    return document


def rings(document: Document, layer: str) -> list[Ring]:
    """Polylines of a layer in their order; a closed one as it is given, but for a cut, which ends where it began."""
    found = []
    for line in document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'):
        points = tuple((x, y) for x, y in line.get_points("xy"))  # type: ignore[attr-defined]
        found.append((*points, points[0]) if layer == "CUTS" and line.closed else points)  # type: ignore[attr-defined]
    return found


def circles(document: Document, layer: str) -> list[Round]:
    found = document.modelspace().query(f'CIRCLE[layer=="{layer}"]')
    return [(one.dxf.center.x, one.dxf.center.y, one.dxf.radius) for one in found]


@pytest.mark.parametrize("name", SITES)
def test_the_site_is_as_planned(name: str) -> None:
    plan = plan_of(name)
    document = read(drawing_files(plan)["site.dxf"])
    expected = site_geometry(plan, rings(document, "OUTLINE"))
    assert same_rings(rings(document, "OUTLINE"), expected.outlines)
    assert same_rings(rings(document, "POSTS"), expected.posts)
    assert same_rings(rings(document, "TILES"), expected.tiles)
    assert same_rings(rings(document, "PIECES"), expected.pieces)
    assert expected.pieces
    assert len(rings(document, "SUPPORTS")) == len(plan.supports)
    assert len(circles(document, "SUPPORTS")) == sum(len(support.pins) for support in plan.supports)


@pytest.mark.parametrize("name", SITES)
def test_the_tiles_are_as_planned(name: str) -> None:
    plan = plan_of(name)
    document = read(drawing_files(plan)["tiles.dxf"])
    expected = tiles_geometry(plan, rings(document, "OUTLINE"))
    assert same_rings(rings(document, "OUTLINE"), expected.outlines)
    assert same_rings(rings(document, "PIECES"), expected.pieces)
    assert same_rings(rings(document, "CUTS"), expected.cuts)
    assert same_rounds(circles(document, "HOLES"), expected.holes)
    assert expected.cuts
    assert expected.holes


def test_a_shift_of_a_fiftieth_of_a_millimetre_would_be_seen() -> None:
    plan = sample_plan()
    drawing = tiles_drawing(plan)
    outlines = rings(read(dxf(drawing)), "OUTLINE")
    n, piece = next(
        (n, s) for n, s in enumerate(drawing.shapes) if isinstance(s, display.Polygon) and s.style == "piece"
    )
    off = display.Polygon(points=tuple((x + 0.02, y) for x, y in piece.points), style="piece")
    shapes = (*drawing.shapes[:n], off, *drawing.shapes[n + 1 :])
    spoiled = display.Drawing(title="", shapes=shapes, box=drawing.box, scale=drawing.scale)
    assert not same_rings(rings(read(dxf(spoiled)), "PIECES"), tiles_geometry(plan, outlines).pieces)


def test_sources_and_areas_lie_apart() -> None:
    document = read(drawing_files(plan_of("balconies"))["tiles.dxf"])
    boxes = [(min(p), max(p)) for p in rings(document, "OUTLINE")]
    for n, ((x0, y0), (x1, y1)) in enumerate(boxes):
        assert not any(x0 < u1 and u0 < x1 and y0 < v1 and v0 < y1 for (u0, v0), (u1, v1) in boxes[:n])


def test_units_layers_and_line_types() -> None:
    files = drawing_files(sample_plan())
    for name in ("site.dxf", "tiles.dxf"):
        document = read(files[name])
        assert document.header["$INSUNITS"] == 4  # millimetres
        assert document.header["$MEASUREMENT"] == 1
        assert {"OUTLINE", "POSTS", "TILES", "PIECES", "CUTS", "HOLES", "SLATS", "BACKERS", "SCREWS", "SUPPORTS"} <= {
            layer.dxf.name for layer in document.layers
        }
        assert {entity.dxf.layer for entity in document.modelspace()} <= {*LAYERS, LEGEND}
        assert all(name in document.linetypes for name in LINE_TYPES)
    tiles = read(files["tiles.dxf"])
    types = {layer: {e.dxf.linetype for e in tiles.modelspace().query(f'*[layer=="{layer}"]')} for layer in LAYERS}
    # ISO 128-2, from memory: visible edges continuous, hidden ones dashed
    assert types["OUTLINE"] == types["CUTS"] == types["PIECES"] == {"CONTINUOUS"}
    assert "DASHED" in types["BACKERS"]
    assert types["OFFCUTS"] == {"CHAIN"}


def test_every_style_has_one_layer() -> None:
    counts = Counter(name for names in LAYERS.values() for name in names)
    assert set(counts) | LEFT_OUT == set(get_args(StyleName))
    assert set(counts.values()) == {1}
    assert not set(counts) & LEFT_OUT


def test_same_plan_same_bytes_in_another_process(tmp_path: Path) -> None:
    plan = sample_plan()
    (tmp_path / "plan.json").write_text(dump(plan), encoding="utf-8")
    code = (
        "import hashlib, sys; from pathlib import Path; from cutopt.planfile import load; "
        "from cutopt.book.drawings.drawingfiles import drawing_files; "
        "print({n: hashlib.sha256(b).hexdigest() for n, b in drawing_files(load(Path(sys.argv[1]))).items()})"
    )
    said = set()
    # one of them without a home to keep its list of fonts in
    for seed, home in (("1", os.environ.get("HOME", "")), ("2", str(tmp_path / "plan.json" / "none"))):
        done = subprocess.run(
            [sys.executable, "-c", code, str(tmp_path / "plan.json")],
            capture_output=True,
            text=True,
            check=True,
            env={
                **os.environ,
                "HOME": home,
                "XDG_CACHE_HOME": f"{home}/.cache",
                "PYTHONHASHSEED": seed,
                "PYTHONPATH": str(Path(__file__).parents[2]),
            },
        )
        assert done.stderr == ""
        said.add(done.stdout)
    assert len(said) == 1
    assert "site.dxf" in said.pop()
    assert drawing_files(plan) == drawing_files(plan)


@pytest.mark.parametrize("name", NASTY)
def test_no_name_can_break_the_file(name: str) -> None:
    made: dict[str, Any] = sample_json(name=name, area_name=name)
    made["areas"][0]["posts"][0]["name"] = name
    plan = Plan.model_validate(made)
    files = drawing_files(plan)
    plain = drawing_files(sample_plan())
    for file in ("site.dxf", "tiles.dxf"):
        kinds = [Counter(e.dxftype() for e in read(f[file]).modelspace()) for f in (files, plain)]
        assert kinds[0] == kinds[1]
    clean = "".join(sign if sign.isprintable() else " " for sign in name)
    texts = [plain_text(text.dxf.text) for text in read(files["site.dxf"]).modelspace().query("TEXT")]
    begun = [text.replace("\N{WORD JOINER}", "").split("…")[0].split(" ·")[0] for text in texts]
    assert any(len(text) >= 10 and clean.startswith(text.rstrip()) for text in begun if text)


@pytest.mark.parametrize("words", ["50 %", "%%d", "%%%", "a^b", "^I", "C:\\Users", "\\U+0041", "°±Ø", "مصطبة"])
def test_texts_are_shown_letter_by_letter(words: str) -> None:
    assert plain_text(one_line(words)).replace("\N{WORD JOINER}", "") == words
    assert "\\U+" not in one_line(words)


@pytest.mark.parametrize("name", SITES)
def test_only_waste_is_hatched(name: str) -> None:
    """Nothing hides the lines of a DXF: those of the hatching end where pieces and kept offcuts begin."""
    document = read(drawing_files(plan_of(name))["tiles.dxf"])
    wood = unary_union([Polygon(ring) for layer in ("PIECES", "OFFCUTS") for ring in rings(document, layer)])
    lines = [
        LineString([one.dxf.start.vec2, one.dxf.end.vec2])
        for one in document.modelspace().query('LINE[layer=="HATCH"]')
    ]
    assert lines
    assert wood.buffer(-0.1).intersection(MultiLineString(lines)).length == 0


# dimensions


@dataclass(frozen=True, kw_only=True, slots=True)
class Read:
    """A dimension of a file: its layer and style, what it measures, and the number that its block shows."""

    layer: str
    style: str
    measured: float
    shown: str


def dimensions(document: Document) -> list[Read]:
    found = []
    for one in document.modelspace().query("DIMENSION"):
        block = document.blocks.get(one.dxf.geometry)
        (text,) = block.query("TEXT")
        assert len(block.query("HATCH")) == 2  # closed and filled arrows
        measured = one.get_measurement()  # type: ignore[attr-defined]
        shown = plain_text(text.dxf.text)
        assert one.dxf.text in ("<>", shown) or (one.dxf.text.endswith(": <>") and ": " in shown)
        found.append(Read(layer=one.dxf.layer, style=one.dxf.dimstyle, measured=measured, shown=shown))
    return found


def length(shown: str, plan: Plan) -> float:
    """A printed number as millimetres: "419", "T1.b1: 160.7", "23-1/8"."""
    number = shown.split(": ")[-1]
    if plan.job.show == "mm":
        return float(number)
    whole, _, part = number.rpartition("-") if "/" in number else (number, "", "")
    over, _, under = part.partition("/")
    return 25.4 * (int(whole or 0) + (int(over) / int(under) if under else 0.0))


@pytest.mark.parametrize("name", ["sample", "demo", "inches"])
def test_dimensions_measure_what_the_plan_says(name: str) -> None:
    plan = plan_of(name)
    read_back = dimensions(read(drawing_files(plan)["tiles.dxf"]))
    grain = 25.4 / 128 if plan.job.show == "in" else 0.05
    for one in read_back:
        assert (one.layer, one.style) == ("DIMENSIONS", DIMENSION)
        assert one.measured == pytest.approx(length(one.shown, plan), abs=grain + 1e-6)
    # every distance that the cut list has is measured to the hundredth, and every one that is measured is there
    cuts = [round(one.measured, 2) for one in read_back if ":" not in one.shown]
    rows = list(csv.DictReader(io.StringIO(cuts_csv(plan))))
    asked = [float(row[f"distance {n} mm"]) for row in rows for n in (1, 2, 3) if row[f"distance {n} mm"]]
    assert asked
    assert all(any(abs(value - one) <= EXACT for one in cuts) for value in asked)
    steps = {round(step.setup.fence, 2) for step in plan.steps if step.setup is not None and step.do == "cut"}
    assert all(any(abs(fence - one) <= EXACT for one in cuts) for fence in steps)


@pytest.mark.parametrize("name", ["sample", "demo", "balconies", "inches"])
def test_overall_dimensions_of_a_site_are_those_of_its_outlines(name: str) -> None:
    plan = plan_of(name)
    found = dimensions(read(drawing_files(plan)["site.dxf"]))
    expected = []
    for area in plan.areas:
        xs, ys = zip(*area.outline, strict=True)
        expected += [max(xs) - min(xs), max(ys) - min(ys)]
    assert sorted(one.measured for one in found) == pytest.approx(sorted(expected), abs=EXACT)


def test_dimensions_are_styled_after_iso_129() -> None:
    document = read(drawing_files(sample_plan())["tiles.dxf"])
    style = document.dimstyles.get(DIMENSION).dxf
    assert document.header["$DIMSTYLE"] == DIMENSION
    # the number above the line and along it, whatever the room; one decimal, none where it is whole
    assert (style.dimtad, style.dimtih, style.dimtoh, style.dimdec, style.dimzin & 8) == (1, 0, 0, 1, 8)
    assert style.dimscale == pytest.approx(document.header["$LTSCALE"])


# legend


@pytest.mark.parametrize(("file", "kinds"), [("site", ("site", "supports")), ("tiles", ("bench",))])
def test_a_legend_says_what_the_marks_mean(file: str, kinds: tuple[Kind, ...]) -> None:
    document = read(drawing_files(plan_of("demo"))[f"{file}.dxf"])
    mine = document.modelspace().query(f'*[layer=="{LEGEND}"]')
    said = " ".join(plain_text(one.dxf.text) for one in mine if one.dxftype() == "TEXT")
    for kind in kinds:
        for entry in legend(kind):
            assert entry.words in said
    types = {one.dxf.linetype for one in mine}
    drawn = {one.dxf.linetype for one in document.modelspace()}
    assert drawn <= types  # every line type has its sample
    low = min(y for ring in rings(document, "OUTLINE") for _, y in ring)
    tops = [one.dxf.insert.y for one in mine if one.dxftype() == "TEXT"]
    assert max(tops) < low


def test_areas_and_tiles_of_which_there_are_many_say_how_many() -> None:
    plan = plan_of("balconies")
    files = drawing_files(plan)
    for name, counts in (("site", [area.count for area in plan.areas]), ("tiles", [one.uses for one in plan.sources])):
        texts = [plain_text(one.dxf.text) for one in read(files[f"{name}.dxf"]).modelspace().query("TEXT")]
        alike = [int(found[1]) for text in texts if (found := re.search(r" · (\d+) alike$", text))]
        assert set(alike) == {count for count in counts if count > 1}
