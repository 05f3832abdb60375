"""The heads noted beside backups: an audit finds by them what was cut off the ledger's end.

Each backup and each restore appends a line to `heads.txt`: when, what, the newest entry's number
and its hash, and the backup's name. Whoever cuts entries off would have to mend this file as well.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from soapstock.errors import Problem, cannot_write

if TYPE_CHECKING:
    from soapstock.ledger.keep.backup import Backup
    from soapstock.ledger.read.reader import Reader

NOTES = "heads.txt"
_PARTS = 5


def note(folder: Path, what: Literal["backup", "restore"], done: Backup, now: datetime) -> None:
    """Note how far a backup goes in the folder it lies in. Raises BadInput."""
    when = now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    line = f"{when} {what} {done.entries} {done.head_hash or '-'} {done.path.name}\n"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with (folder / NOTES).open("a", encoding="utf-8") as file:
            file.write(line)
    except OSError as error:
        raise cannot_write(folder / NOTES, error) from error


def cut_off(reader: Reader, folder: Path) -> list[Problem]:
    """Findings where an entry noted in a folder is not in the ledger, or is another there."""
    return [
        Problem(
            where=f"entry {number}",
            message=f"stood in {name} of {when[:10]} and is not there now, or not the same",
            rule="noted",
            severity="error",
        )
        for number, (digest, when, name) in sorted(noted(folder).items())
        if reader.hash_of(number) != digest
    ]


def noted(folder: Path) -> dict[int, tuple[str, str, str]]:
    """Hash, time and backup of each head noted in a folder, by its number.

    After a restore to an earlier state, what was noted beyond it no longer counts.
    """
    found: dict[int, tuple[str, str, str]] = {}
    try:
        lines = (folder / NOTES).read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return found
    for line in lines:
        parts = line.split(maxsplit=_PARTS - 1)
        if len(parts) < _PARTS or not (parts[2].isascii() and parts[2].isdigit()):
            continue  # one that was cut off while it was written
        when, what, number, digest, name = parts
        if what == "restore":
            found = {n: kept for n, kept in found.items() if n < int(number)}
        if int(number):
            found[int(number)] = (digest, when, name)
    return found
