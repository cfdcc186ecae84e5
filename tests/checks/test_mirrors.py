"""Mirror images are found out, on plans of the planner's own: what is right on one side is wrong on the other."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from cutopt.checks import check
from tests.checks.mirrored import mirror
from tests.checks.small_plan import Json, as_plan, said
from tests.checks.small_sites import ROOMS, values_at
from tests.checks.spoiling import first


def notched(source: Json) -> bool:
    return any(len(cut["path"]) > 2 for cut in source["cuts"])


def round_notched(source: Json) -> bool:
    return any(cut["arc"] for cut in source["cuts"])


def oblique(source: Json) -> bool:
    return any(abs(b["line"][0][0] - b["line"][1][0]) > 1 for b in source["backers"])


SITES: list[tuple[str, Callable[[Json], bool]]] = [
    ("notched", notched),
    ("crossing", notched),
    ("round", round_notched),
    ("bare", round_notched),
    ("slanted", oblique),
]


@pytest.mark.parametrize("site", ROOMS)
def test_small_sites_have_no_findings(site: str) -> None:
    assert [str(finding) for finding in check(as_plan(values_at(site)))] == []


@pytest.mark.parametrize(("site", "has"), SITES, ids=lambda value: getattr(value, "__name__", value))
def test_a_piece_cut_as_in_a_mirror_is_found_out_where_it_lies(site: str, has: Callable[[Json], bool]) -> None:
    """Its source agrees with itself: nothing is wrong but where wood lies, or does not, and what stands on what."""
    values = values_at(site)
    mirror(values, first(source for source in values["sources"] if has(source)))
    found = said(values)
    assert found & {"coverage", "post-gap", "wall-gap", "outside-area"}
    at_the_saw = {"cuts-make-pieces", "cut-path", "blade-in-piece", "fragments", "screw-place", "backer-place"}
    assert not found & (at_the_saw | {"backer-overlap", "backer-outside", "one-whole", "bay", "overhang"})


@pytest.mark.parametrize(("site", "has"), SITES, ids=lambda value: getattr(value, "__name__", value))
def test_a_tile_sawn_as_in_a_mirror_is_found_out_at_the_saw(site: str, has: Callable[[Json], bool]) -> None:
    """Where the piece itself is drawn rightly, and only sawn from the other side."""
    values = values_at(site)
    pieces = [dict(piece) for piece in values["pieces"]]
    mirror(values, first(source for source in values["sources"] if has(source)))
    values["pieces"] = pieces
    assert said(values) & {"cuts-make-pieces", "blade-in-piece"}


@pytest.mark.parametrize("site", ["notched", "crossing", "round"])
def test_backers_hung_with_left_and_right_exchanged_are_found_out(site: str) -> None:
    """Face down the tile's left end is at the right: a backer marked from the wrong one lies as far from the other."""
    values = values_at(site)
    spoiled = 0
    for source in values["sources"]:
        for backer in (b for b in source["backers"] if b["state"] in ("moved", "added")):
            _exchange(source, backer, _ends(values, source, backer))
            spoiled += 1
    assert spoiled
    assert said(values) & {"backer-overlap", "overhang", "bay", "pins", "face-past-bearing", "screw-place"}


def test_one_backer_hung_with_left_and_right_exchanged_is_found_out() -> None:
    """Each on its own, in every small site."""
    tried = 0
    for site in ("notched", "crossing", "round", "strips", "bare"):
        for place, source in enumerate(values_at(site)["sources"]):
            for number, backer in enumerate(source["backers"]):
                if backer["state"] not in ("moved", "added"):
                    continue
                values = values_at(site)
                spoiled = values["sources"][place]
                ends = _ends(values, spoiled, backer)
                if abs(ends - 2 * backer["line"][0][0]) < 1:  # in the middle: nothing is exchanged
                    continue
                _exchange(spoiled, spoiled["backers"][number], ends)
                tried += 1
                assert said(values), (site, backer["id"])
    assert tried >= 5


def _ends(values: Json, source: Json, backer: Json) -> float:
    """The u of both ends of a backer's piece on its source, added up."""
    piece = first(one for one in values["pieces"] if one["id"] == backer["piece"])
    placement = first(one for one in source["placements"] if one["piece"] == backer["piece"])
    us = [u for u, _ in piece["outline"]]
    ends, shift = min(us) + max(us), 2 * placement["shift"][0]
    return float(shift + (2 * values["tile"]["length"] - ends if placement["half_turn"] else ends))


def _exchange(source: Json, backer: Json, ends: float) -> None:
    """Hang a backer as far from the one end as it should be from the other."""
    backer["line"] = [[ends - u, v] for u, v in backer["line"]]
    for fitting in (*source["screws"], *source["pin_holes"]):
        if fitting["backer"] == backer["id"]:
            fitting["u"] = ends - fitting["u"]


def test_an_oblique_backer_that_leans_the_wrong_way_is_found_out() -> None:
    """Its ends are exchanged; its screws go along."""
    values = values_at("slanted")
    source = first(source for source in values["sources"] if oblique(source))
    backer = first(b for b in source["backers"] if abs(b["line"][0][0] - b["line"][1][0]) > 1)
    (u0, v0), (u1, v1) = backer["line"]
    _exchange(source, backer, u0 + u1)
    assert backer["line"] == [[u1, v0], [u0, v1]]
    assert "backer-shape" in said(values)


def test_a_round_notch_cut_from_the_wrong_end_is_found_out() -> None:
    """The arc's centre is as far from the other end of the tile."""
    values = values_at("round")
    cut = first(cut for source in values["sources"] for cut in source["cuts"] if cut["arc"])
    cut["arc"]["centre"][0] = values["tile"]["length"] - cut["arc"]["centre"][0]
    assert "arc" in said(values)
