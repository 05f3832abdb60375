"""A file the program writes: what it may replace, whole or not at all, for whose eyes.

What a killed command leaves behind bears a name that nobody else gives, and the next one that works
in the same folder sweeps it away.
"""

from __future__ import annotations

import errno
import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from soapstock.errors import BadInput, cannot_write

MARK = ".soapstock-unfinished-"  # how the name begins of all that is not to stay
LEFT_S = 24 * 3600.0  # what was not touched for so long is that of a killed command
LEDGER = b"SQLite format 3\0"
# How a file of a kind begins. Any other is text: it holds no zero byte.
BEGINS = {
    ".pdf": b"%PDF-",
    ".xlsx": b"PK\x03\x04",
    ".jpg": b"\xff\xd8\xff",
    ".png": b"\x89PNG\r\n\x1a\n",
    ".ics": b"BEGIN:VCALENDAR",
}


@contextmanager
def replacing(path: Path, *endings: str) -> Iterator[Path]:
    """A new, empty file beside `path`, which takes its place when the block ends without an error.

    Only a plain file of the same kind is ever replaced, and never a database: a slip of the hand
    must not put a card where the ledger was. What is written may be read by whom the umask says,
    and by no others than may read the folder or could read what it replaces.

    Raises:
        BadInput: another ending, something else than such a file there, or no writing.
    """
    where = path.resolve()  # through a link, to what would be written
    _check(path, where, endings)
    fresh = where.with_name(f"{MARK}{secrets.token_hex(8)}{where.suffix.lower()}")
    try:
        handle = os.open(fresh, os.O_CREAT | os.O_EXCL | os.O_WRONLY, _mode_of(where))
        os.close(handle)
        sweep(where.parent, since=fresh.stat().st_mtime)
        yield fresh
        os.replace(fresh, where)
    except OSError as err:
        raise cannot_write(path, err) from err
    finally:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)


def check_writable(path: Path, *endings: str) -> None:
    """Ask whether a file can be written before the fact that it tells of is entered.

    Raises:
        BadInput: as `replacing` would.
    """
    where = path.resolve()
    _check(path, where, endings)
    if not where.parent.is_dir():
        raise cannot_write(path, FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT)))
    if not os.access(where.parent, os.W_OK):
        raise cannot_write(path, PermissionError(errno.EACCES, os.strerror(errno.EACCES)))


@contextmanager
def work_folder(folder: Path | None = None) -> Iterator[Path]:
    """A folder to work in, for its owner alone and gone at the end; older ones are swept away.

    Args:
        folder: where it is made; else where the system keeps such things.
    """
    with tempfile.TemporaryDirectory(prefix=MARK, dir=folder) as work:
        made = Path(work)
        sweep(made.parent, since=made.stat().st_mtime)
        yield made


def sweep(folder: Path, *, since: float) -> None:
    """Remove what killed commands of this user left in a folder.

    Args:
        since: now (s, epoch) by the clock of that file system.
    """
    with suppress(OSError), os.scandir(folder) as found:
        for each in found:
            if not each.name.startswith(MARK):
                continue
            with suppress(OSError):
                seen = each.stat(follow_symlinks=False)
                if seen.st_uid != os.getuid() or since - seen.st_mtime < LEFT_S:
                    continue
                if each.is_dir(follow_symlinks=False):
                    shutil.rmtree(each.path, ignore_errors=True)
                else:
                    os.unlink(each.path)


def _mode_of(where: Path) -> int:
    """The mode of a new file there, before the umask."""
    mode = 0o666 & where.parent.stat().st_mode
    with suppress(FileNotFoundError):
        mode &= where.stat().st_mode
    return mode | 0o600


def _check(path: Path, where: Path, endings: tuple[str, ...]) -> None:
    if path.suffix.lower() not in endings or where.suffix.lower() not in endings:
        wanted = " or ".join(endings)
        raise BadInput(f"{path} does not end in {wanted}", hint=f"name a file like out{endings[0]}")
    try:
        if where.exists() and not where.is_file():
            raise BadInput(f"{path} is not a plain file", hint="name another file")
        if where.is_file():
            with where.open("rb") as file:
                _check_kind(path, where.suffix.lower(), file.read(4096))
    except OSError as err:
        raise cannot_write(path, err) from err


def _check_kind(path: Path, ending: str, first: bytes) -> None:
    """Refuse to replace a file that begins as no file of that ending does; an empty one goes."""
    if first.startswith(LEDGER):
        raise BadInput(f"{path} is a ledger", hint="name another file")
    begins = BEGINS.get(ending)
    if first and (not first.startswith(begins) if begins else b"\0" in first):
        raise BadInput(f"{path} is there and is no {ending} file: it stays", hint="name another")
