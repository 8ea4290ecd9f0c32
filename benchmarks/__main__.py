"""Run every bench: each module `bench_*.py` of this folder has a `main()` that prints a table."""

from __future__ import annotations

import importlib
import platform
import sys
from importlib.metadata import version
from pathlib import Path


def main() -> None:
    print(f"Python {platform.python_version()} on {platform.machine()}, {platform.system()}", end="")
    print("".join(f", {name} {version(name)}" for name in ("numpy", "music21", "pygame", "mido", "fsrs", "matplotlib")))
    wanted = sys.argv[1:]
    for file in sorted(Path(__file__).parent.glob("bench_*.py")):
        name = file.stem.removeprefix("bench_")
        if wanted and name not in wanted:
            continue
        print(f"\n== {name}", flush=True)
        sys.argv = [str(file)]
        importlib.import_module(f"benchmarks.{file.stem}").main()


if __name__ == "__main__":
    main()
