"""The words of a saved shop page, tags and scripts taken out, on the lines they stand on."""

from __future__ import annotations

import html
import re

# What is never closed is hidden to the end, as a browser has it.
_HIDDEN = re.compile(r"<(script|style|template)\b.*?(?:</\1\s*>|\Z)|<!--.*?(?:-->|\Z)", re.I | re.S)
_TAG = re.compile(r"</?([a-z][a-z0-9]*)\b[^<>]*>", re.I | re.S)
_INLINE = {"a", "abbr", "b", "em", "i", "mark", "s", "small", "span", "strong", "sub", "sup", "u"}
_CLAUSE_END = " \u2022 "  # a bullet: the claim check ends a clause there
_WORDS_IN_TAG = re.compile(
    r"""\b(?:alt|title|content|placeholder|aria-label)\s*=\s*("[^"]*"|'[^']*')""", re.I
)


def looks_like_html(text: str) -> bool:
    """Whether a text is a page: it holds a tag such as <p> or <html>."""
    return re.search(r"<(!doctype|html|body|head|p|div|h[1-6]|ul|li|br)\b", text, re.I) is not None


def page_words(text: str) -> str:
    """The words a reader of a page sees, with the page's own line breaks.

    Words in alt, title and description attributes are kept: shops and search engines show them.
    """
    return html.unescape(_TAG.sub(_spoken, _HIDDEN.sub(_lines_only, text)))


def _lines_only(match: re.Match[str]) -> str:
    return "\n" * match[0].count("\n")


def _spoken(match: re.Match[str]) -> str:
    words = [found[1:-1] for found in _WORDS_IN_TAG.findall(match[0])]
    said = _CLAUSE_END.join(["", *(" ".join(one.split()) for one in words), ""]) if words else ""
    gap = "" if match[1].lower() in _INLINE and not words else _CLAUSE_END
    return gap + said + _lines_only(match)
