"""The job file → the job, or every mistake in it."""

from __future__ import annotations

import hashlib
import stat
import tomllib
from pathlib import Path
from typing import Any

from cutopt.errors import BadInput, Mistake
from cutopt.job.anatomy import read_tile
from cutopt.job.areas import Surroundings, read_areas
from cutopt.job.gaps import Gaps
from cutopt.job.laying import read_cutting, read_laying, read_money
from cutopt.job.ledger import Ledger
from cutopt.job.racked import read_rack
from cutopt.job.raw import CutTable, JobFile, JobTable, LayTable, MoneyTable, Reading
from cutopt.job.records import Job, Laying
from cutopt.job.shape import read_table, unknown_key
from cutopt.lengths import TICKS_PER_INCH, TICKS_PER_MM
from cutopt.rules import Rules, load_rules

MOST_BYTES = 10_000_000


def load_job(path: Path) -> Job:
    """Read a job file.

    Raises `BadInput` with every mistake that the file has: each names the file, the key, the value, the rule that it
    breaks and what to do.
    """
    data = _bytes(path)
    ledger = Ledger(str(path))
    job = read_tables(_toml(data, str(path)), path.stem, hashlib.sha256(data).hexdigest(), ledger)
    ledger.close()
    assert job is not None, "a job that cannot be read has a mistake"
    return job


def _bytes(path: Path) -> bytes:
    """The file's bytes, its size and kind checked before it is read."""
    allowed = "a job file is a TOML file of at most 10 MB"
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            what = "a folder" if stat.S_ISDIR(about.st_mode) else "not a plain file"
            raise _whole(path, what, allowed, "name the job file itself")
        if about.st_size > MOST_BYTES:
            raise _whole(path, f"{about.st_size / 1e6:.1f} MB", allowed, "name the job file that you wrote")
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        raise _whole(path, "", "there is no such file", "check its name and folder") from error
    except PermissionError as error:
        raise _whole(path, "", "may not be read: no permission", "change its permissions, or copy it") from error
    except (OSError, ValueError) as error:
        raise _whole(path, "", f"cannot be read: {error}", "name a job file that you may read") from error


def _toml(data: bytes, file: str) -> dict[str, Any]:
    """The file's tables. What TOML does not allow is one mistake, with its line."""
    remedy = "mend that line; a job file is TOML, as the README's example"
    try:
        return tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        rule = f"is not UTF-8 text, at byte {error.start}"
        raise BadInput([Mistake(file=file, key="", value="", rule=rule, remedy="save it as UTF-8 text")]) from error
    except RecursionError as error:
        rule = "is nested too deeply"
        raise BadInput([Mistake(file=file, key="", value="", rule=rule, remedy=remedy)]) from error
    except ValueError as error:  # a TOML mistake, or a whole number of thousands of digits
        raise BadInput([Mistake(file=file, key="", value="", rule=f"is not TOML: {error}", remedy=remedy)]) from error


def _whole(path: Path, value: str, rule: str, remedy: str) -> BadInput:
    return BadInput([Mistake(file=str(path), key="", value=value, rule=rule, remedy=remedy)])


def read_tables(data: dict[str, Any], stem: str, sha256: str, ledger: Ledger) -> Job | None:
    """All tables in turn; those that stand on a faulty one are checked as far as that goes."""
    _check_top(data, ledger)
    about, reading = _read_about(data.get("job", {}), ledger)
    mark = about.mark or (TICKS_PER_MM if about.show == "mm" else TICKS_PER_INCH // 16)
    rules = _read_rules(data.get("rules", {}), ledger, reading)
    cut = read_table(CutTable, data.get("cut", {}), "cut", ledger, reading)
    cutting = read_cutting(cut or CutTable(), rules, ledger)
    prices = read_table(MoneyTable, data["money"], "money", ledger, reading) if "money" in data else None
    if "money" in data and prices is None:
        prices = MoneyTable(tile=0, hour=0)  # the mistake is noted; this keeps the aim from being called unpriced
    money = read_money(prices, cutting, ledger)
    lay = read_table(LayTable, data.get("lay", {}), "lay", ledger, reading) or LayTable()
    tile = read_tile(data["tile"], rules, ledger, reading) if "tile" in data else None
    laying: Laying | None = read_laying(lay, tile, ledger) if tile else None
    pitch = laying.pitch if laying else (600 * TICKS_PER_MM, 600 * TICKS_PER_MM)
    gaps = Gaps(rules=rules, mark=mark, module=max(pitch))
    around = Surroundings(gaps=gaps, pitch=pitch, start=lay.start, reading=reading)
    areas = read_areas(data["area"], around, ledger) if "area" in data else ()
    if tile is None or laying is None:
        return None
    rack = read_rack(cut.rack if cut else None, tile, ledger)
    return Job(
        name=about.name or stem,
        show=about.show,
        mark=mark,
        sha256=sha256,
        tile=tile,
        laying=laying,
        cutting=cutting,
        rules=rules,
        money=money,
        areas=areas,
        rack=rack.offcuts,
        warnings=rack.warnings,
    )


def _check_top(data: dict[str, Any], ledger: Ledger) -> None:
    """The file's own keys: format and version, tables that it needs, and none that are unknown."""
    known = list(JobFile.model_fields)
    for key in data:
        if key not in known:
            unknown_key(key, known, key, data[key], ledger)
    for key, wanted in (("format", "cutopt-job"), ("version", 1)):
        found = data.get(key)
        if found != wanted or isinstance(found, bool | float):
            text = f'"{wanted}"' if isinstance(wanted, str) else str(wanted)
            rule = "is missing" if found is None else f"is {text} in a job file of this version"
            ledger.add(key, found, rule, f"write {key} = {text} at the top")
    if "tile" not in data:
        ledger.add("tile", None, "is missing", 'add [tile] with use = "hardwood-600", or the tile in full')
    if "area" not in data:
        ledger.add("area", None, "is missing", "add [[area]] with name and corners")


def _read_about(value: object, ledger: Ledger) -> tuple[JobTable, Reading]:
    """The [job] table, and the unit of bare numbers that it sets."""
    show = value.get("show") if isinstance(value, dict) else None
    reading = Reading(unit="in" if show == "in" else "mm")
    ledger.show = "in" if show == "in" else "mm"
    about = read_table(JobTable, value, "job", ledger, reading)
    return about or JobTable(), reading


def _read_rules(value: object, ledger: Ledger, reading: Reading) -> Rules:
    if not isinstance(value, dict):
        ledger.add("rules", value, "is a table", "write the rules under a [rules] heading")
        return load_rules()
    try:
        return load_rules(value, unit=reading.unit, file=ledger.file)
    except BadInput as error:
        ledger.take(error.mistakes)
        return load_rules()
