"""The job file's tables as they are written: their keys, what each may hold, and its default.

These shapes read the file (`cutopt.job.shape`) and make its JSON Schema (`cutopt.job.schema`). Lengths are ticks once
read; what a table alone cannot tell, such as whether slats fit a tile, is checked by the modules that build records.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Discriminator, Field, Tag, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from cutopt.job.records import PHASES, Aim, EdgeKind, GridRule, Pattern, Phase, RoundPosts, Slats
from cutopt.lengths import LengthError, Sign, Unit, parse_length

MOST_CORNERS = 300
MOST_POSTS = 200
MOST_AREAS = 200


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """What the reading of a value depends on: the unit of bare numbers."""

    unit: Unit


def refusal(rule: str, remedy: str) -> PydanticCustomError:
    """An error that carries its rule and remedy to the message."""
    return PydanticCustomError("refusal", "{rule}", {"rule": rule, "remedy": remedy})


def _length(sign: Sign) -> BeforeValidator:
    def read(value: object, info: ValidationInfo) -> int:
        unit = info.context.unit if isinstance(info.context, Reading) else "mm"
        try:
            return parse_length(value, unit=unit, sign=sign)
        except LengthError as error:
            raise refusal(error.rule, error.remedy) from error

    return BeforeValidator(read)


def _length_schema(sign: Sign) -> WithJsonSchema:
    number: dict[str, Any] = {"type": "number"}
    if sign != "any":
        number["minimum" if sign == "not negative" else "exclusiveMinimum"] = 0
    described = "a number in the job's unit, or text such as 596 mm, 1.81 m, 23-1/2 in, 5 ft 11 3/8 in"
    return WithJsonSchema({"anyOf": [number, {"type": "string", "minLength": 1}], "description": described})


Length = Annotated[int, _length("not negative"), _length_schema("not negative")]
Size = Annotated[int, _length("positive"), _length_schema("positive")]
Coordinate = Annotated[int, _length("any"), _length_schema("any")]
PointPair = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]
SizePair = Annotated[list[Size], Field(min_length=2, max_length=2)]
Gap = Annotated[list[Length], Field(min_length=2, max_length=2)]
Corners = Annotated[list[PointPair], Field(min_length=3, max_length=MOST_CORNERS)]


def _name(value: object) -> object:
    if isinstance(value, str) and not (value.strip() and value.isprintable()):
        raise refusal("a name has letters or digits that can be printed", "write a short name")
    return value


def _phase(value: object) -> object:
    if value == "any" or (isinstance(value, int) and not isinstance(value, bool) and value in _PHASES):
        return value
    numbers = ", ".join(map(str, _PHASES))
    raise refusal(
        f'is one of {numbers}, or "any"', 'write the number of the pattern\'s cell that comes first, or "any"'
    )


_PHASES = range(max(PHASES.values()))
PhaseEntry = Annotated[Phase, BeforeValidator(_phase), WithJsonSchema({"enum": [*_PHASES, "any"]})]
Name = Annotated[str, BeforeValidator(_name), Field(min_length=1, max_length=80)]


def _one_or_pair(value: object) -> str:
    return "(pair)" if isinstance(value, list) else "(one)"


def _table_or_text(value: object) -> str:
    return "(table)" if isinstance(value, dict) else "(text)"


SizeOrPair = Annotated[
    Annotated[Size, Tag("(one)")] | Annotated[SizePair, Tag("(pair)")],
    Discriminator(_one_or_pair),
]


class Table(BaseModel):
    """A table of the file: frozen, of exact types, and without unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class JobTable(Table):
    name: Name | None = None
    show: Literal["mm", "in"] = "mm"
    mark: Size | None = Field(default=None, description="finest mark that the operator works to; 1 mm or 1/16 in")


class SlatsTable(Table):
    count: int = Field(ge=1, le=200)
    width: Size
    thickness: Size
    gap: Length | None = Field(default=None, description="checked against count and width where it is given")


class BackersTable(Table):
    at: list[Size] = Field(min_length=2, max_length=50, description="centre lines, from the home corner")
    width: Size
    thickness: Size
    inset: Length = Field(description="from the tile's sides to the backers' ends")


class ScrewsTable(Table):
    a_crossing: int = Field(ge=1, le=2)
    gauge: int = Field(ge=4, le=14)
    inset: Size | None = Field(
        default=None, description="from the slat's edges; a single screw stands in the slat's middle"
    )


class PinHolesTable(Table):
    diameter: Size
    inset: SizeOrPair = Field(description="from the tile's edges; or [along, across]")


class SupportTable(Table):
    pad: SizePair
    pin_offset: Size = Field(description="from the support's centre to a pin, on both axes")
    pin: Size
    height: Size


class TileTable(Table):
    use: str | None = None
    name: Name | None = None
    text: str | None = None
    length: Size
    width: Size
    thickness: Size | None = Field(default=None, description="slats and backers together; checked where it is given")
    density: float = Field(default=680.0, gt=0, le=2000, description="kg/m3")
    slats: SlatsTable
    backers: BackersTable
    screws: ScrewsTable
    pin_holes: PinHolesTable
    support: SupportTable


class GridTable(Table):
    """A fixed place of the first cell's corner, in the layout frame."""

    x: Coordinate
    y: Coordinate


class LayTable(Table):
    pattern: Pattern = "straight"
    slats: Slats = Field(default="along", description="of the tiles that the pattern does not turn, to the start wall")
    phase: PhaseEntry = Field(
        default=0, description="the pattern's cell that comes first: alternate 0 or 1, two-and-one 0 to 2; or any"
    )
    start: int = Field(default=0, ge=0, description="the edge that the grid runs along, counted from corner 0")
    joint: Length | None = None
    pitch: SizeOrPair | None = Field(
        default=None, description="measured; one length, or [along the slats, across them]"
    )
    grid: Annotated[
        Annotated[GridRule, Tag("(text)")] | Annotated[GridTable, Tag("(table)")],
        Discriminator(_table_or_text),
    ] = "best"


class KerfTable(Table):
    """Defaults from a full and a thin circular blade, and a jigsaw's (common practice, no source)."""

    table_saw: Size = Field(default=1024, json_schema_extra={"default": "3.2 mm"})
    guided_saw: Size = Field(default=704, json_schema_extra={"default": "2.2 mm"})
    jigsaw: Size = Field(default=480, json_schema_extra={"default": "1.5 mm"})


class RackTable(Table):
    """Where the rack's offcuts are from: an earlier plan; those that are gone are left out."""

    plan: str = Field(min_length=1, max_length=4096, description="a plan.json, seen from the job file's folder")
    without: list[str] = Field(default=[], max_length=10_000, description="ids of its offcuts that are gone: R2")


class CutTable(Table):
    strategy: Literal["one-for-one", "factory-edge", "anywhere"] = "factory-edge"
    saws: list[Literal["table saw", "guided saw", "jigsaw"]] = Field(
        default=["table saw", "guided saw", "jigsaw"], min_length=1, max_length=3
    )
    kerf: KerfTable = KerfTable()
    round_posts: RoundPosts = Field(default="round", description="how notches around round posts are cut")
    aim: Aim = "tiles"
    seconds: float = Field(default=20.0, gt=0, le=86_400)
    rack: RackTable | None = Field(default=None, description="offcuts to cut from, besides new tiles")


class MoneyTable(Table):
    tile: float = Field(ge=0, le=1e9)
    hour: float = Field(ge=0, le=1e9)
    backer: float = Field(default=4.0, ge=0, le=1e9)
    currency: Annotated[str, BeforeValidator(_name), Field(min_length=1, max_length=8)] = "EUR"


class EdgeTable(Table):
    kind: EdgeKind
    gap: Gap | None = None


EdgeEntry = Annotated[
    Annotated[EdgeKind, Tag("(text)")] | Annotated[EdgeTable, Tag("(table)")],
    Discriminator(_table_or_text),
]


class PostTable(Table):
    """A rectangle `at` its centre, a circle, or a ring of corners."""

    name: Name | None = None
    kind: Literal["post", "drain"] = "post"
    at: PointPair | None = None
    size: SizePair | None = None
    diameter: Size | None = None
    turn: float | None = Field(default=None, ge=-360, le=360, description="degrees anticlockwise; a rectangle only")
    corners: Corners | None = None
    gap: Gap | None = None
    low: bool = Field(default=False, description="a low post, open at the top: a tile is lifted over it")


class AreaTable(Table):
    name: Name | None = None
    count: int = Field(default=1, ge=1, le=100_000)
    corners: Corners
    edges: list[EdgeEntry] | None = Field(
        default=None, description="edge i runs from corner i to i + 1; all walls if left out"
    )
    start: int | None = Field(default=None, ge=0)
    way_out: int | None = Field(
        default=None, ge=0, description="the edge that the crew leaves by; if left out, the one away from the start"
    )
    post: list[PostTable] = Field(default=[], max_length=MOST_POSTS)


class JobFile(Table):
    """The whole file. [rules] is read by `cutopt.rules`, which knows each rule's unit."""

    format: Literal["cutopt-job"]
    version: Literal[1]
    job: JobTable = JobTable()
    tile: TileTable
    lay: LayTable = LayTable()
    cut: CutTable = CutTable()
    rules: dict[str, Any] = {}
    money: MoneyTable | None = None
    area: list[AreaTable] = Field(min_length=1, max_length=MOST_AREAS)
