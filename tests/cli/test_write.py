"""`companion write`: what is written in another notation reads back as the same tune, and mistakes leave nothing."""

from __future__ import annotations

from pathlib import Path

import mido
import music21
import pytest

from companion.cli.main import main
from companion.notation import read_book
from companion.places import shipped
from companion.tune.unfold import unfold

BOOK = shipped("demo_tunes", "tanners_quay.abc")


def test_a_book_goes_into_abc_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "book.abc"
    assert main(["write", str(BOOK), "-o", str(out)]) == 0
    assert "5 tunes" in capsys.readouterr().out
    again, first = read_book(out), read_book(BOOK)
    assert [t.number for t in again.tunes] == [t.number for t in first.tunes]
    for one, other in zip(again.tunes, first.tunes, strict=True):
        assert [(n.onset, n.length, n.pitch, n.ornaments, n.chord) for n in one.notes] == [
            (n.onset, n.length, n.pitch, n.ornaments, n.chord) for n in other.notes
        ]
        assert one.titles == other.titles


@pytest.mark.parametrize("number", range(1, 6))
def test_a_tune_goes_into_musicxml_and_midi(tmp_path: Path, number: int) -> None:
    """Read back by music21 (MusicXML) and by mido (MIDI), the round has the same pitches in the same order."""
    tune = read_book(BOOK).tune(number)
    for ending in (".musicxml", ".mid"):
        assert main(["write", str(BOOK), "--tune", str(number), "-o", str(tmp_path / f"tune{ending}")]) == 0
    score = music21.converter.parse(tmp_path / "tune.musicxml")
    written = [
        note.pitch.midi
        for note in score.stripTies().recurse().getElementsByClass(music21.note.Note)
        if not note.duration.isGrace
    ]
    assert written == [note.pitch for note in tune.notes]
    played = [m.note for m in mido.MidiFile(tmp_path / "tune.mid") if m.type == "note_on" and m.velocity]
    assert played == [note.pitch for note in unfold(tune).notes]


@pytest.mark.parametrize(
    ("book", "arguments", "said"),
    [
        (BOOK, ["-o", "tune.txt"], "should end in .abc, .musicxml or .mid"),
        (BOOK, ["-o", "nowhere/tune.abc"], "no folder"),
        (BOOK, ["--tune", "77", "-o", "tune.mid"], "no tune 77"),
        ("bad.abc", ["-o", "tune.mid"], "cannot be written"),
        ("bad.abc", ["-o", "tune.abc"], "none of its tunes"),
    ],
)
def test_mistakes_leave_nothing(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    book: Path | str,
    arguments: list[str],
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("bad.abc").write_text("X:1\nT:Bad\nK:D\nA99999|\n", encoding="utf-8")
    assert main(["write", str(book), *arguments]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bad.abc"]
