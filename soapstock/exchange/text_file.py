"""Text files of a maker: read no further than a limit, written whole or not at all.

What fails is told in one clear line.
"""

from __future__ import annotations

from pathlib import Path
from typing import TextIO

from soapstock.errors import BadInput, NotFound
from soapstock.outfile import replacing

MEGABYTE = 1_000_000


def read_text_file(path: Path, what: str, *, most_bytes: int = 5 * MEGABYTE) -> str:
    """The text of a file, without a byte-order mark.

    At most one byte over the limit is read, so that a pipe or a device cannot fill the memory.

    Args:
        path: the file.
        what: what it should be, for messages.
        most_bytes: a longer file is refused.

    Raises:
        NotFound: no such file.
        BadInput: too long, not UTF-8, or not to be read.
    """
    try:
        with path.open("rb") as file:
            data = file.read(most_bytes + 1)
        if len(data) > most_bytes:
            raise BadInput(
                f"{path}: {what} is over {most_bytes / MEGABYTE:g} MB",
                hint="is it the right file?",
            )
        return data.decode("utf-8-sig")
    except FileNotFoundError:
        raise NotFound(f"no {what} at {path}", hint="check the path") from None
    except UnicodeDecodeError as err:
        raise BadInput(
            f"{path}: {what} is not UTF-8 text (byte {err.start + 1})",
            hint="save it as text or CSV in UTF-8",
        ) from None
    except (OSError, ValueError) as err:
        said = err.strerror if isinstance(err, OSError) and err.strerror else str(err)
        raise BadInput(f"{path}: {what} cannot be read: {said}", hint="check the path") from None


def read_text_stream(stream: TextIO, what: str, *, most: int = 5 * MEGABYTE) -> str:
    """What is typed or piped in, read no further than one character over the limit.

    Raises:
        BadInput: too long, or not UTF-8.
    """
    try:
        text = stream.read(most + 1)
    except UnicodeDecodeError as err:
        raise BadInput(f"{what} is not UTF-8 text (byte {err.start + 1})") from None
    if len(text) > most:
        raise BadInput(f"{what} is over {most} characters", hint="send less at a time")
    return text


def write_text_file(path: Path, text: str, *endings: str) -> None:
    """Write a file whole or not at all, its line ends untouched.

    Args:
        endings: what the file's name may end in, such as `.csv`; only such a file is replaced.

    Raises:
        BadInput: the file may not be replaced or written; see `outfile.replacing`.
    """
    with replacing(path, *endings) as temporary:
        temporary.write_text(text, encoding="utf-8", newline="")
