"""Run the benchmarks, and print one table of all: ``python -m benchmarks [NAME …] [--json FILE]``.

Each `bench_NAME.py` of this folder has a `main()` that measures and gives its rows; it may print more as it goes. Each
runs in a process of its own, one after the other. What is measured against what: README.md beside this file.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from benchmarks.table import Limit, Row, head, header, plain, table

HERE = Path(__file__).parent


def names() -> list[str]:
    """The benchmarks that there are."""
    return sorted(file.stem.removeprefix("bench_") for file in HERE.glob("bench_*.py"))


def measure(name: str, out: Path) -> None:
    """Run one in this process; its rows go to a file."""
    sys.argv = [name]
    rows = importlib.import_module(f"benchmarks.bench_{name}").main()
    out.write_text(json.dumps([plain(row) for row in rows]), encoding="utf-8")


def measured(name: str) -> list[Row]:
    """Run one in a process of its own; gives its rows, none where it fails."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "rows.json"
        # Nothing of it is drawn on a screen, and the player's own folders stay as they are.
        own = {f"BOX_COMPANION_{kind}": str(Path(folder) / kind.lower()) for kind in ("DATA", "CACHE", "CONFIG")}
        command = [sys.executable, "-m", "benchmarks", name, "--one", str(out)]
        environment = {"SDL_VIDEODRIVER": "dummy", "PYGAME_HIDE_SUPPORT_PROMPT": "1"} | os.environ | own
        done = subprocess.run(command, cwd=HERE.parent, env=environment, check=False)
        if done.returncode or not out.exists():
            return []
        return [_row(one) for one in json.loads(out.read_text(encoding="utf-8"))]


def _row(one: dict[str, Any]) -> Row:
    limit = Limit(**one["limit"]) if one["limit"] is not None else None
    kept = {key: one[key] for key in ("name", "unit", "ours", "reference", "theirs", "over")}
    return Row(**kept, limit=limit)


def main() -> int:
    """Run them. Gives 1 where a limit does not hold, or one gave nothing."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(names())}; all without one")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the table there too")
    parser.add_argument("--one", type=Path, help=argparse.SUPPRESS)
    given = parser.parse_args()
    unknown = [name for name in given.names if name not in names()]
    if unknown:
        parser.error(f"there is no benchmark {unknown[0]!r}; those there are: {', '.join(names())}")
    if given.one is not None:
        measure(given.names[0], given.one)
        return 0
    about, rows, silent = header(), [], []
    print(head(about), flush=True)
    for name in given.names or names():
        print(f"\n== {name}", flush=True)
        begun = time.monotonic()
        found = measured(name)
        rows += found
        silent += [] if found else [name]
        print(f"{table(found)}\n({time.monotonic() - begun:.0f} s)" if found else "nothing was measured", flush=True)
    print(f"\n{head(about)}\n\n{table(rows)}")
    if silent:
        print(f"nothing was measured of: {', '.join(silent)}")
    if given.json is not None:
        found_ = {"about": about, "rows": [plain(row) for row in rows], "silent": silent}
        given.json.write_text(json.dumps(found_, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return int(any(row.limit is not None and not row.limit.holds for row in rows) or bool(silent))


if __name__ == "__main__":
    sys.exit(main())
