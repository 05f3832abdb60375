"""Inputs for a target: rubbish, words of its own language shuffled, and good examples spoilt."""

from __future__ import annotations

import re

from hypothesis import strategies as st

from tests.fuzz.targets import seeds

ODD = [
    "",
    "\0",
    "\ufeff",
    "²",
    "٣",
    "½",
    "1e999",
    "-0",
    "nan",
    "inf",
    "1_000",
    "9" * 40,
    "1" * 5000,
    "=1+1",
    '"',
    "'",
    "\\",
    "\r",
    "\n",
    "\n\n",
    "\t",
    ",",
    ";",
    "{",
    "}",
    "[",
    "]",
    "[[",
    "]]",
    "=",
    "#",
    "\u2028",
    "\x1c",
    "\ud7ff",
    "\U0010ffff",
    "../..",
    "0000-00-00",
    "9999-12-31",
    "true",
    "1979-05-27T07:32:00Z",
    "0x1F",
    "%Y",
    "%" * 50,
    "%s",
    "{0}",
    "\x1b[31m",
    "a" * 70_000,
]


def inputs(name: str) -> st.SearchStrategy[bytes]:
    """Bytes for a target."""
    good = seeds(name)
    if name == "picture":
        return st.one_of(st.binary(max_size=300), spoilt(good[0]))
    words = [word for seed in good for word in re.findall(rb"\w+|\W", seed)]
    known = [word.decode("utf-8", "replace") for word in dict.fromkeys(words)]
    shuffled = st.lists(st.one_of(st.sampled_from(known), st.sampled_from(ODD)), max_size=60)
    return st.one_of(
        st.binary(max_size=200),
        st.text(max_size=60).map(lambda text: text.encode("utf-8", "surrogatepass")),
        shuffled.map(lambda parts: "".join(parts).encode("utf-8", "surrogatepass")),
        st.sampled_from(good).flatmap(respelt),
        st.sampled_from(good).flatmap(spoilt),
    )


def spoilt(seed: bytes) -> st.SearchStrategy[bytes]:
    """A good example with a few stretches of bytes replaced."""
    place = st.integers(0, max(len(seed) - 1, 0))
    edit = st.tuples(place, st.integers(0, 6), st.binary(max_size=6))

    def put(edits: list[tuple[int, int, bytes]]) -> bytes:
        data = seed
        for at, gone, new in edits:
            data = data[:at] + new + data[at + gone :]
        return data

    return st.lists(edit, min_size=1, max_size=4).map(put)


def respelt(seed: bytes) -> st.SearchStrategy[bytes]:
    """A good example with a few of its words replaced by odd ones, or left out."""
    words = re.findall(rb"\w+|\W", seed)
    edit = st.tuples(st.integers(0, len(words) - 1), st.sampled_from(ODD))

    def put(edits: list[tuple[int, str]]) -> bytes:
        parts = list(words)
        for at, word in edits:
            parts[at] = word.encode("utf-8", "surrogatepass")
        return b"".join(parts)

    return st.lists(edit, min_size=1, max_size=4).map(put)
