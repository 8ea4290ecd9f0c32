"""The table of benchmarks: ratios, spreads and limits as they are printed; a name that is none."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from benchmarks.table import Row, at_least, at_most, header, plain, share, spread, table

ROOT = Path(__file__).parents[2]


def row(limit: float | None = None) -> Row:
    ours = [1.0, 2.0, 3.0, 4.0, 100.0]
    found = at_most(limit, 3.0) if limit is not None else None
    return Row("a thing done", "ms", ours, "other 1.2", [30.0, 60.0, 90.0], "times", found)


def test_a_row_tells_middle_spread_ratio_and_limit() -> None:
    text = table([row(3.5), row(2.5), row()])
    assert text.count("a thing done, ms") == 3
    assert "≤ 3.5: holds" in text
    assert "≤ 2.5: DOES NOT HOLD" in text
    first = text.splitlines()[2].split()
    assert first[4:8] == ["3", "1.5–52", "60", "30–90"]
    assert "other 1.2" in text
    assert "1/20" in text


@pytest.mark.parametrize(("ratio", "said"), [(0.01, "1/100"), (0.5, "0.5"), (4.3712, "4.37"), (float("nan"), "–")])
def test_ratios_as_one_says_them(ratio: float, said: str) -> None:
    assert share(ratio) == said


def test_limits_from_both_sides() -> None:
    assert at_least(40, 50).holds
    assert not at_least(40, 30).holds
    assert not at_most(0.3, 0.31, "worst").holds
    assert spread([2.0]) == ""


def test_the_header_names_the_machine_and_its_libraries_and_json_keeps_every_value() -> None:
    about = header()
    assert about["processor"]
    assert about["libraries"]["numpy"]
    kept = plain(row(3.5))
    assert (kept["ours"], kept["median"], kept["reference_median"], kept["ratio"]) == (row().ours, 3.0, 60.0, 0.05)
    assert kept["limit"] == {"text": "≤ 3.5", "holds": True}


def test_a_name_that_is_none_is_told() -> None:
    command = [sys.executable, "-m", "benchmarks", "nonsense"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 2
    assert "'nonsense'; those there are: box, hearing" in done.stderr
