"""Faulty job files: each mistake on a line of its own, with file, key, value, rule and remedy, all in one run."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from cutopt.errors import BadInput, Mistake
from cutopt.job import load_job

JOBS = Path(__file__).parents[2] / "fixtures" / "jobs"
GOOD = {
    "terrace",
    "inches",
    "clockwise",
    "own-tile",
    "balconies",
    "bishop-deck",
    "bishop-deck-500",
    "bishop-deck-24in",
    "anywhere",
}

# file, then every mistake that it has: key, and words of the rule or remedy
FAULTS: dict[str, list[tuple[str, str]]] = {
    "not-toml": [("", "is not TOML: Expected ']'")],
    "empty": [("format", "is missing"), ("version", "is missing"), ("tile", "is missing"), ("area", "is missing")],
    "wrong-format": [("format", '"cutopt-job"'), ("version", "is 1")],
    "unknown-keys": [
        ("nails", "the keys here are format"),
        ("rules.wall_gpa", "did you mean 'wall_gap'?"),
        ("lay.patern", "did you mean 'pattern'?"),
        ("tile.slats.cuont", "did you mean 'count'?"),
        ("tile.heigth", "is not a key here"),
        ("area[0].colour", "is not a key here"),
        ("area[0].post[0].diametre", "did you mean 'diameter'?"),
    ],
    "wrong-units": [
        ("job.mark", "'furlong' is not a unit"),
        ("rules.thinnest_strip", "'kg' is not a unit"),
        ("area[0].corners[1][0]", "'mtr' is not a unit"),
    ],
    "negative-and-zero-lengths": [
        ("rules.screw_clearance", "not negative"),
        ("cut.kerf.jigsaw", "not negative"),
        ("tile.backers.width", "not negative"),
        ("tile.pin_holes.diameter", "more than 0"),
        ("area[0].post[0].size[0]", "more than 0"),
    ],
    "not-a-number": [
        ("rules.rate_mark", "finite"),
        ("cut.seconds", "finite"),
        ("area[0].corners[1][0]", "finite"),
        ("area[0].post[0].at[1]", "finite"),
        ("area[0].post[0].diameter", "finite"),
    ],
    "true-where-number": [
        ("rules.guide_holes", "whole number"),
        ("lay.start", "whole number"),
        ("area[0].count", "whole number"),
        ("area[0].corners[1][0]", "a number, or text"),
    ],
    "wrong-types": [
        ("rules", "is a table"),
        ("cut", "is a table"),
        ("money.tile", "is a number"),
        ("lay", "is a table"),
        ("tile.use", "did you mean 'hardwood-600'?"),
        ("area[0].name", "is text"),
        ("area[0].corners", "is a list"),
        ("area[0].post", "is a list"),
    ],
    "two-corners": [("area[0].corners", "3 corners or more")],
    "zero-area": [("area[0].corners", "encloses an area")],
    "corners-too-close": [("area[0].corners", "at least 1 mm apart")],
    "self-crossing": [("area[0].corners", "does not cross")],
    "touching-itself": [("area[0].corners", "does not cross or touch")],
    "folded-back": [("area[0].corners", "does not cross or touch")],
    "too-large": [("area[0].corners", "at most 40000 tiles")],
    "post-outside": [("area[0].post[0]", "inside the outline")],
    "posts-overlapping": [("area[0].post[1]", "do not overlap")],
    "post-given-twice": [("area[0].post[0]", "either size, or diameter"), ("area[0].post[1].at", "is missing")],
    "edges-not-matching": [("area[0].edges", "one entry for each corner, 4")],
    "edge-kind": [("area[0].edges[1]", "did you mean 'open'?"), ("area[0].edges[2].gap", "two entries")],
    "start-beyond-edges": [("lay.start", "has edges 0 to 3")],
    "slats-do-not-add-up": [("tile.slats", "8 slats of 80 mm are 640 mm")],
    "slats-and-gap-do-not-add-up": [("tile.slats", "with gaps of 10 mm 620 mm, not 600 mm")],
    "screws-outside-slats": [("tile.screws.inset", "inside their slat")],
    "screw-in-pin-hole": [("tile.screws.inset", "no screw stands in a pin hole")],
    "holes-outside-backers": [("tile.pin_holes.inset", "inside their backer")],
    "backers-outside-tile": [
        ("tile.backers.at", "inside the tile"),
        ("tile.backers.at", "side by side"),
        ("tile.pin_holes.inset", "inside their backer"),
    ],
    "joint-contradicts-pins": [("lay.joint", "pins set, 4 mm")],
    "pins-too-thick": [
        ("tile.support.pin", "fit the pin holes"),
        ("tile.support.pin_offset", "at least the pin holes"),
    ],
    "pitch-beyond-play": [("lay.pitch", "within the pins' play, 2 mm")],
    "kerf-wider-than-strip": [("cut.kerf.guided_saw", "narrower than the thinnest strip, 75 mm")],
    "mixed-turns-rectangular": [("lay.pattern", "mixed turns need a square tile")],
    "mixed-turns-unequal-holes": [("lay.pattern", "mixed turns need pin holes at equal insets")],
    "count-zero": [("area[0].count", "1 or more")],
    "duplicate-names": [("area[0].post[1].name", "name of its own"), ("area[1].name", "name of its own")],
    "gap-least-above-most": [("rules.wall_gap", "least does not exceed"), ("area[0].edges[1].gap", "least does not")],
    "gap-narrower-than-mark": [("rules.post_gap", "finest mark, 1 mm"), ("area[0].edges[1].gap", "finest mark, 1 mm")],
    "later-keys": [
        ("stock", "not read yet by this version"),
        ("area[0].path", "not read yet by this version"),
        ("area[0].tape", "not read yet by this version"),
        ("area[1].outline", "not read yet by this version"),
    ],
    "aim-without-prices": [("cut.aim", "needs prices")],
    "many-mistakes": [
        ("rules.wall_gap", "two lengths"),
        ("cut.kerf.table_saw", "narrower than the thinnest strip"),
        ("tile.slats", "do not add up"),
        ("lay.joint", "pins set, 4 mm"),
        ("area[0].count", "1 or more"),
        ("area[0].corners", "does not cross"),
        ("area[0].edges", "one entry for each corner, 4"),
    ],
}


def mistakes_in(path: Path) -> tuple[Mistake, ...]:
    with pytest.raises(BadInput) as caught:
        load_job(path)
    assert caught.value.exit_code == 2
    assert len(str(caught.value).splitlines()) == len(caught.value.mistakes)
    return caught.value.mistakes


def test_every_fixture_is_good_or_has_its_fault_listed() -> None:
    assert {path.stem for path in JOBS.glob("*.toml")} == GOOD | set(FAULTS)


@pytest.mark.parametrize("name", FAULTS)
def test_faults(name: str) -> None:
    path = JOBS / f"{name}.toml"
    mistakes = mistakes_in(path)
    assert [mistake.key for mistake in mistakes] == [key for key, _ in FAULTS[name]]
    for mistake, (_, words) in zip(mistakes, FAULTS[name], strict=True):
        assert words in f"{mistake.rule}; {mistake.remedy}"
        assert mistake.file == str(path)
        assert mistake.rule
        assert mistake.remedy


def test_the_value_is_told() -> None:
    (mistake,) = mistakes_in(JOBS / "joint-contradicts-pins.toml")
    assert mistake.value == '"8 mm"'
    assert str(mistake).startswith(f'{mistake.file}: lay.joint = "8 mm": ')
    (mistake,) = mistakes_in(JOBS / "count-zero.toml")
    assert mistake.value == "0"


def whole_file_mistake(path: Path) -> Mistake:
    (mistake,) = mistakes_in(path)
    assert (mistake.file, mistake.key) == (str(path), "")
    return mistake


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    assert "no such file" in whole_file_mistake(tmp_path / "missing.toml").rule


def test_a_folder(tmp_path: Path) -> None:
    assert whole_file_mistake(tmp_path).value == "a folder"


def test_a_file_of_100_mb_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.toml"
    with path.open("wb") as file:
        file.truncate(100_000_000)
    began = time.perf_counter()
    mistake = whole_file_mistake(path)
    assert (mistake.value, mistake.rule) == ("100.0 MB", "a job file is a TOML file of at most 10 MB")
    assert time.perf_counter() - began < 1


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes in folders")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    assert whole_file_mistake(tmp_path / "pipe.toml").value == "not a plain file"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_no_permission(tmp_path: Path) -> None:
    path = tmp_path / "secret.toml"
    path.write_text("", encoding="utf-8")
    path.chmod(0)
    assert "no permission" in whole_file_mistake(path).rule


def test_a_system_that_gives_no_permission(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert "no permission" in whole_file_mistake(JOBS / "terrace.toml").rule


@pytest.mark.parametrize(
    ("data", "rule"),
    [
        (b"\xff\xfe", "not UTF-8 text, at byte 0"),
        (b"a = " + b"[" * 100_000, "nested too deeply"),
        (b"a = " + b"9" * 5000, "is not TOML"),
        (b"\x00", "is not TOML"),
        (b"a = 1\na = 2\n", "is not TOML"),
    ],
)
def test_bytes_that_are_no_job(tmp_path: Path, data: bytes, rule: str) -> None:
    path = tmp_path / "odd.toml"
    path.write_bytes(data)
    assert rule in whole_file_mistake(path).rule


def test_a_path_that_cannot_be_one() -> None:
    assert "cannot be read" in whole_file_mistake(Path("nul\0.toml")).rule


def changed(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    """The terrace with some of its text replaced."""
    text = (JOBS / "terrace.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "changed.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ("seconds = 20", "seconds = 0", "cut.seconds", "more than 0"),
        ("seconds = 20", f"seconds = 0x{'f' * 8000}", "cut.seconds", "is a number"),
        ("count = 1", f"count = 0x{'f' * 8000}", "area[0].count", "100000 or less"),
        ("tile = 74.0", "tile = -1", "money.tile", "0 or more"),
        ('currency = "EUR"', 'currency = ""', "money.currency", "can be printed"),
        ("hour = 48.0", "", "money.hour", "is missing"),
        ('name = "vent"', r'name = "a\tb"', "area[0].post[0].name", "can be printed"),
        ('aim = "tiles"', 'aim = "tile"', "cut.aim", "did you mean 'tiles'?"),
        ('"jigsaw"]', '"table saw"]', "cut.saws[2]", "each saw is named once"),
        ('saws = ["table saw", "guided saw", "jigsaw"]', "saws = []", "cut.saws", "1 entries or more"),
        ('grid = "best"', "grid = { x = 3 }", "lay.grid.y", "is missing"),
        ('grid = "best"', "grid = 3", "lay.grid", "is one of best, full-first, centred"),
        ('joint = "4 mm"', 'pitch = ["604 mm"]', "lay.pitch", "two entries"),
        ('slats = "along"', 'slats = "eiter"', "lay.slats", "did you mean 'either'?"),
        ('slats = "along"', "phase = 1", "lay.phase", 'is 0 with the pattern "straight"; change it, or write "any"'),
        ('pattern = "straight"', 'pattern = "alternate"\nphase = 2', "lay.phase", "is 0 or 1 with the pattern"),
        ('pattern = "straight"', 'pattern = "two-and-one"\nphase = 3', "lay.phase", 'is one of 0, 1, 2, or "any"'),
        ('slats = "along"', "phase = -1", "lay.phase", 'is one of 0, 1, 2, or "any"'),
        ('slats = "along"', "phase = true", "lay.phase", 'is one of 0, 1, 2, or "any"'),
        ('slats = "along"', 'phase = "1"', "lay.phase", 'is one of 0, 1, 2, or "any"'),
        ('use = "hardwood-600"', "use = 600", "tile.use", "is text"),
        ('size = ["140 mm", "140 mm"]', 'size = ["0.5 mm", "140 mm"]', "area[0].post[0].size", "at least 1 mm"),
        ('diameter = "110 mm"', 'diameter = "110 mm"\nturn = 30', "area[0].post[1].turn", "only a post with a size"),
        ('mark = "1 mm"', 'mark = "7 mm"', "rules.wall_gap", "at least the finest mark, 7 mm"),
        ("version = 1", "version = true", "version", "is 1"),
        ("version = 1", "version = 1.0", "version", "is 1"),
        ('["5.87 m", "12 mm"]', '["5.87 m"]', "area[0].corners[1]", "two entries"),
    ],
)
def test_single_changes(tmp_path: Path, old: str, new: str, key: str, words: str) -> None:
    mistakes = mistakes_in(changed(tmp_path, (old, new)))
    assert any(m.key == key and words in f"{m.rule}; {m.remedy}" for m in mistakes), [str(m) for m in mistakes]


def test_a_rectangular_tile_wants_two_measured_pitches(tmp_path: Path) -> None:
    path = changed(tmp_path, ("hardwood-600", "hardwood-24x48in"), ('joint = "4 mm"', 'pitch = "604 mm"'))
    (mistake,) = mistakes_in(path)
    assert (mistake.key, mistake.rule[:14]) == ("lay.pitch", "is two lengths")


def test_turned_tiles_want_one_pitch(tmp_path: Path) -> None:
    path = changed(tmp_path, ("straight", "alternate"), ('joint = "4 mm"', 'pitch = ["604 mm", "605 mm"]'))
    (mistake,) = mistakes_in(path)
    assert (mistake.key, mistake.rule) == ("lay.pitch", "mixed turns need one pitch for both ways")


def test_lengths_in_messages_follow_the_job(tmp_path: Path) -> None:
    (mistake,) = mistakes_in(changed(tmp_path, ('show = "mm"', 'show = "in"'), ("4 mm", "1/2 in")))
    assert mistake.value == '"1/2 in"'
    assert "5/32 in" in mistake.rule


def test_the_number_of_mistakes_told_is_limited(tmp_path: Path) -> None:
    path = tmp_path / "many.toml"
    path.write_text("".join(f"key{i} = 1\n" for i in range(1000)), encoding="utf-8")
    mistakes = mistakes_in(path)
    assert len(mistakes) == 201
    # format, version, tile and area are missing as well
    assert "804 more mistakes" in mistakes[-1].rule


def test_areas_together_have_a_limit(tmp_path: Path) -> None:
    """Each of 39,079 tiles, (119,400 : 604) squared, is allowed; three of them are more than a job has."""
    head = 'format = "cutopt-job"\nversion = 1\n[tile]\nuse = "hardwood-600"\n'
    side = 199 * 600
    one = f"corners = [[0, 0], [{side}, 0], [{side}, {side}], [0, {side}]]\n"
    path = tmp_path / "job.toml"
    path.write_text(head + "".join(f'[[area]]\nname = "{name}"\n{one}' for name in "ab"), encoding="utf-8")
    assert len(load_job(path).areas) == 2
    path.write_text(head + "".join(f'[[area]]\nname = "{name}"\n{one}' for name in "abc"), encoding="utf-8")
    with pytest.raises(BadInput, match=r"area = .117235 tiles.: the areas of a job have at most 100000 tiles"):
        load_job(path)
