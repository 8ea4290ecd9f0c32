"""Coverage-guided fuzzing of the readers with atheris.

    python tests/fuzz/fuzz_notation.py -max_total_time=120 tests/fuzz/corpus

What libFuzzer finds beyond the saved corpus is added to that folder. `-target=midi` goes for MIDI files.
"""

from __future__ import annotations

import sys
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).parent))

with atheris.instrument_imports(include=["companion"]):
    import targets


def main() -> None:
    """Hand over to libFuzzer."""
    midi = "-target=midi" in sys.argv
    arguments = [a for a in sys.argv if not a.startswith("-target=")]
    atheris.Setup(arguments, targets.midi if midi else targets.abc)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
