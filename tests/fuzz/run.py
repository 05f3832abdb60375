"""Many inputs to every target, by its own command; not part of the tests.

    python -m tests.fuzz.run --times 2000 [TARGET...]     hypothesis, so many inputs a target
    python -m tests.fuzz.run --atheris 60 [TARGET...]     atheris, so many seconds a target

atheris is guided by what code an input reaches, so it is the better one for parsers. It is no
dependency: install it where you run it (python -m pip install atheris).
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path


def with_hypothesis(name: str, times: int) -> Counter[str]:
    """Play so many inputs; how many were taken and refused. Raises what a target raises."""
    from hypothesis import HealthCheck, given, settings

    from tests.fuzz.inputs import inputs
    from tests.fuzz.targets import play

    tally: Counter[str] = Counter()

    @settings(
        max_examples=times, deadline=None, database=None, suppress_health_check=list(HealthCheck)
    )
    @given(data=inputs(name))
    def feed(data: bytes) -> None:
        tally[play(name, data)] += 1

    feed()
    return tally


def with_atheris(name: str, seconds: int) -> None:
    """Play inputs for so long, in this process, which atheris ends itself."""
    import atheris

    with atheris.instrument_imports(include=["soapstock"]):
        from tests.fuzz.targets import play, seeds

    folder = Path(tempfile.mkdtemp(prefix=f"soapstock-atheris-{name}-"))
    for number, seed in enumerate(seeds(name)):
        (folder / f"seed-{number}").write_bytes(seed)
    words = [
        sys.argv[0],
        str(folder),
        f"-max_total_time={seconds}",
        "-max_len=8192",
        f"-artifact_prefix={folder}/found-",
        "-print_final_stats=1",
    ]
    atheris.Setup(words, lambda data: play(name, data))
    atheris.Fuzz()


def each_with_atheris(names: Sequence[str], seconds: int) -> bool:
    """One process a target; whether all went well."""
    well = True
    for name in names:
        command = [sys.executable, "-m", "tests.fuzz.run", "--atheris", str(seconds), "--one", name]
        done = subprocess.run(
            command, capture_output=True, text=True, check=False, timeout=2 * seconds + 300
        )
        stats = [x for x in done.stderr.splitlines() if "number_of_executed_units" in x]
        number = stats[-1].split()[-1] if stats else "?"
        sys.stdout.write(f"{name}: {number} inputs in {seconds} s, exit {done.returncode}\n")
        sys.stdout.flush()
        if done.returncode:
            well = False
            sys.stdout.write(done.stderr[-3000:] + "\n")
    return well


def main(words: Sequence[str] | None = None) -> int:
    """Run and print a line a target."""
    from tests.fuzz.targets import TARGETS

    parser = argparse.ArgumentParser(description="Feed everything that reads a maker's words.")
    parser.add_argument("targets", nargs="*", default=[], metavar="TARGET")
    parser.add_argument("--times", type=int, default=2000)
    parser.add_argument("--atheris", type=int, metavar="SECONDS")
    given = parser.parse_args(words)
    names = given.targets or list(TARGETS)
    if given.atheris:
        return 0 if each_with_atheris(names, given.atheris) else 1
    for name in names:
        begun = time.perf_counter()
        tally = with_hypothesis(name, given.times)
        seconds = time.perf_counter() - begun
        sys.stdout.write(f"{name}: {tally.total()} inputs in {seconds:.0f} s, {dict(tally)}\n")
        sys.stdout.flush()
    return 0


if __name__ == "__main__":
    if "--one" in sys.argv:
        with_atheris(
            sys.argv[sys.argv.index("--one") + 1], int(sys.argv[sys.argv.index("--atheris") + 1])
        )
    sys.exit(main())
