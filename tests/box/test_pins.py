"""A file of pins beside the tune."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from companion.box.box_values import Bellows
from companion.box.pins import Pin, load_pins, pins_beside
from companion.errors import UserError
from companion.tune.tune_values import Note

NOTES = [Note(Fraction(i, 8), Fraction(1, 8), 62 + i, i // 4) for i in range(8)]  # bars 0 and 1


def test_pins_are_read_and_those_of_other_tunes_passed_over(tmp_path: Path) -> None:
    file = tmp_path / "reels.pins.toml"
    file.write_text(
        '[[pins]]\nbar = 1\nnote = 2\nrow = "C"\nbutton = 5\nbellows = "pull"\nfinger = 2\n'
        "[[pins]]\ntune = 2\nbar = 1\nnote = 1\nfinger = 1\n[[pins]]\ntune = 7\nbar = 0\nnote = 4\nfinger = 3\n"
    )
    assert pins_beside(tmp_path / "reels.abc") == file
    assert load_pins(file, NOTES, 7) == (Pin(5, "C", 5, Bellows.PULL, 2), Pin(3, finger=3))


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("[[pins]]\nbar = 3\nnote = 1\nfinger = 1\n", 3, "no bar 3"),
        ("[[pins]]\nbar = 1\nnote = 5\nfinger = 1\n", 3, "bar 1 has 4 notes"),
        ("[[pins]]\nbar = 1\nnote = 1\n", 1, "pins nothing"),
        ("[[pins]]\nnote = 1\nfinger = 1\n", 1, "needs `bar` and `note`"),
        ('[[pins]]\nbar = 1\nnote = 1\nbellows = "in"\n', 4, "must be"),
        ("[[pins]]\nbar = 1\nnote = 1\nthumb = 1\n", 4, "not known"),
        ("[[pins]]\nbar = 1\nnote = 1\nfinger = true\n", 4, "whole number"),
        ("[[pins]]\nbar = 1\nnote = 1\nfinger = 1\n[[pins]]\nbar = 1\nnote = 1\nfinger = 2\n", 5, "twice"),
        ("pin = 3\n", 1, "nothing else"),
    ],
)
def test_a_broken_file_is_told_its_line(tmp_path: Path, text: str, line: int, words: str) -> None:
    file = tmp_path / "x.pins.toml"
    file.write_text(text)
    with pytest.raises(UserError, match=words) as caught:
        load_pins(file, NOTES, 1)
    assert caught.value.place is not None
    assert caught.value.place.line == line
