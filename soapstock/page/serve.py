"""Starting the page: which names it answers to, with or without a certificate."""

from __future__ import annotations

import socket
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from soapstock.desk import phones
from soapstock.errors import BadInput

PORT = 8300
HERE = frozenset({"localhost", "127.0.0.1", "::1"})
_NOWHERE = ("192.0.2.1", 9)  # kept for documentation (RFC 5737): nothing is sent there


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """How the page is to be served.

    Attributes:
        lan: phones in the house's network reach it; else only this machine does.
        name: a further name it is asked for by, such as `soap.lan`; may be empty.
        certificate, private_key: files of a certificate of the shop's own, or None.
    """

    folder: Path
    person: str
    pinned: date | None = None
    lan: bool = False
    port: int = PORT
    name: str = ""
    certificate: Path | None = None
    private_key: Path | None = None


def serve(wish: Wish, tell: Callable[[str, str], None]) -> None:
    """Serve the shop until it is stopped.

    Args:
        tell: told the address, and the link that pairs a phone, once it is served.

    Raises:
        BadInput: the extra is not installed, the port is taken, a certificate cannot be used.
    """
    try:
        import uvicorn

        from soapstock.page.app import make_app
        from soapstock.page.site import Site
    except ImportError:
        raise BadInput(
            "the page needs its extra", hint="install it with: pip install 'soapstock[page]'"
        ) from None
    if (wish.certificate is None) != (wish.private_key is None):
        raise BadInput("a certificate needs its private key", hint="give both files, or neither")
    _check_certificate(wish)
    https = wish.certificate is not None
    here = own_address() if wish.lan else "127.0.0.1"
    shown = wish.name or here
    address = f"http{'s' if https else ''}://{shown}:{wish.port}"
    hosts = HERE | {here} | ({wish.name.lower()} if wish.name else set())
    site = Site(
        folder=wish.folder,
        hosts=frozenset(hosts),
        pinned=wish.pinned,
        https=https,
        address=address,
    )
    on = "0.0.0.0" if wish.lan else "127.0.0.1"  # noqa: S104 (asked for)
    with _listen(on, wish.port) as listening:
        code = phones.new_code(wish.folder, wish.person, datetime.now(UTC))
        tell(address, f"{address}/pair?code={code}")
        config = uvicorn.Config(
            make_app(site),
            log_level="error",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            ssl_certfile=wish.certificate,
            ssl_keyfile=wish.private_key,
            h11_max_incomplete_event_size=16_384,
            limit_concurrency=64,
            timeout_keep_alive=10,
            timeout_graceful_shutdown=5,
        )
        uvicorn.Server(config).run(sockets=[listening])


def own_address() -> str:
    """This machine's address in its network.

    Raises:
        BadInput: it is in none.
    """
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
            asking.connect(_NOWHERE)
            return str(asking.getsockname()[0])
    except OSError:
        raise BadInput(
            "this machine is in no network", hint="connect it, then do it again"
        ) from None


def _check_certificate(wish: Wish) -> None:
    if wish.certificate is None or wish.private_key is None:
        return
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(
            wish.certificate, wish.private_key, password=lambda: ""
        )
    except (OSError, ssl.SSLError) as err:
        raise BadInput(
            f"{wish.certificate} and {wish.private_key} are no certificate and its key: "
            f"{getattr(err, 'reason', None) or err.strerror or type(err).__name__}",
            hint="give PEM files; the key without a password",
        ) from None


def _listen(host: str, port: int) -> socket.socket:
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((host, port))
    except (OSError, OverflowError) as err:
        found.close()
        raise BadInput(
            f"port {port} cannot be used: {getattr(err, 'strerror', None) or err}",
            hint="it may be served already; else choose another port",
        ) from None
    return found
