"""A file the program writes: what it may replace, whole or not at all, for whose eyes."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from soapstock.errors import BadInput, cannot_write

LEDGER = b"SQLite format 3\0"


@contextmanager
def replacing(path: Path, *endings: str) -> Iterator[Path]:
    """A new, empty file beside `path`, which takes its place when the block ends without an error.

    Only a plain file with one of the endings is ever replaced, and never a database: a slip of the
    hand must not put a card where the ledger was. What is written may be read by whom the umask
    says, and by no others than may read the folder.

    Raises:
        BadInput: another ending, something else than a plain file there, or no writing.
    """
    where = path.resolve()  # through a link, to what would be written
    _check(path, where, endings)
    temporary = Path()
    try:
        handle, name = tempfile.mkstemp(
            dir=where.parent, prefix=".soapstock-", suffix=where.suffix.lower()
        )
        os.close(handle)
        temporary = Path(name)
        yield temporary
        temporary.chmod(0o666 & ~_umask() & where.parent.stat().st_mode)
        os.replace(temporary, where)
    except OSError as err:
        raise cannot_write(path, err) from err
    finally:
        if temporary.name:
            temporary.unlink(missing_ok=True)


def _check(path: Path, where: Path, endings: tuple[str, ...]) -> None:
    if path.suffix.lower() not in endings or where.suffix.lower() not in endings:
        wanted = " or ".join(endings)
        raise BadInput(f"{path} does not end in {wanted}", hint=f"name a file like out{endings[0]}")
    try:
        if where.exists() and not where.is_file():
            raise BadInput(f"{path} is not a plain file", hint="name another file")
        if where.is_file():
            with where.open("rb") as file:
                if file.read(len(LEDGER)) == LEDGER:
                    raise BadInput(f"{path} is a ledger", hint="name another file")
    except OSError as err:
        raise cannot_write(path, err) from err


def _umask() -> int:
    """The process's umask, which can only be read by setting it."""
    kept = os.umask(0o077)
    os.umask(kept)
    return kept
