"""`page` and `phone ...`: the phone's page is started; phones are paired, listed, dismissed."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from soapstock.cli.frame.output import emit, say, table
from soapstock.cli.frame.session import AsCsv, AsJson, local_today, session, shop_folder
from soapstock.errors import BadInput, Mend


def page(
    ctx: typer.Context,
    lan: Annotated[
        bool, typer.Option("--lan", help="Phones in the house's network reach it too.")
    ] = False,
    port: Annotated[int, typer.Option(help="Where it listens.")] = 8300,
    name: Annotated[
        str, typer.Option(metavar="HOST", help="A name phones know this machine by.")
    ] = "",
    certificate: Annotated[
        Path | None, typer.Option("--cert", metavar="FILE", help="Your certificate, PEM.")
    ] = None,
    private_key: Annotated[
        Path | None, typer.Option("--cert-key", metavar="FILE", help="Its private key, PEM.")
    ] = None,
) -> None:
    """It prints a code that pairs one phone for the person named, and stops with Ctrl-C.

    Without a certificate what is sent can be read by others in the network. A browser keeps pages
    for a barn without a network only when there is one; entries wait on the phone either way.
    """
    from soapstock.page.serve import Wish, serve

    folder, chosen = shop_folder(ctx), session(ctx)
    serve(
        Wish(
            folder=folder,
            person=_person(ctx),
            pinned=None if chosen.today == local_today() else chosen.today,
            lan=lan,
            port=port,
            name=name,
            certificate=certificate,
            private_key=private_key,
        ),
        _tell_address,
    )


def _person(ctx: typer.Context, named: str = "") -> str:
    """For whom a phone is paired: the person named, else who usually enters facts."""
    from soapstock.shop import load_shop

    person = named or session(ctx).by or load_shop(shop_folder(ctx)).by
    if not person.strip():
        raise BadInput("a phone is paired for a named person", mend=Mend("name_person"))
    return person


def _tell_address(address: str, link: str) -> None:
    say(f"Served at {address}")
    _tell_code(link)
    say("Ctrl-C stops it.")


def _tell_code(link: str) -> None:
    from soapstock.render.pdf.qr import text_qr

    for line in text_qr(link):
        typer.echo(line)
    typer.echo(f"Pair a phone within ten minutes: scan this, or open {link}")


def phone_pair(
    ctx: typer.Context,
    person: Annotated[str, typer.Argument(metavar="NAME", help="Who will use it.")] = "",
) -> None:
    """The page must be served; the phone opens its address and types the code."""
    from soapstock.desk.phones import new_code

    who = _person(ctx, person)
    code = new_code(shop_folder(ctx), who, datetime.now(UTC))
    say(f"Code for {who}: {code[:4]}-{code[4:]}")
    say("Open the page's address with /pair after it, and type this code within ten minutes.")


def phone_reader(ctx: typer.Context) -> None:
    """It opens stock, lots and today as JSON under /api, described in /api/openapi.json.

    Send it as `Authorization: Bearer TOKEN`. A token made before opens nothing from now on.
    """
    from soapstock.desk.phones import new_reader_token

    token = new_reader_token(shop_folder(ctx))
    say("This is shown once; it reads and enters nothing:")
    typer.echo(token)


def phone_list(ctx: typer.Context, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    from soapstock.desk.phones import phones

    found = phones(shop_folder(ctx))
    rows = [{"name": one.name, "person": one.person, "since": one.since} for one in found]
    if emit(rows, as_json=as_json, as_csv=as_csv):
        return
    shown = [list(row.values()) for row in rows]
    table("Paired phones", ["Phone", "Person", "Since"], shown, whole=["Since"], empty="none")


def phone_dismiss(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="PHONE", help="What it is called in the list.")],
) -> None:
    from soapstock.desk.phones import dismiss

    gone = dismiss(shop_folder(ctx), name)
    say(f"{gone.name} of {gone.person} is dismissed: it sees nothing any more.")
