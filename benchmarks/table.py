"""One line a measurement: ours, the reference's in the same run, their ratio, and the limit where there is one."""

from __future__ import annotations

import os
import platform
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from statistics import median, quantiles
from typing import Any

LIBRARIES = ("numpy", "scipy", "pygame", "mido", "python-rtmidi", "music21", "mir_eval", "parangonar", "pyfluidsynth",
             "python-stretch", "fsrs", "matplotlib")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Limit:
    """What is aimed at, in words, and whether it holds."""

    text: str
    holds: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One measurement.

    `ours` and `theirs` hold a value for each repeat (or for each tune, take, picture: `over` says for each of what), in
    `unit`. `reference` names whose `theirs` are, with its version; they are from the same run.
    """

    name: str
    unit: str
    ours: Sequence[float]
    reference: str
    theirs: Sequence[float]
    over: str
    limit: Limit | None = None

    @property
    def ratio(self) -> float:
        """Ours as a share of the reference's, middle by middle."""
        other = median(self.theirs)
        return median(self.ours) / other if other else float("nan")


def at_most(most: float, value: float, what: str = "") -> Limit:
    """A limit that a value may not exceed."""
    return Limit(f"{what + ' ' if what else ''}≤ {most:g}", bool(value <= most))


def at_least(least: float, value: float, what: str = "") -> Limit:
    """A limit that a value has to reach."""
    return Limit(f"{what + ' ' if what else ''}≥ {least:g}", bool(value >= least))


def timed(work: Callable[[], object], times: int = 5, clock: Callable[[], float] = time.process_time) -> list[float]:
    """How many seconds something takes, each of some times: the processor's, to which other work adds nothing."""
    found = []
    for _ in range(times):
        begun = clock()
        work()
        found.append(clock() - begun)
    return found


def named(library: str) -> str:
    """A library with its version."""
    try:
        return f"{library} {version(library)}"
    except PackageNotFoundError:
        return f"{library} (not installed)"


def header() -> dict[str, Any]:
    """The machine and what runs on it."""
    libraries = {}
    for library in LIBRARIES:
        try:
            libraries[library] = version(library)
        except PackageNotFoundError:
            continue
    return {
        "processor": _processor(),
        "cores": os.cpu_count(),
        "memory_gb": _memory(),
        "system": f"{platform.system()} {platform.release()} ({platform.machine()})",
        "python": f"{platform.python_implementation()} {platform.python_version()}",
        "libraries": libraries,
        "began": time.strftime("%Y-%m-%d %H:%M %Z"),
        "load": round(os.getloadavg()[0], 2) if hasattr(os, "getloadavg") else None,
    }


def head(found: dict[str, Any]) -> str:
    """The header in words."""
    libraries = ", ".join(f"{name} {number}" for name, number in found["libraries"].items())
    return (
        f"{found['processor']}, {found['cores']} cores, {found['memory_gb']} GB; {found['system']}; {found['python']}\n"
        f"{libraries}\nbegan {found['began']}, load {found['load']}"
    )


def _processor() -> str:
    info = Path("/proc/cpuinfo")
    if info.exists():
        for line in info.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or platform.machine()


def _memory() -> float | None:
    if not hasattr(os, "sysconf"):
        return None
    return round(os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / 2**30, 1)


def number(value: float) -> str:
    """A figure with three places that say something."""
    if value == 0 or abs(value) >= 100:
        return f"{value:,.0f}"
    return f"{value:.3g}" if abs(value) >= 0.001 else f"{value:.1e}"


def spread(values: Sequence[float]) -> str:
    """The quartiles; of fewer than four the least and the most."""
    if len(values) < 2:
        return ""
    low, high = (min(values), max(values)) if len(values) < 4 else quantiles(values, n=4)[::2]
    return f"{number(low)}–{number(high)}"


def share(ratio: float) -> str:
    """A ratio as one says it: 1/52 rather than 0.019."""
    if ratio != ratio:
        return "–"
    return f"1/{1 / ratio:,.0f}" if 0 < ratio < 0.1 else number(ratio)


def cells(row: Row) -> tuple[str, ...]:
    """A row as it is printed."""
    held = "" if row.limit is None else f"{row.limit.text}: {'holds' if row.limit.holds else 'DOES NOT HOLD'}"
    what = f"{row.name}, {row.unit}" if row.unit else row.name
    return (
        what, number(median(row.ours)), spread(row.ours), number(median(row.theirs)), spread(row.theirs),
        row.reference, share(row.ratio), f"{len(row.ours)} {row.over}", held,
    )  # fmt: skip


TITLES = ("what", "ours", "quartiles", "reference", "quartiles", "whose", "ours/ref.", "over", "limit")


def table(rows: Sequence[Row]) -> str:
    """The rows as one table; with less than four values least and most stand for the quartiles."""
    lines = [TITLES, *map(cells, rows)]
    wide = [max(len(line[column]) for line in lines) for column in range(len(TITLES))]
    text = []
    for number_, line in enumerate(lines):
        text.append("  ".join(cell.ljust(width) for cell, width in zip(line, wide, strict=True)).rstrip())
        if number_ == 0:
            text.append("-" * len(text[0]))
    return "\n".join(text)


def plain(row: Row) -> dict[str, Any]:
    """A row for JSON."""
    return asdict(row) | {
        "ours": list(row.ours), "theirs": list(row.theirs), "median": median(row.ours),
        "reference_median": median(row.theirs), "ratio": row.ratio if row.ratio == row.ratio else None,
    }  # fmt: skip
