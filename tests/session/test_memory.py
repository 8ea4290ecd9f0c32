"""Large arrays go back to the system when they are freed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

CODE = """
import numpy as np
from benchmarks.window_session import resident
from companion.session.memory import give_back
give_back()
begun = resident()
for turn in range(1, 30):
    large = [np.ones(300_000 * turn), np.ones(900_000)]
    small = [bytes(3000) for _ in range(300)]
    large.pop(0)
    keep = small[::50]
large = None
print(resident() - begun)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only the GNU C library keeps them")
def test_what_is_freed_is_given_back() -> None:
    said = subprocess.run(
        [sys.executable, "-c", CODE],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert float(said.stdout) < 5.0
