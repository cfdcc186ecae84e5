"""What a comparison says: the records that are printed, and written as JSON."""

from __future__ import annotations

from typing import Any, Literal

from pydantic.json_schema import GenerateJsonSchema

from cutopt.planfile.model import Plan, Point, Record, Texts

State = Literal["planned", "no plan", "not finished", "fault"]
Sizes = Literal["mm", "in"]


class Figures(Record):
    """What a plan takes, for all copies of all areas. Areas in square millimetres.

    `proven`: at this strategy and over the grid starts looked at, fewer tiles to cut are ruled out. Stone borders are
    filled and do not count as open.
    """

    tiles: int
    whole: int
    cut: int
    cost: float
    minutes: float
    pieces: int
    setups: int
    holes_drilled: int
    screws_moved: int
    spare_backers: int
    offcuts_kept: int
    offcut_area: float
    open_parts: int
    open_area: float
    proven: bool


class ChoiceLine(Record):
    """One choice: its figures where it was planned, else the reason why there are none.

    `beaten_by` holds the names of all choices that beat it; `lays_more`: each of them leaves more ground open. `words`
    says what it costs or saves against the best.
    """

    name: str
    strategy: Literal["one-for-one", "factory-edge", "anywhere"]
    pattern: Literal["straight", "alternate", "two-and-one"]
    grid: Literal["as-given", "best", "full-first", "centred"]
    state: State
    reason: str
    figures: Figures | None
    unbeaten: bool
    beaten_by: Texts
    lays_more: bool
    words: str


class NotOffered(Record):
    """A pattern or grid start that this job does not allow, and why."""

    word: str
    why: str


class JobComparison(Record):
    """The choices of one job. `best` is the name of the one that is first by the aim; none where nothing is planned."""

    job: str
    sha256: str
    show: Sizes
    aim: Literal["tiles", "cost", "minutes"]
    currency: str
    best: str | None
    not_offered: tuple[NotOffered, ...]
    choices: tuple[ChoiceLine, ...]


class Comparison(Record):
    """What `cutopt compare --json` prints. `files` are those of the choice that was picked."""

    format: Literal["cutopt-comparison"] = "cutopt-comparison"
    version: Literal[1] = 1
    seed: int
    interrupted: bool
    jobs: tuple[JobComparison, ...]
    files: Texts


def figures_of(plan: Plan) -> Figures:
    """A plan's figures."""
    totals = plan.totals
    open_parts = [
        (area.count, abs(_area(left.outline)))
        for area in plan.areas
        for cell in area.cells
        for left in cell.left
        if left.rule != "stone_edge"
    ]
    return Figures(
        tiles=totals.tiles,
        whole=totals.whole,
        cut=totals.cut,
        cost=totals.cost,
        minutes=totals.minutes,
        pieces=totals.pieces,
        setups=totals.setups,
        holes_drilled=totals.holes_drilled,
        screws_moved=totals.screws_moved,
        spare_backers=totals.spare_backers,
        offcuts_kept=sum(source.uses * sum(offcut.keep for offcut in source.offcuts) for source in plan.sources),
        offcut_area=totals.offcut_area,
        open_parts=sum(count for count, _ in open_parts),
        open_area=round(sum(count * area for count, area in open_parts), 3),
        proven=totals.proven,
    )


def comparison_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of what `cutopt compare --json` prints.

    `shared/comparison.schema.json` is this, and a test holds the two together.
    """
    schema = Comparison.model_json_schema(mode="serialization")
    # pydantic asks for no key that has a default; a comparison always names its format and version
    schema["required"] = list(schema["properties"])
    return {"$schema": GenerateJsonSchema.schema_dialect, **schema, "title": "cutopt comparison, version 1"}


def _area(ring: tuple[Point, ...]) -> float:
    """The area inside a ring, above 0 where it runs anticlockwise."""
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], *ring[:1]), strict=True)) / 2
