"""`python -m soapstock` and the `soapstock` command."""

from __future__ import annotations

# No other module is loaded until Ctrl-C is ours: it would break into the loading with a traceback.
import _signal  # type: ignore[import-not-found]


def main() -> None:
    """Run the command line."""
    # Until a command begins, and after it ended, Ctrl-C ends the program at once and silently.
    _signal.signal(_signal.SIGINT, _signal.SIG_DFL)
    import atexit
    import gc
    import logging
    import sys

    # Nearly all that a short command makes is code and tables that stay to its end. Looking for
    # dead cycles among them at the usual pace, and once more at the end, is a quarter of its time.
    gc.set_threshold(50_000, 20, 100)
    atexit.register(gc.freeze)
    logging.lastResort = None  # a library that is stopped would print a traceback of its own
    _open_streams()
    from soapstock.cli.frame.app import app, tell_unexpected

    try:
        _refuse_bytes()
        app(prog_name="soapstock")
    except OSError as err:  # such as a full disk under the output of --help
        sys.exit(int(tell_unexpected(err)))


def _open_streams() -> None:
    """See that there are three streams, and that no letter is missing in their encoding."""
    import contextlib
    import os
    import sys

    if sys.stdin is None:
        sys.stdin = open(os.devnull, encoding="utf-8")
    if sys.stdout is None:
        sys.stdout = open(os.devnull, "w", encoding="utf-8")
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError):  # one whose file was changed under it is left as it is
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]


def _refuse_bytes() -> None:
    """Refuse an argument that is no text: it could be neither stored nor printed."""
    import sys

    for place, word in enumerate(sys.argv[1:], start=1):
        if not word.isascii() and any("\ud800" <= c <= "\udfff" for c in word):
            sys.stderr.write(f"soapstock: argument {place} is not UTF-8 text\n")
            sys.exit(2)


if __name__ == "__main__":
    main()
