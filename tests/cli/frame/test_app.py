"""The frame of the command line: what the disk refuses is told in one line."""

import errno

import pytest

from soapstock.errors import ExitCode
from soapstock.views import stock


@pytest.mark.parametrize(
    ("number", "hint"),
    [(errno.ENOSPC, "the disk is full"), (errno.EROFS, "read-only"), (errno.EACCES, "permissions")],
)
def test_a_disk_that_refuses_is_told_in_one_line(run, demo_shop, monkeypatch, number, hint):
    """No crash, no traceback: the place, what it said, and what to do."""

    def refuse(*_):
        raise OSError(number, "refused", "/there/file")

    monkeypatch.setattr(stock, "stock", refuse)
    told = run("--shop", demo_shop, "stock")
    assert told.code == ExitCode.BAD_INPUT
    assert told.err.startswith("soapstock: /there/file: refused\n")
    assert hint in told.err


def test_what_nobody_foresaw_is_a_crash(run, demo_shop, monkeypatch):
    """Told as such, with how to see more."""

    def fail(*_):
        raise ZeroDivisionError("oops")

    monkeypatch.setattr(stock, "stock", fail)
    told = run("--shop", demo_shop, "stock")
    assert told.code == ExitCode.CRASH
    assert "--debug" in told.err
