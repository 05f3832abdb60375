"""The command line's frame: global options and the one place where errors are told.

The commands are listed in commands.py, which imports the file of the one that runs.
"""

from __future__ import annotations

import errno
import sys
import textwrap
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.exceptions import TyperException

from soapstock import __version__
from soapstock.cli.frame.commands import HEADINGS, LazyGroup
from soapstock.cli.frame.mends import help_of
from soapstock.cli.frame.output import workbook
from soapstock.cli.frame.session import ASKED, Session, local_today, parse_day
from soapstock.cli.frame.stopping import silence_output, stoppable, what_stands
from soapstock.errors import AlreadyEntered, BadInput, ExitCode, SoapstockError
from soapstock.outfile import check_writable
from soapstock.units import say_pounds_too

_HINTS = {
    errno.ENOSPC: "the disk is full: free some space",
    errno.EDQUOT: "your share of the disk is full: free some space",
    errno.EROFS: "that place is read-only; choose another",
    errno.EACCES: "you may not use that file or folder; mend its permissions, or choose another",
    errno.EIO: "the disk is failing: check it",
    errno.ENAMETOOLONG: "give a shorter name",
}

_FULL = (errno.ENOSPC, errno.EDQUOT)


class ErrorReporting(LazyGroup):
    """The group of all commands; an error becomes one clear line and its exit code."""

    def __init__(self, **attrs: Any) -> None:
        super().__init__(headings={h: names.split() for h, names in HEADINGS.items()}, **attrs)

    def invoke(self, ctx: Any) -> Any:
        """Run the command; whatever ends it becomes one line, what stands, and an exit code."""
        say_pounds_too(False)  # until a shop that wants them is open
        with stoppable():
            try:
                done = super().invoke(ctx)
                if workbook.path is not None and not workbook.written:
                    raise BadInput(
                        "this has no list to write as a workbook", hint="leave out --xlsx"
                    )
                sys.stdout.flush()
                return done
            except (typer.Exit, TyperException):
                raise
            except BrokenPipeError:
                silence_output()
                raise typer.Exit(int(ExitCode.DONE)) from None
            except BaseException as err:
                if "--debug" in sys.argv and not isinstance(err, typer.Abort):
                    raise
                raise typer.Exit(int(tell_end(ctx, err))) from None


def tell_end(ctx: Any, err: BaseException) -> ExitCode:
    """Say why a command ended, and which of its entries stand all the same."""
    ledgers = ctx.obj.ledgers if isinstance(ctx.obj, Session) else []
    if isinstance(err, AlreadyEntered):
        tell_again(err)
        return err.exit_code
    stands = what_stands(ledgers)
    code = ExitCode.BAD_INPUT
    if isinstance(err, SoapstockError):
        tell_error(err)
        code = err.exit_code
    elif isinstance(err, KeyboardInterrupt | typer.Abort):
        sys.stderr.write(f"\nsoapstock: stopped{'' if stands else '; no entry was made'}\n")
    elif isinstance(err, Exception):
        code = tell_unexpected(err, again=not stands)
    if stands:
        sys.stderr.write(f"  {stands}\n")
    return code


def tell_unexpected(err: Exception, *, again: bool = True) -> ExitCode:
    """Report an unexpected error; a file or disk that refuses is not a fault of the program.

    Args:
        err: what happened.
        again: nothing stands, so that it may be done again.
    """
    if isinstance(err, OSError):
        if not err.filename:
            silence_output()
        where = f"{err.filename}: " if err.filename else ""
        hint = _HINTS.get(err.errno or 0, "")
        if again and err.errno in _FULL:
            hint += ", then do it again"
        tell_error(BadInput(f"{where}{err.strerror or err}", hint=hint))
        return ExitCode.BAD_INPUT
    sys.stderr.write(f"soapstock: something unexpected: {type(err).__name__}: {err}\n")
    sys.stderr.write("  please report it with what you typed; --debug shows the traceback\n")
    return ExitCode.CRASH


def tell_error(err: SoapstockError) -> None:
    """Say an error in one line and its hint in another; lot codes in groups, wrapped at 80."""
    from soapstock.codes.lot import with_hyphens

    lines = [f"soapstock: {with_hyphens(err.message)}"]
    help_text = help_of(err)
    if help_text:
        lines.append(f"  {with_hyphens(help_text)}")
    wide = not sys.stderr.isatty()
    for line in lines:
        shown = line if wide else textwrap.fill(line, 79, subsequent_indent="  ")
        sys.stderr.write(shown + "\n")


def tell_again(err: AlreadyEntered) -> None:
    """Say that what was sent is on record already: an answer, not an error."""
    from soapstock.cli.frame.output import say
    from soapstock.codes.lot import with_hyphens

    said = with_hyphens(err.message)
    say(f"{said[:1].upper()}{said[1:]}.")
    help_text = help_of(err)
    say(f"{help_text[:1].upper()}{help_text[1:]}.")


def tell_version(asked: bool) -> None:
    """Print the version and stop, if asked."""
    if asked:
        sys.stdout.write(f"soapstock {__version__}\n")
        raise typer.Exit(0)


app = typer.Typer(
    cls=ErrorReporting,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    help="Batch ledger, cure tracking, stock and labels for farm-made bar soap.",
)


@app.callback()
def frame(
    ctx: typer.Context,
    shop: Annotated[
        Path | None,
        typer.Option("--shop", metavar="DIR", help="Shop folder; else SOAPSTOCK_SHOP, else here."),
    ] = None,
    today: Annotated[
        str | None, typer.Option("--today", metavar="DATE", help="Answer as of this day.")
    ] = None,
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who enters facts.")] = "",
    key: Annotated[
        str | None,
        typer.Option("--key", metavar="KEY", help="Names this entry: sent twice, it counts once."),
    ] = None,
    xlsx: Annotated[
        Path | None,
        typer.Option("--xlsx", metavar="FILE.xlsx", help="Write the list that follows there."),
    ] = None,
    debug: Annotated[bool, typer.Option("--debug", help="Show a traceback on errors.")] = False,
    version: Annotated[
        bool,
        typer.Option(
            "--version", is_eager=True, callback=tell_version, help="Print the version and stop."
        ),
    ] = False,
) -> None:
    """Set the shop, the day and the person for the command that follows."""
    day = parse_day(today, "--today") if today is not None else local_today()
    if key is not None and not key.strip():
        raise BadInput("--key is empty", hint="give each new fact its own key, or leave it out")
    if xlsx is not None:
        check_writable(xlsx, ".xlsx")
    workbook.path, workbook.written = xlsx, False
    ctx.obj = Session(
        shop=shop,
        today=day,
        by=by,
        debug=debug,
        key=key.strip() if key is not None else None,
    )
    ASKED.set(ctx.obj)
