"""What views said, kept until the shop changes: several phones ask the same again and again."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from contextlib import AbstractContextManager
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from pathlib import Path

    from soapstock.desk.desk import Desk

MOST = 64
T = TypeVar("T")


class Memory:
    """The last answers, each with the state of the shop that it was made from."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._asking: dict[str, Lock] = {}
        self._kept: OrderedDict[str, tuple[Any, Any]] = OrderedDict()

    def ask(self, name: str, view: Callable[[Desk], T], opened: AbstractContextManager[Desk]) -> T:
        """What a view says of the shop as it is now.

        It is asked anew when an entry was made, a file of settings changed, or the day did; two
        that ask the same at once wait for one answer.

        Args:
            name: of the question; what else it depends on stands in it.
            opened: the shop, to be opened for the question.
        """
        with self._lock:
            asking = self._asking.setdefault(name, Lock())
        with asking, opened as desk, desk.reading() as (here, reader):
            state = (reader.head(), here.today, _settings(here.shop.folder))
            with self._lock:
                found = self._kept.get(name)
            if found is None or found[0] != state:
                found = (state, view(here))
            with self._lock:
                self._kept[name] = found
                self._kept.move_to_end(name)
                while len(self._kept) > MOST:
                    old, _ = self._kept.popitem(last=False)
                    self._asking.pop(old, None)
        answer: T = found[1]
        return answer


def _settings(folder: Path) -> tuple[tuple[str, int], ...]:
    """When the shop's own files were last changed."""
    files = (*folder.glob("*.toml"), *folder.glob("*.csv"))
    return tuple(sorted((file.name, file.stat().st_mtime_ns) for file in files))
