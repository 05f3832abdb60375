"""One warm process that runs every `soapstock` command of a shell script, for the README's blocks.

    python -m tests.one_process SOCKET

Starting Python and importing the program costs more than most commands do. This process imports it
once and forks for each command that a client names, with the client's folder, environment, input
and output. `put_on_path` writes that client; a script then runs as written, in a real shell.
"""

from __future__ import annotations

import importlib
import json
import os
import pkgutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import soapstock

CLIENT = """#!{python} -ISE
import json, os, socket, sys
said = json.dumps([sys.argv[1:], os.getcwd(), dict(os.environ)]).encode()
with socket.socket(socket.AF_UNIX) as asked:
    asked.connect({address!r})
    socket.send_fds(asked, [len(said).to_bytes(8, "big")], [0, 1, 2])
    asked.sendall(said)
    sys.exit(asked.recv(1)[0])
"""


def serve(address: str) -> None:
    """Listen until killed; one command at a time, each in a process forked for it."""
    for module in pkgutil.walk_packages(soapstock.__path__, "soapstock."):
        if ".migrations" not in module.name:  # Alembic's own: run, not imported
            importlib.import_module(module.name)
    listening = socket.socket(socket.AF_UNIX)
    listening.bind(address)
    listening.listen()
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    while True:
        asked, _ = listening.accept()
        with asked:
            asked.sendall(bytes([_run(asked)]))


def _run(asked: socket.socket) -> int:
    """Run the command a client sends; its exit code."""
    size, streams, _, _ = socket.recv_fds(asked, 8, 3)
    with asked.makefile("rb") as sent:
        words, folder, environment = json.loads(sent.read(int.from_bytes(size, "big")))
    child = os.fork()
    if child:
        for stream in streams:
            os.close(stream)
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) & 0xFF
    for number, stream in enumerate(streams):
        os.dup2(stream, number)
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    sys.argv = ["soapstock", *words]
    from soapstock.__main__ import main

    main()  # ends the process
    raise AssertionError("a command ends by SystemExit")


@contextmanager
def put_on_path(tools: Path) -> Iterator[None]:
    """While this lasts, `tools/soapstock` runs commands in the one warm process."""
    tools.mkdir(exist_ok=True)
    address = str(tools / "socket")
    command = tools / "soapstock"
    command.write_text(CLIENT.format(python=sys.executable, address=address), encoding="utf-8")
    command.chmod(0o755)
    with subprocess.Popen(
        [sys.executable, "-m", "tests.one_process", address],
        cwd=Path(__file__).parents[1],
        stdout=subprocess.PIPE,
    ) as server:
        assert server.stdout is not None
        assert server.stdout.readline() == b"ready\n"
        try:
            yield
        finally:
            server.kill()


if __name__ == "__main__":
    serve(sys.argv[1])
