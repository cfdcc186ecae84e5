"""The data that come with cutopt: tiles, rules, schemas and pictures."""

from __future__ import annotations

from pathlib import Path

from cutopt.errors import OurFault


def shared_folder() -> Path:
    """The data folder: inside the installed package, or beside the package in a checkout.

    Raises `OurFault` where neither is there.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "shared", package.parent / "shared"):
        if (folder / "rules.toml").is_file():
            return folder
    raise OurFault("the data that come with cutopt are missing (shared/rules.toml); install it again")


def shared_text(name: str) -> str:
    """The text of a file in the data folder."""
    return (shared_folder() / name).read_text(encoding="utf-8")
