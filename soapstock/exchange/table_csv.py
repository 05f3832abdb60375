"""A table as a CSV file of RFC 4180 (2005), cell for cell as given, and back.

Lines end in CRLF and the first one names the columns; text is UTF-8. Unlike the lists, nothing is
rounded or disarmed here: what is read is what was written.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from soapstock.errors import BadInput, cannot_write

_MOST_CELL = 1_000_000  # characters; a recipe or a judgement is far shorter


def write_table(path: Path, columns: Sequence[str], rows: Iterable[Mapping[str, str]]) -> int:
    """Write a new file and tell how many rows it has. Raises BadInput when it cannot be written."""
    count = 0
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(columns)
            for count, row in enumerate(rows, 1):  # noqa: B007 (the count is what is told)
                writer.writerow([row[name] for name in columns])
    except OSError as err:
        raise cannot_write(path, err) from err
    return count


def read_table(path: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """Each row with where it stands, such as `entry.csv:12`.

    Raises:
        BadInput: not a CSV file, or a line has more or fewer cells than the first.
    """
    usual = csv.field_size_limit(_MOST_CELL)  # of the whole process: it is put back
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.reader(file, strict=True)
            heads = next(reader, [])
            for cells in reader:
                where = f"{path.name}:{reader.line_num}"
                if len(cells) != len(heads):
                    raise BadInput(f"{where}: {len(cells)} cells under {len(heads)} columns")
                yield where, dict(zip(heads, cells, strict=True))
    except (OSError, ValueError, csv.Error) as err:
        said = err.strerror if isinstance(err, OSError) and err.strerror else str(err)
        raise BadInput(f"{path} cannot be read: {said}", hint="hand the ledger over anew") from None
    finally:
        csv.field_size_limit(usual)
