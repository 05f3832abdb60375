"""Start a throwaway PostgreSQL, run a command with SOAPSTOCK_TEST_PG naming it, and stop it.

    python tests/ledger/throwaway_postgres.py pytest tests/ledger

The server's programs come from PATH or /usr/lib/postgresql (Debian: apt-get install postgresql).
The cluster lives in a temporary folder on a free port, reachable from this machine only. The server
refuses to run as root, so as root it runs as the user `postgres`.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def find_programs() -> Path | None:
    """The folder of initdb and pg_ctl, newest version first, or None."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: float(p.parts[-3])
    )
    return found[-1].parent if found else None


def _run(*command: str | Path) -> None:
    as_user = "postgres" if os.geteuid() == 0 else None
    done = subprocess.run(
        [str(part) for part in command],
        user=as_user,
        group=as_user,
        extra_groups=[] if as_user else None,
        cwd="/",
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    if done.returncode:
        raise SystemExit(f"{command[0]} failed:\n{done.stdout}{done.stderr}")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def server() -> Iterator[str]:
    """A running server; gives the URL of its `postgres` database."""
    programs = find_programs()
    if programs is None:
        raise SystemExit("no PostgreSQL here; install it (Debian: apt-get install postgresql)")
    folder = Path(tempfile.mkdtemp(prefix="soapstock-pg-"))
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres", "postgres")
    data, port = folder / "data", _free_port()
    try:
        _run(
            programs / "initdb",
            "-D",
            data,
            "-U",
            "soapstock",
            "-A",
            "trust",
            "-E",
            "UTF8",
            "--no-locale",
            "-N",
        )
        options = (
            f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off "
            "-c max_connections=60 -c autovacuum=off"
        )
        _run(programs / "pg_ctl", "-D", data, "-l", folder / "log", "-w", "-o", options, "start")
        try:
            yield f"postgresql://soapstock@127.0.0.1:{port}/postgres"
        finally:
            _run(programs / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def main() -> int:
    """Run the command given, with the server up."""
    if len(sys.argv) < 2:
        raise SystemExit(__doc__)
    with server() as url:
        return subprocess.run(
            sys.argv[1:], env={**os.environ, "SOAPSTOCK_TEST_PG": url}, check=False
        ).returncode


if __name__ == "__main__":
    sys.exit(main())
