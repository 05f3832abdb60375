"""A few inputs to everything that reads a word or a file of the maker's; absurd sizes too."""

from __future__ import annotations

import os
import struct
import threading
import zlib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from soapstock.errors import BadInput
from soapstock.exchange.text_file import read_text_file
from soapstock.scan.picture import codes_in_picture
from tests.fuzz.inputs import inputs
from tests.fuzz.targets import TARGETS, play, seeds

QUICK = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))


@pytest.mark.parametrize("name", TARGETS)
def test_nothing_that_is_fed_in_crashes(name: str) -> None:
    """It is taken, or refused in one line."""

    @QUICK
    @given(data=inputs(name))
    def feed(data: bytes) -> None:
        play(name, data)

    feed()


@pytest.mark.parametrize("name", TARGETS)
def test_the_seeds_are_taken(name: str) -> None:
    """The fuzzers begin from inputs that are good, so that they reach beyond the first check."""
    assert {play(name, seed) for seed in seeds(name)} == {"taken"}


ABSURD = {
    "a long line": b"x" * 2_000_000,
    "a long cell": b'lot,copies\n"' + b"x" * 1_000_000 + b'",1\n',
    "many lines": b"1,2\n" * 100_000,
    "deep brackets": b"a = " + b"[" * 50_000 + b"]" * 50_000,
    "deep tables": b"[" + b".".join([b"a"] * 20_000) + b"]\n",
    "many keys": b"".join(b"k%d = 1\n" % n for n in range(20_000)),
    "a long number": b"a = 1" + b"0" * 100_000,
    "many dotted tables": b"".join(
        b"[a%d.%s]\n" % (n, b".".join([b"b"] * 300)) for n in range(200)
    ),
    "a great power": b'a = 1e999999999\n[x]\nb = "1e999999999 kg"\n',
    "nothing but zero bytes": b"\0" * 1_000_000,
    "nothing": b"",
}
LINES = [name for name in TARGETS if name not in ("claims",)]


@pytest.mark.parametrize("size", ABSURD)
@pytest.mark.parametrize("name", LINES)
def test_absurd_sizes_are_refused_or_read(name: str, size: str) -> None:
    """No crash, no recursion, no endless work."""
    play(name, ABSURD[size])


def png(width: int, height: int, data: bytes) -> bytes:
    """A grey PNG that says it is so large, whatever it holds."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        crc = zlib.crc32(kind + body)
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", crc)

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("width", "height"), [(60_001, 1000), (2**31 - 1, 2**31 - 1), (1, 2**31 - 1)]
)
def test_a_picture_that_claims_to_be_vast_is_refused(
    tmp_path: Path, width: int, height: int
) -> None:
    """By its head alone: nothing is unpacked."""
    path = tmp_path / "vast.png"
    path.write_bytes(png(width, height, zlib.compress(b"\0" * 1000)))
    with pytest.raises(BadInput):
        codes_in_picture(path)


def test_a_picture_that_unpacks_to_far_more_than_it_claims_is_no_crash(tmp_path: Path) -> None:
    """A megabyte that is a gigabyte unpacked."""
    path = tmp_path / "bomb.png"
    path.write_bytes(png(64, 64, zlib.compress(b"\0" * 100_000_000, 9)))
    assert play("picture", path.read_bytes()) == "refused"


def test_a_picture_with_vast_text_in_it_is_refused(tmp_path: Path) -> None:
    """A text chunk that unpacks to more than Pillow allows."""
    body = b"Comment\0\0" + zlib.compress(b"x" * 80_000_000, 9)
    chunk = struct.pack(">I", len(body)) + b"zTXt" + body
    chunk += struct.pack(">I", zlib.crc32(b"zTXt" + body))
    whole = png(8, 8, zlib.compress(b"\0" * 72))
    assert play("picture", whole[:33] + chunk + whole[33:]) == "refused"


def test_an_endless_file_is_read_no_further_than_its_limit() -> None:
    """A device never ends."""
    with pytest.raises(BadInput, match="is over 5 MB"):
        read_text_file(Path("/dev/zero"), "list")


def test_a_pipe_is_read_like_a_file(tmp_path: Path) -> None:
    """As a shell's process substitution gives it."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer = threading.Thread(target=pipe.write_text, args=("lot,copies\n",), daemon=True)
    writer.start()
    assert read_text_file(pipe, "list") == "lot,copies\n"
    writer.join(30)


def test_a_name_no_system_takes_is_refused() -> None:
    """A zero byte in a path."""
    with pytest.raises(BadInput, match="cannot be read"):
        read_text_file(Path("a\0b"), "list")


def test_commands_refuse_an_absurd_file_in_one_line(
    run: Any, demo_shop: Path, tmp_path: Path
) -> None:
    """Through the command line, as a maker meets it."""
    path = tmp_path / "absurd"
    path.write_bytes(b"\xff\xfe" + b"x" * 6_000_000)
    for words in (
        ("recipe", "add"),
        ("order", "import"),
        ("label-run",),
        ("check", "claims"),
        ("check", "net-weight", "--declared", "113g", "--lot-size", "9"),
        ("scan", "--picture"),
        ("restore",),
    ):
        told = run("--shop", demo_shop, "--today", "2026-11-20", *words, path)
        assert told.code not in (0, 1), (words, told.out, told.err)
        assert 1 <= len(told.err.strip().splitlines()) <= 2, told.err
