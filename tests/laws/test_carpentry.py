"""Laws of the carpentry: whatever the tile, the piece and its place.

What is accepted can be finished, stands up to an independent judge, and is planned and checked; stricter rules never
make an infeasible piece feasible; half turns and mirrored tiles give the same answer. The rules themselves are common
practice, no source, but for the screws' distances (NDS Commentary Table C12.1.5.7, prebored, advisory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
import shapely
from hypothesis import HealthCheck, Phase, assume, example, given, settings
from hypothesis import strategies as st

from cutopt.checks import check
from cutopt.cut import CutTile
from cutopt.cut.patterns import pattern_of
from cutopt.cut.records import Place
from cutopt.cut.sawing import Saws, saw_tree
from cutopt.errors import NoPlan
from cutopt.fit import Carpenter, Fit, Refusal, fit
from cutopt.geometry import Ring
from cutopt.hang import hang
from cutopt.planning import plan
from cutopt.rules import Rules
from cutopt.tile import Tile
from tests.fit.casing import Case
from tests.fit.judging import judge
from tests.fit.shapes import (
    KINDS,
    MM,
    WORKED,
    Anatomy,
    across,
    drawn_piece,
    drawn_tile,
    mirrored,
    placed,
    shape_of,
)
from tests.fit.sites import site_of

FEW = settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.generate],  # to make a failing piece smaller would take minutes
)
PLANNED = settings(FEW, max_examples=12)


@dataclass(frozen=True, kw_only=True, slots=True)
class Drawn:
    """A piece on a tile. `kind` tells what was drawn, for a failing example."""

    anatomy: Anatomy
    kind: str
    outline: Ring

    @property
    def tile(self) -> Tile:
        return self.anatomy.tile

    @property
    def rules(self) -> Rules:
        return self.anatomy.job().rules

    def fitted(self, rules: Rules | None = None) -> Fit | Refusal:
        return fit(self.outline, self.tile, rules or self.rules)


@st.composite
def drawns(draw: st.DrawFn, kinds: tuple[str, ...] = KINDS) -> Drawn:
    def pick(low: int, high: int) -> int:
        return draw(st.integers(low, high))

    anatomy, kind = drawn_tile(pick), draw(st.sampled_from(kinds))
    return Drawn(anatomy=anatomy, kind=kind, outline=drawn_piece(pick, anatomy, kind))


def cut_tile(drawn: Drawn, found: Fit) -> CutTile:
    """A tile that is cut for this piece alone."""
    job = drawn.anatomy.job()
    carpenter = Carpenter(tile=job.tile, rules=job.rules)
    saws = Saws(tile=job.tile, rules=job.rules, cutting=job.cutting)
    place = Place(kind=0, half_turn=False, shift=(0, 0), shape=shape_of(drawn.outline, drawn.anatomy), fit=found)
    tree = saw_tree((place,), carpenter.outline, saws)
    assert tree is not None
    return CutTile(pattern=pattern_of((place,), carpenter.tile, saws), tree=tree, pieces=(0,), uses=1)


@FEW
@given(drawns())
def test_what_is_accepted_keeps_every_rule(drawn: Drawn) -> None:
    found = drawn.fitted()
    assume(isinstance(found, Fit))
    assert isinstance(found, Fit)
    assert judge(Case(tile=drawn.tile, rules=drawn.rules, outline=drawn.outline), found) == []


@FEW
@given(drawns())
def test_what_is_accepted_is_hung(drawn: Drawn) -> None:
    found = drawn.fitted()
    assume(isinstance(found, Fit))
    assert isinstance(found, Fit)
    (source,) = hang([cut_tile(drawn, found)], drawn.anatomy.job())
    assert [board.seat for board in source.boards] == list(found.seats)
    assert len(source.screwed) == sum(len(drives) for drives in found.drives)
    assert [stand.hole for stand in source.stands[0]] == [stand.hole for stand in found.stands]
    staying = {s.drive.screw for s in source.screwed if s.drive.screw}
    assert not staying & set(source.screws_out)
    # each of the tile's screws in the piece stays or comes out
    case = Case(tile=drawn.tile, rules=drawn.rules, outline=drawn.outline)
    inside = {s.id for s in drawn.tile.screws if case.polygon.buffer(-1).intersects(shapely.Point(s.at))}
    assert inside <= staying | set(source.screws_out)


@PLANNED
@given(drawns())
def test_what_is_accepted_is_planned_and_checked(drawn: Drawn) -> None:
    """A site as large as the piece and its gaps."""
    # what a site can be: the piece's home corner is not cut off, so that the grid starts there
    assume((0, 0) in drawn.outline and drawn.kind != "triangle")
    # and no thinner than laying lets a strip be
    along, across = (max(p[axis] for p in drawn.outline) for axis in (0, 1))
    assume(along >= drawn.rules.thinnest_across + MM and across >= drawn.rules.thinnest_strip + MM)
    found = drawn.fitted()
    assume(isinstance(found, Fit))
    made = plan(drawn.anatomy.job(site_of(drawn.outline, drawn.anatomy)))
    assert [str(finding) for finding in check(made)] == []
    assert len(made.pieces) == 1


STRICTER = {
    "kept_screw_edge": 5 * MM,
    "screw_clearance": 6 * MM,
    "screw_hole_clear": 4 * MM,
    "old_hole_clear": 8 * MM,
    "hole_wood": 3 * MM,
    "screw_edge": 0.5,
    "screw_end": 1.0,
    "fragment_least": 5 * MM,
    "shaved_least": 10 * MM,
    "bearing_least": 8 * MM,
}
LOOSER = {"longest_overhang": -20 * MM, "face_past_bearing": -8 * MM, "wall_face_past_bearing": -15 * MM,
          "backer_past_pad": -20 * MM, "short_fragment": -40 * MM}  # fmt: skip


@pytest.mark.parametrize("rule", [*STRICTER, *LOOSER])
@settings(FEW, max_examples=10)
@given(drawns())
def test_a_stricter_rule_never_makes_an_infeasible_piece_feasible(rule: str, drawn: Drawn) -> None:
    changed = getattr(drawn.rules, rule) + {**STRICTER, **LOOSER}[rule]
    if rule == "fragment_least":
        changed = min(changed, drawn.rules.fragment_normal)
    strict = drawn.fitted(replace(drawn.rules, **{rule: changed}))
    if isinstance(strict, Fit):
        assert isinstance(drawn.fitted(), Fit)


@pytest.mark.parametrize("way", [1, 2, 3], ids=["mirrored along", "mirrored across", "half-turned"])
@settings(FEW, max_examples=25)
@given(drawns())
@example(Drawn(anatomy=WORKED, kind="crosscut", outline=across(WORKED, 112)))
def test_mirrored_and_half_turned_tiles_give_the_same_answer(way: int, drawn: Drawn) -> None:
    tile = mirrored(drawn.tile, along=way in (1, 3), across=way in (2, 3))
    one, other = drawn.fitted(), fit(placed(drawn.outline, drawn.anatomy, way), tile, drawn.rules)
    assert isinstance(one, Fit) == isinstance(other, Fit), (one, other)
    if isinstance(one, Fit) and isinstance(other, Fit):
        assert one.minutes == pytest.approx(other.minutes)
        assert one.least == other.least


@FEW
@given(drawns())
def test_a_refusal_names_a_rule_and_says_why(drawn: Drawn) -> None:
    found = drawn.fitted()
    if isinstance(found, Refusal):
        assert hasattr(drawn.rules, found.rule) or found.rule in ("fragment_held", "one_whole")
        assert len(found.why) > 20


def test_a_site_smaller_than_a_piece_can_be_has_no_plan() -> None:
    with pytest.raises(NoPlan):
        plan(WORKED.job('[[area]]\nname = "Yard"\ncorners = [[0, 0], [60, 0], [60, 500], [0, 500]]\n'))
