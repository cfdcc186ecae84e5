"""The [lay], [cut] and [money] tables → how the grid lies, how tiles are cut, what things cost."""

from __future__ import annotations

from cutopt.job.ledger import Ledger
from cutopt.job.raw import CutTable, GridTable, LayTable, MoneyTable
from cutopt.job.records import PHASES, Cutting, GridRule, Laying, Money, SawName
from cutopt.rules import Rules
from cutopt.tile import Point, Tile

JOINT_SLIP = 160  # ticks: a joint that is given may differ by 0.5 mm from the pins', so that 5/32 in passes for 4 mm

_SAWS: dict[str, SawName] = {"table saw": "table_saw", "guided saw": "guided_saw", "jigsaw": "jigsaw"}


def pin_joints(tile: Tile) -> Point:
    """The joints that the support's pins set, along and across: 2 x (pin offset - hole inset), ticks."""
    along, across = tile.hole_inset
    return 2 * (tile.support.pin_offset - along), 2 * (tile.support.pin_offset - across)


def read_laying(table: LayTable, tile: Tile, ledger: Ledger) -> Laying:
    """How the grid lies. Notes joints and pitches that the pins do not allow, and turns that the tile does not."""
    joints = pin_joints(tile)
    if table.joint is not None:
        _check_joint(table.joint, joints, ledger)
    pitch = _pitch(table, tile, ledger)
    if table.pattern != "straight":
        _check_turns(table, tile, pitch, ledger)
    if table.phase != "any" and table.phase >= PHASES[table.pattern]:
        _refuse_phase(table, ledger)
    return Laying(
        pattern=table.pattern,
        slats=table.slats,
        joint=joints[0] if table.joint is None else table.joint,
        pitch=pitch,
        measured_pitch=table.pitch is not None,
        grid=_grid(table.grid),
        phase=table.phase,
    )


def _grid(grid: GridRule | GridTable) -> GridRule | Point:
    return (grid.x, grid.y) if isinstance(grid, GridTable) else grid


def _check_joint(joint: int, joints: Point, ledger: Ledger) -> None:
    if max(abs(joint - one) for one in joints) <= JOINT_SLIP:
        return
    along, across = (ledger.length(one) for one in joints)
    sets = along if along == across else f"{along} along and {across} across"
    rule = f"agrees with the joint that the support's pins set, {sets}: 2 x (pin offset - hole inset)"
    ledger.add(
        "lay.joint", ledger.length(joint), rule, "correct tile.support or tile.pin_holes, or leave the joint out"
    )


def _pitch(table: LayTable, tile: Tile, ledger: Ledger) -> Point:
    """Along and across: measured, or the tile's size and the joint."""
    joints = pin_joints(tile) if table.joint is None else (table.joint, table.joint)
    nominal = (tile.length + joints[0], tile.width + joints[1])
    if table.pitch is None:
        return nominal
    if not isinstance(table.pitch, list) and nominal[0] != nominal[1]:
        rule = "is two lengths for a tile whose pitches along and across differ"
        ledger.add("lay.pitch", ledger.length(table.pitch), rule, "write [along the slats, across them]")
        return nominal
    pitch = (table.pitch[0], table.pitch[1]) if isinstance(table.pitch, list) else (table.pitch, table.pitch)
    # each of the two pins across a joint can stand off its hole's centre by half the play
    play = min(hole.diameter for hole in tile.pin_holes) - tile.support.pin
    if max(abs(one - other) for one, other in zip(pitch, nominal, strict=True)) > play:
        rule = f"is within the pins' play, {ledger.length(play)}, of {' x '.join(map(ledger.length, nominal))}"
        text = " x ".join(map(ledger.length, pitch))
        ledger.add("lay.pitch", text, rule, "measure over ten dry-laid tiles and divide by ten, or correct the tile")
    return pitch


def _check_turns(table: LayTable, tile: Tile, pitch: Point, ledger: Ledger) -> None:
    """Quarter-turned cells among others: the tile has to be square, and its holes have to meet the pins when turned."""
    remedy = 'write "straight", which lays all tiles one way'
    along, across = tile.hole_inset
    if tile.length != tile.width:
        size = f"{ledger.length(tile.length)} x {ledger.length(tile.width)}"
        rule = f"mixed turns need a square tile, and this one is {size}"
        ledger.add("lay.pattern", table.pattern, rule, remedy)
    elif along != across:
        insets = f"{ledger.length(along)} and {ledger.length(across)}"
        rule = f"mixed turns need pin holes at equal insets along and across, and these are {insets}"
        ledger.add("lay.pattern", table.pattern, rule, remedy)
    elif pitch[0] != pitch[1]:
        rule = "mixed turns need one pitch for both ways"
        ledger.add("lay.pitch", " x ".join(map(ledger.length, pitch)), rule, f"give one length, or {remedy}")


def _refuse_phase(table: LayTable, ledger: Ledger) -> None:
    """A phase beyond the cells after which the pattern begins anew."""
    numbers = " or ".join(map(str, range(PHASES[table.pattern])))
    ledger.add(
        "lay.phase", table.phase, f'is {numbers} with the pattern "{table.pattern}"', 'change it, or write "any"'
    )


def read_cutting(table: CutTable, rules: Rules, ledger: Ledger) -> Cutting:
    """The saws and the search. Notes saws named twice and kerfs that leave nothing of a strip."""
    for i, saw in enumerate(table.saws):
        if saw in table.saws[:i]:
            ledger.add(f"cut.saws[{i}]", saw, "each saw is named once", "leave it out")
    kerf: dict[SawName, int] = {name: getattr(table.kerf, name) for name in _SAWS.values()}
    strip = min(rules.thinnest_strip, rules.thinnest_across)
    for name, width in kerf.items():
        if width >= strip:
            rule = f"a kerf is narrower than the thinnest strip, {ledger.length(strip)}"
            ledger.add(f"cut.kerf.{name}", ledger.length(width), rule, "measure a test cut, or check the unit")
    return Cutting(
        strategy=table.strategy,
        saws=tuple(_SAWS[saw] for saw in table.saws),
        kerf=kerf,
        aim=table.aim,
        seconds=table.seconds,
        round_posts=table.round_posts,
    )


def read_money(table: MoneyTable | None, cutting: Cutting, ledger: Ledger) -> Money:
    """The prices; without a [money] table all are 0. Notes the aim "cost" without prices."""
    if table is not None:
        return Money(tile=table.tile, hour=table.hour, backer=table.backer, currency=table.currency)
    if cutting.aim == "cost":
        ledger.add("cut.aim", "cost", 'the aim "cost" needs prices', "add [money] with tile and hour")
    return Money(tile=0.0, hour=0.0, backer=0.0, currency="")
