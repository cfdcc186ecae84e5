"""The plan file's records, the contract that every page, checker and later run reads.

Every length is a decimal number of millimetres, exact to the tick (1/320 mm); every point is (x, y); outlines are
anticlockwise rings without the repeated last point, holes clockwise. Hardware on a source is in its tile frame.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field


def _as_tuple(value: object) -> object:
    """JSON has lists where the records hold tuples, so that they stay frozen."""
    return tuple(_as_tuple(item) for item in value) if isinstance(value, list) else value


Millimetres = float
Point = Annotated[tuple[float, float], BeforeValidator(_as_tuple)]
Span = Annotated[tuple[float, float], BeforeValidator(_as_tuple)]
Outline = Annotated[tuple[tuple[float, float], ...], BeforeValidator(_as_tuple)]
Texts = Annotated[tuple[str, ...], BeforeValidator(_as_tuple)]


class Record(BaseModel):
    """A frozen record that refuses unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, allow_inf_nan=False)


class JobLine(Record):
    """What the plan was made from."""

    name: str
    sha256: str
    show: Literal["mm", "in"]
    mark: Millimetres
    seed: int


class Support(Record):
    pad: Point
    pin_offset: Millimetres
    pin: Millimetres
    height: Millimetres


class TileSlat(Record):
    id: int
    v: Span


class TileBacker(Record):
    id: int
    u: Millimetres
    width: Millimetres
    v: Span


class TileScrew(Record):
    id: str
    slat: int
    backer: int
    u: Millimetres
    v: Millimetres


class TileHole(Record):
    id: int
    backer: int
    u: Millimetres
    v: Millimetres
    diameter: Millimetres


class Hardware(Record):
    """Slats, backers, screws and pin holes as they are on a tile or an offcut."""

    slats: tuple[TileSlat, ...]
    backers: tuple[TileBacker, ...]
    screws: tuple[TileScrew, ...]
    pin_holes: tuple[TileHole, ...]


class Tile(Hardware):
    name: str
    length: Millimetres
    width: Millimetres
    slat_thickness: Millimetres
    backer_thickness: Millimetres
    density: float
    gauge: int
    support: Support


class Stock(Hardware):
    """A racked offcut that this job may cut from, in the frame of the tile it came from."""

    id: str
    outline: Outline


class Frame(Record):
    """The layout frame in the job's frame: x along the start edge, `turn` in degrees anticlockwise."""

    origin: Point
    turn: float


class Edge(Record):
    kind: Literal["wall", "open", "flush", "stone"]
    gap: Span


class Post(Record):
    """`round`: the outline is a polygon around a circle. A `drain` is covered by tiles that can be lifted."""

    name: str
    kind: Literal["post", "drain"]
    round: bool
    outline: Outline
    gap: Span


class Grid(Record):
    origin: Point
    pitch: Point


class Left(Record):
    """A part of a cell that stays open, in the layout frame, the rule behind it, and that in words."""

    outline: Outline
    rule: str
    why: str


class Cell(Record):
    """`pieces` are ids; `order` is its turn in the laying order; `liftable` where it covers a drain."""

    row: int
    col: int
    quarter_turn: bool
    kind: Literal["whole", "cut", "left"]
    pieces: Texts
    order: int
    liftable: bool
    left: tuple[Left, ...]


class Area(Record):
    name: str
    count: int
    frame: Frame
    outline: Outline
    edges: tuple[Edge, ...]
    posts: tuple[Post, ...]
    grid: Grid
    cells: tuple[Cell, ...]


class Piece(Record):
    """`outline` in the tile frame of its own cell. `chiral`: it differs from its mirror image."""

    id: str
    area: str
    row: int
    col: int
    outline: Outline
    holes: tuple[Outline, ...]
    fixed_sides: Texts
    fit: Literal["shop", "scribe"]
    uncertainty: Millimetres
    chiral: bool


class Placement(Record):
    """A point p of the piece lands at shift + p, or at shift + (length, width) - p after a half turn."""

    piece: str
    half_turn: bool
    shift: Point


class Arc(Record):
    """A circle's centre, in the source's tile frame, and its radius."""

    centre: Point
    radius: Millimetres


class Cut(Record):
    """One part becomes two: `into` names what lies left and right of the path, empty where nothing is left but dust.

    The path is an edge of `piece` and runs through the whole part, or is a `closed` ring; the kerf lies on `waste_side`
    of it, seen along the path, face up. `arc`: what a round notch follows; its path is a polyline just outside it.
    """

    n: int
    part: str
    into: tuple[str, str]
    piece: str
    saw: Literal["table_saw", "guided_saw", "jigsaw"]
    kerf: Millimetres
    path: Outline
    closed: bool
    waste_side: Literal["left", "right"]
    arc: Arc | None = None


class Wood(Record):
    """The stretch of a source's backer that a backer of a piece is made of; `span` is its v-interval there."""

    source: str
    backer: int
    span: Span


class Backer(Record):
    """`line` is the centre line; `from` is null for a bought one."""

    id: str
    piece: str
    from_: Wood | None = Field(alias="from")
    line: Outline
    width: Millimetres
    state: Literal["kept", "moved", "shaved", "cut", "added"]


class Fragment(Record):
    """A fragment of the walking face, of slat `slat` of the source."""

    piece: str
    slat: int
    outline: Outline
    state: Literal["kept", "shared"]


class Screw(Record):
    piece: str
    slat: int
    backer: str
    u: Millimetres
    v: Millimetres
    state: Literal["kept", "moved", "added"]


class PinHole(Record):
    piece: str
    backer: str
    u: Millimetres
    v: Millimetres
    state: Literal["kept", "moved", "drilled"]


class Sealed(Record):
    """A sawn end to seal: a straight line of end grain of a slat or a backer, and the board's thickness."""

    piece: str
    path: Outline
    thickness: Millimetres


class Offcut(Hardware):
    id: str
    outline: Outline
    keep: bool


class Source(Record):
    """A tile or racked offcut and all that is made of it. `from` is "new" or "stock:ID".

    `least_work`: no way of hanging its pieces takes less work, among those that were looked at.
    """

    id: str
    from_: str = Field(alias="from")
    uses: int
    outline: Outline
    placements: tuple[Placement, ...]
    cuts: tuple[Cut, ...]
    backers: tuple[Backer, ...]
    slats: tuple[Fragment, ...]
    screws: tuple[Screw, ...]
    screws_out: Texts
    pin_holes: tuple[PinHole, ...]
    sealed: tuple[Sealed, ...]
    offcuts: tuple[Offcut, ...]
    minutes: float
    least_work: bool = True


class AreaSupport(Record):
    """In the area's layout frame; `pins` are those that are used."""

    area: str
    at: Point
    shape: Literal["whole", "half", "quarter", "trimmed"]
    outline: Outline
    pins: tuple[Point, ...]


class Setup(Record):
    """A fence setting: the distance to set and the side of the tile that it is measured from."""

    fence: Millimetres
    datum: Literal["u0", "u1", "v0", "v1"]


class Step(Record):
    """One action at one station. `after` holds the numbers of the steps that must be done first.

    `sum` is a line to check against, such as "112 + 3.2 + 484.8 = 600"; `falls_off` says where the rest goes.
    """

    n: int
    source: str
    copy_: int = Field(alias="copy")
    pieces: Texts
    where: Literal["shop", "site"]
    station: Literal["bench", "table saw", "guided saw", "jigsaw", "drill", "brush"]
    face: Literal["up", "down"]
    do: Literal["mark", "unscrew", "cut", "re-hang", "screw", "drill", "seal", "label", "rack"]
    cut: int | None
    screws: Texts
    backer: str | None
    holes: tuple[Point, ...]
    after: tuple[int, ...]
    text: str
    setup: Setup | None
    sum: str
    falls_off: str
    minutes: float


class Grids(Record):
    considered: int
    dropped: int


class Proof(Record):
    """What is proven: the aim's value, a lower bound of the same model, whether they meet, and for what."""

    aim: Literal["tiles", "cost", "minutes"]
    value: float
    bound: float
    met: bool
    scope: Literal["this grid", "listed grids"]
    stopped: Literal["met", "limit", "interrupted"]
    grids: Grids


class Totals(Record):
    """For all copies of all areas. `one_for_one` counts tiles in all; the bound is on `cut`.

    `prices`: what the cost is made of, a "tile", an "hour" of one person and a bought "backer"; empty in older plans.
    `weight_per_m2`: kilograms of wood in a square metre of tiles, 0 in older plans.
    """

    tiles: int
    whole: int
    cut: int
    one_for_one: int
    lower_bound: int
    proven: bool
    pieces: int
    spare_backers: int
    setups: int
    setups_bound: int = 0
    screws_moved: int
    holes_drilled: int
    sealed_area: float
    minutes: float
    minutes_by_station: dict[str, float]
    cost: float
    prices: dict[str, float] = Field(default_factory=dict)
    currency: str
    offcut_area: float
    waste_area: float
    stone_area: float
    weight_per_m2: float = 0.0


class Purchase(Record):
    item: str
    count: float
    unit: str
    why: str


class Plan(Record):
    """A whole plan file."""

    format: Literal["cutopt-plan"] = "cutopt-plan"
    version: Literal[1] = 1
    job: JobLine
    rules: dict[str, Any]
    kerf: dict[str, float]
    strategy: Literal["one-for-one", "factory-edge", "anywhere"]
    tile: Tile
    stock: tuple[Stock, ...]
    areas: tuple[Area, ...]
    pieces: tuple[Piece, ...]
    sources: tuple[Source, ...]
    supports: tuple[AreaSupport, ...]
    steps: tuple[Step, ...]
    proof: Proof
    totals: Totals
    buy: tuple[Purchase, ...]
    warnings: Texts
