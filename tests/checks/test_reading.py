"""Plan files as they come: with a byte order mark, as a pipe, a device or a folder, with control characters."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path

import pytest

from cutopt.checks import Finding, check
from cutopt.errors import BadInput
from cutopt.planfile import load
from tests.checks.small_plan import small


def test_a_byte_order_mark_is_no_text(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(small()), encoding="utf-8-sig")
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    assert check(load(path)) == ()


def refused(path: Path) -> str:
    start = time.monotonic()
    with pytest.raises(BadInput) as caught:
        load(path)
    assert time.monotonic() - start < 1
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_a_folder_is_no_plan(tmp_path: Path) -> None:
    said = refused(tmp_path)
    assert said.startswith(str(tmp_path))
    assert "a folder: is no file that can be read whole; give the plan.json" in said


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_that_nobody_writes_to_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    os.mkfifo(path)
    assert "a pipe: is no file" in refused(path)
    link = tmp_path / "link.json"
    link.symlink_to(path)
    assert "a pipe: is no file" in refused(link)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device here")
def test_a_device_that_never_ends_is_not_read() -> None:
    assert "a device: is no file" in refused(Path("/dev/zero"))
    assert "a device: is no file" in refused(Path("/dev/null"))


@pytest.mark.parametrize("name", ["missing.json", "na\x00me", "x" * 5000])
def test_what_cannot_be_opened_is_said_in_one_line(tmp_path: Path, name: str) -> None:
    assert "cannot be read" in refused(tmp_path / name)


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_bytes(b"\xff\xfe\x00{")
    assert "cannot be read" in refused(path)


@pytest.mark.parametrize("text", ["", "null", "[]", "{", "nan", "[" * 100_000, '{"format": 1e999}'])
def test_what_is_no_plan_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "plan.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput):
        load(path)


def test_control_characters_are_written_out(tmp_path: Path) -> None:
    """A name that would clear the screen, ring, go back over the line or turn it round."""
    values = small()
    values["areas"][0]["name"] = "A\x1b[2J\x07\r\n\u202eB\ud7ff"
    values["extra\x1b[31m"] = 1
    path = tmp_path / "plan\x1b.json"
    path.write_text(json.dumps(values), encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        load(path)
    assert str(caught.value).isprintable()
    assert "extra\\x1b[31m" in str(caught.value)
    del values["extra\x1b[31m"]
    path.write_text(json.dumps(values), encoding="utf-8")
    findings = [str(finding) for finding in check(load(path))]
    assert findings
    assert all(finding.isprintable() for finding in findings)
    assert any("A\\x1b[2J\\x07\\r\\n\\u202eB" in finding for finding in findings)


def test_letters_beyond_ascii_stay_as_they_are() -> None:
    finding = Finding(number=1, rule="frame", where="area Löß 東屋", text="is oblique")
    assert str(finding) == "1. area Löß 東屋: is oblique [frame]"
