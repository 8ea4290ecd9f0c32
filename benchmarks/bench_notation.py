"""Reading and unfolding a folder of tunes: ours against music21 (parse, translate, expandRepeats) in the same run.

    python benchmarks/bench_notation.py [--sample N]

The tunes are those of `oneills1850` in music21's corpus; music21 reads every N-th of them (default 20), we read all.
"""

from __future__ import annotations

import argparse
import contextlib
import re
import time
from pathlib import Path

import music21
from music21.abcFormat import ABCHandler
from music21.abcFormat.translate import abcToStreamScore

from companion.notation import read_book
from companion.tune.unfold import unfold

FOLDER = Path(music21.__file__).parent / "corpus" / "oneills1850"


def ours(files: list[Path]) -> tuple[int, float]:
    """How many tunes, and seconds of this process for all of them."""
    begun = time.process_time()
    count = 0
    for path in files:
        for tune in read_book(path).tunes:
            count += 1
            if not tune.errors:
                unfold(tune)
    return count, time.process_time() - begun


def theirs(files: list[Path], every: int) -> tuple[int, float, float]:
    """How many tunes, and seconds for reading and for expanding the repeats."""
    texts = [t for p in files for t in re.split(r"(?m)^(?=X:)", p.read_text("latin-1")) if t.startswith("X:")]
    reading = expanding = 0.0
    chosen = texts[::every]
    for text in chosen:
        begun = time.process_time()
        handler = ABCHandler()
        handler.process(text)
        score = abcToStreamScore(handler)
        read = time.process_time()
        with contextlib.suppress(Exception):  # some repeats are beyond it
            score.expandRepeats()
        reading += read - begun
        expanding += time.process_time() - read
    return len(chosen), reading, expanding


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=20, metavar="N", help="music21 reads every N-th tune (1: all)")
    every = max(1, parser.parse_args().sample)
    files = sorted(FOLDER.glob("*.abc"))
    ours(files[:2])
    count, seconds = min((ours(files) for _ in range(3)), key=lambda run: run[1])
    number, reading, expanding = theirs(files, every)
    mine, their_read, their_all = seconds / count, reading / number, (reading + expanding) / number
    print(f"{'':34}{'tunes':>8}{'ms a tune':>12}{'ratio':>8}")
    print(f"{'ours: read and unfolded':34}{count:8}{mine * 1e3:12.3f}{1:8}")
    print(f"{'music21: parse and translate':34}{number:8}{their_read * 1e3:12.3f}{their_read / mine:8.1f}")
    print(f"{'music21: and expandRepeats':34}{number:8}{their_all * 1e3:12.3f}{their_all / mine:8.1f}")


if __name__ == "__main__":
    main()
