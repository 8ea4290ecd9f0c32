"""What would hurt a reader: each ends in problems or one sentence, soon and in little memory."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.errors import UserError
from companion.notation import read_book
from companion.notation.abc_reader import read_abc
from companion.tune.unfold import unfold

HEAD = "X:1\nT:t\nM:4/4\nL:1/8\nK:C\n"

HARMFUL = {
    "a line of a million characters": HEAD + "CDEF|" * 200_000,
    "a million quotation marks": HEAD + '"' * 1_000_001,
    "a million open brackets": HEAD + "[" * 1_000_000,
    "a million braces": HEAD + "{" * 1_000_000,
    "many lines": HEAD + ("CDEFGABc|" * 100 + "\n") * 1000,
    "a tuplet of a million": HEAD + "(999999:1:1C|",
    "a long length": HEAD + "A99999999999|",
    "a length with many slashes": HEAD + "A" + "/" * 100_000 + "|",
    "a note divided by nothing": HEAD + "A/0|A0|",
    "a rest of many bars": HEAD + "Z999999999|C|",
    "a rest of huge bars": "X:1\nM:64/1\nL:1/8\nK:C\n" + "Z999|" * 2000 + "C|",
    "repeats a thousand deep": HEAD + "|:C|" * 1000 + "C:|" * 1000,
    "repeat signs a thousand deep": HEAD + "|:" * 1000 + "C" + ":|" * 1000,
    "played a thousand times": HEAD + "|" + ":" * 1000 + "C" + ":" * 1000 + "|",
    "endings without end": HEAD + "|:" + "[1-99C:|" * 2000,
    "an order that explodes": "X:1\nP:((((A9)9)9)9)9\nK:C\nP:A\nC|\n",
    "an order of a million": "X:1\nP:A999999\nK:C\nP:A\nC|\n",
    "an order nested deep": "X:1\nP:" + "(" * 5000 + "A" + ")9" * 5000 + "\nK:C\nP:A\nC|\n",
    "a meter of a million": "X:1\nM:999999/8\nK:C\nC|\n",
    "a meter over nothing": "X:1\nM:3/0\nK:C\nC|\n",
    "a unit over nothing": "X:1\nL:1/0\nK:C\nC|\n",
    "a tempo without end": "X:1\nQ:1/4=99999999999999999999\nK:C\nC|\n",
    "octaves without end": HEAD + "c" + "'" * 10_000 + "|" + "C" + "," * 10_000 + "|",
    "a key shifted away": "X:1\nK:C octave=99 transpose=999\nC|\n",
    "macros that grow": "X:1\nm:A = " + "AB" * 50 + "\nm:B = " + "AB" * 50 + "\nm: A = " + "BB" * 50 + "\nK:C\nAAAA|\n",
    "fields without end": "X:1\n" + "T:a\n" * 20_000 + "K:C\nC|\n",
    "problems without end": HEAD + ("?" * 10_000 + "\n") * 100 + "C|",
    "ties without end": HEAD + "C-" * 9_000 + "C|",
    "broken rhythms without end": HEAD + "C>" * 9_000 + "C|C" + ">" * 10_000 + "C|",
}  # fmt: skip


@pytest.mark.parametrize("text", HARMFUL.values(), ids=HARMFUL.keys())
def test_harm_ends_in_problems_or_one_sentence(text: str) -> None:
    sentence = "."
    try:
        for tune in read_abc(text).tunes:
            assert len(tune.problems) <= 400
            unfold(tune)
    except UserError as error:
        sentence = error.message
    assert sentence.endswith(".")
    assert "\n" not in sentence


def test_a_midi_file_that_lasts_for_ever(tmp_path: Path) -> None:
    """Found by fuzzing: one note after the longest wait that the format can write (four bytes: 2^28 - 1 ticks)."""
    events = b"\x00\x90\x3c\x40\x60\x80\x3c\x00\xff\xff\xff\x7f\x90\x3e\x40\x60\x80\x3e\x00\x00\xff\x2f\x00"
    track = b"MTrk" + len(events).to_bytes(4, "big") + events
    path = tmp_path / "long.mid"
    path.write_bytes(b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x01" + track)
    with pytest.raises(UserError, match=r"bars long.*cut it\.$"):
        read_book(path)
