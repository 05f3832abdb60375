"""One way to stop a command, and what is said then: whether an entry stands is looked up."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from soapstock.ledger.store import Ledger


@contextmanager
def stoppable() -> Iterator[None]:
    """Let Ctrl-C stop what is inside once, so that the rest can look and tell undisturbed.

    Outside of it, in a process of our own, the signal ends the program at once and silently:
    before it nothing was begun, and after it all is told.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, _stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN if before is signal.SIG_DFL else before)


def _stop(signum: int, frame: Any) -> None:
    del frame
    signal.signal(signum, signal.SIG_IGN)
    raise KeyboardInterrupt


def what_stands(ledgers: list[Ledger]) -> str:
    """What became of the entries a command made: which stand, or that it cannot be told; or ""."""
    sent = [(ledger.url, *one) for ledger in ledgers for one in ledger.sent]
    if not sent:
        return ""
    try:
        numbers = [number for url, number, digest in sent if _stands(url, number, digest)]
    except Exception:
        return f"look whether entry {sent[-1][1]} stands before you do it again: soapstock entries"
    if not numbers:
        return ""
    named = f"entry {numbers[-1]} stands"
    if len(numbers) > 1:
        named = f"entries {', '.join(map(str, numbers))} stand"
    return f"{named}: do not enter that again"


def _stands(url: str, number: int, digest: str) -> bool:
    from soapstock.ledger.store import open_ledger

    with open_ledger(url) as ledger, ledger.read() as reader:
        return reader.hash_of(number) == digest


def silence_output() -> None:
    """Send what is left of the output nowhere, so that it does not fail once more at the end."""
    with contextlib.suppress(Exception):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
