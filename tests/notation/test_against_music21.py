"""Our reading of the tunes of music21's corpus against music21's own, note by note: pitch, length, bar.

A fixed sample runs always. The whole folder (about four minutes) with BOX_COMPANION_WHOLE_CORPUS=1.
"""

from __future__ import annotations

import os
import sys
from collections import Counter
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from music21_reading import FOLDER, explain, tunes_of

SAMPLE = 100


def test_every_difference_has_its_section(capsys: pytest.CaptureFixture[str]) -> None:
    texts = [text for path in sorted(FOLDER.glob("*.abc")) for text in tunes_of(path)]
    if os.environ.get("BOX_COMPANION_WHOLE_CORPUS") != "1":
        texts = texts[7 :: len(texts) // SAMPLE]
    assert len(texts) >= SAMPLE
    classes: Counter[str] = Counter()
    unexplained = 0
    for text in texts:
        notes, bars = explain(text)
        classes.update(notes + bars)
        unexplained += "unexplained" in notes + bars
    with capsys.disabled():
        print(f"\n{len(texts)} tunes, {unexplained} with an unexplained difference")
        for name, count in classes.most_common():
            print(f"  {count:5}  {name}")
    assert unexplained < 0.005 * len(texts) or unexplained == 0
