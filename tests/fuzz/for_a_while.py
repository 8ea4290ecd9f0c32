"""Fuzzes the readers for so many seconds, on a copy of the saved corpus: `python tests/fuzz/for_a_while.py 120`.

With a seed of 0 behind it, it tries what it has never tried: `python tests/fuzz/for_a_while.py 3600 0`.

With atheris where it is installed, three quarters of the time on ABC and a quarter on MIDI files; else with hypothesis.
"""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
EXAMPLES = 500  # of hypothesis, between two looks at the clock


def main(seconds: int, seed: int = 1) -> int:
    """Gives 0 where nothing but the program's own error came out. The same `seed` tries the same bytes (0: others)."""
    if importlib.util.find_spec("atheris") is None:
        return _with_hypothesis(seconds)
    with tempfile.TemporaryDirectory() as folder:
        corpus = Path(folder, "corpus")
        shutil.copytree(HERE / "corpus", corpus)
        for target, share in (("abc", 0.75), ("midi", 0.25)):
            limits = [f"-max_total_time={round(seconds * share)}", "-timeout=20", "-rss_limit_mb=2000", f"-seed={seed}"]
            command = [sys.executable, str(HERE / "fuzz_notation.py"), f"-target={target}", *limits]
            done = subprocess.run(
                [*command, f"-artifact_prefix={folder}/", str(corpus)], capture_output=True, text=True, check=False
            )
            print(f"{target}: {done.stderr.strip().splitlines()[-1]}")
            if done.returncode:
                print(done.stderr[-4000:])
                return 1
    return 0


def _with_hypothesis(seconds: int) -> int:
    from hypothesis import HealthCheck, given, settings
    from hypothesis import strategies as st

    sys.path.insert(0, str(HERE))
    import targets

    saved = [path.read_bytes() for path in sorted((HERE / "corpus").iterdir())]
    cuts = st.tuples(st.sampled_from(saved), st.integers(0, 400), st.integers(0, 400), st.binary(max_size=8))
    changed = st.lists(cuts.map(lambda cut: cut[0][cut[1] : cut[1] + cut[2]] + cut[3]), max_size=5).map(b"".join)

    @settings(max_examples=EXAMPLES, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(changed)
    def once(data: bytes) -> None:
        targets.abc(data)
        targets.midi(data)

    until, runs = time.monotonic() + seconds, 0
    while time.monotonic() < until:
        once()
        runs += EXAMPLES
    print(f"hypothesis: {runs} examples")
    return 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
