"""Reading and unfolding a folder of tunes: ours against music21 (parse, translate, expandRepeats) in the same run.

    python -m benchmarks notation

The tunes are those of `oneills1850` in music21's corpus; both read every twentieth of them, and we all of them besides.
"""

from __future__ import annotations

import contextlib
import re
import time
from collections.abc import Sequence
from pathlib import Path

import music21
from music21.abcFormat import ABCHandler
from music21.abcFormat.translate import abcToStreamScore

from benchmarks.table import Limit, Row, named
from companion.notation import read_book
from companion.notation.abc_reader import read_abc
from companion.tune.unfold import unfold

FOLDER = Path(music21.__file__).parent / "corpus" / "oneills1850"
EVERY = 20
LEAST = 40  # times music21


def whole(files: Sequence[Path]) -> tuple[int, float]:
    """How many tunes, and seconds of this process for all of them."""
    begun = time.process_time()
    count = 0
    for path in files:
        for tune in read_book(path).tunes:
            count += 1
            if not tune.errors:
                unfold(tune)
    return count, time.process_time() - begun


def ours(text: str) -> tuple[float, float]:
    """Milliseconds of this process for reading a tune, and for unfolding it."""
    begun = time.process_time()
    tune = read_abc(text).tunes[0]
    read = time.process_time()
    if not tune.errors:
        unfold(tune)
    return 1000 * (read - begun), 1000 * (time.process_time() - read)


def theirs(text: str) -> tuple[float, float]:
    """The same of music21: parsing and translating; expanding the repeats."""
    begun = time.process_time()
    handler = ABCHandler()
    handler.process(text)
    score = abcToStreamScore(handler)
    read = time.process_time()
    with contextlib.suppress(Exception):  # some repeats are beyond it
        score.expandRepeats()
    return 1000 * (read - begun), 1000 * (time.process_time() - read)


def main() -> list[Row]:
    """Measure; every tune by turns."""
    files = sorted(FOLDER.glob("*.abc"))
    texts = [t for p in files for t in re.split(r"(?m)^(?=X:)", p.read_text("latin-1")) if t.startswith("X:")]
    ours(texts[0])
    theirs(texts[0])
    pairs = [(ours(text), theirs(text)) for text in texts[::EVERY]]
    count, seconds = whole(files)
    print(f"the whole folder: {count} tunes in {seconds:.2f} s, {1000 * seconds / count:.2f} ms a tune")
    library = named("music21")
    read = Row("a tune read", "ms", [a[0] for a, _ in pairs], library, [b[0] for _, b in pairs], "tunes")
    both = Row(
        "a tune read and unfolded", "ms", [sum(a) for a, _ in pairs], library, [sum(b) for _, b in pairs], "tunes"
    )
    limit = Limit(f"≤ 1/{LEAST} of it", both.ratio <= 1 / LEAST)
    return [read, Row(both.name, both.unit, both.ours, both.reference, both.theirs, both.over, limit)]
