"""A maker's text files, read and written."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from soapstock.errors import BadInput, cannot_write
from soapstock.exchange.text_file import read_text_file, write_text_file


def test_what_was_written_is_read_back(tmp_path: Path) -> None:
    """Letters beyond ASCII too, and nothing else is left in the folder."""
    path = tmp_path / "record.txt"
    write_text_file(path, "113,4 g für später\n", ".txt", ".ics")
    assert read_text_file(path, "record") == "113,4 g für später\n"
    assert os.listdir(tmp_path) == ["record.txt"]


def test_line_ends_stay_as_they_are(tmp_path: Path) -> None:
    """A calendar's lines end in CR LF on every system (RFC 5545, section 3.1)."""
    write_text_file(tmp_path / "a.ics", "A\r\nB\r\n", ".txt", ".ics")
    assert (tmp_path / "a.ics").read_bytes() == b"A\r\nB\r\n"


def test_a_missing_folder_is_one_line(tmp_path: Path) -> None:
    """It says what cannot be written and how to mend it."""
    with pytest.raises(BadInput, match="cannot be written") as caught:
        write_text_file(tmp_path / "missing" / "record.txt", "two\n", ".txt", ".ics")
    assert caught.value.hint == "name a folder that exists"


def test_a_failed_write_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk is told as one, and nothing half-written stays behind."""
    path = tmp_path / "record.txt"
    write_text_file(path, "old\n", ".txt", ".ics")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(BadInput) as caught:
        write_text_file(path, "new\n", ".txt", ".ics")
    assert "free some space" in caught.value.hint
    assert path.read_text(encoding="utf-8") == "old\n"
    assert os.listdir(tmp_path) == ["record.txt"]


@pytest.mark.parametrize(
    ("number", "hint"),
    [(errno.EROFS, "may write to"), (errno.ENOENT, "exists"), (errno.ENOSPC, "space")],
)
def test_the_hint_fits_the_failure(number: int, hint: str) -> None:
    """Read-only, missing and full are mended in different ways."""
    assert hint in cannot_write("x.pdf", OSError(number, os.strerror(number))).hint
