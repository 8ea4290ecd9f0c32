"""Whose fault it is: what a library makes of a bad file is told as the file's fault, an error of our own as ours."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from types import SimpleNamespace

import pytest

from companion.cli.main import main
from companion.errors import UserError, raised_by
from companion.input.take_file import read_take
from companion.notation import musicxml_reader
from companion.notation.abc_reader import read_abc
from companion.notation.midi_writer import midi_bytes
from companion.notation.musicxml_reader import read_musicxml
from companion.notation.musicxml_writer import write_musicxml

TUNE = read_abc("X:1\nT:Wet Gate\nM:6/8\nL:1/8\nK:D\ndef afd|e3 e3|\n").tunes[0]
TEXT = write_musicxml(TUNE)
ERRORS = [ValueError, KeyError, AttributeError, TypeError, IndexError, ZeroDivisionError]


def archive() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("META-INF/container.xml", '<rootfile full-path="s.xml"/>')
        packed.writestr("s.xml", TEXT)
    return out.getvalue()


@pytest.mark.parametrize("error", ERRORS)
@pytest.mark.parametrize("name", ["_sound", "_measure", "_key", "_extras"])
def test_an_error_of_our_own_in_musicxml_is_ours(
    tmp_path: Path,
    name: str,
    error: type[Exception],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def fails(*_: object) -> None:
        raise error("slipped")

    monkeypatch.setattr(musicxml_reader._PartReader, name, fails)
    path = tmp_path / "gate.musicxml"
    path.write_text(TEXT, encoding="utf-8")
    with pytest.raises(error):
        read_musicxml(TEXT.encode())
    assert main(["tunes", str(path)]) == 1
    assert "our fault, not yours" in capsys.readouterr().err


def test_an_error_of_our_own_in_an_archive_is_ours(monkeypatch: pytest.MonkeyPatch) -> None:
    assert len(read_musicxml(archive()).tunes[0].notes) == 8

    def fails(*_: object) -> None:
        raise ValueError("slipped")

    monkeypatch.setattr(musicxml_reader, "re", SimpleNamespace(search=fails))
    with pytest.raises(ValueError, match="slipped"):
        read_musicxml(archive())


def test_an_error_of_our_own_in_a_take_is_ours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "take.mid"
    path.write_bytes(midi_bytes(TUNE))
    assert len(read_take(path)) == 8

    def fails(*_: object) -> None:
        raise ValueError("slipped")

    monkeypatch.setattr("companion.input.take_file.Heard", fails)
    with pytest.raises(ValueError, match="slipped"):
        read_take(path)


def in_library(name: str) -> object:
    """A function as if it stood in a library's file, which fails."""
    place: dict[str, object] = {"__name__": name}
    exec("def fails(*_):\n    raise ValueError('nothing of the kind')\n", place)
    return place["fails"]


def test_what_music21_cannot_do_with_a_document_is_the_documents_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    import music21

    monkeypatch.setattr(music21.stream.base.Measure, "voices", property(in_library("music21.stream.base")))
    with pytest.raises(UserError, match="cannot be read as a tune"):
        read_musicxml(TEXT.encode())


def test_a_note_without_a_pitch_is_a_rest() -> None:
    first = TEXT.index("<pitch>")
    end = TEXT.index("</pitch>") + len("</pitch>")
    tune = read_musicxml((TEXT[:first] + "<unpitched/>" + TEXT[end:]).encode()).tunes[0]
    assert [note.pitch for note in tune.notes] == [note.pitch for note in TUNE.notes][1:]
    assert [note.onset for note in tune.notes] == [note.onset for note in TUNE.notes][1:]


@pytest.mark.parametrize("division", [b"\x00\x00", b"\xe8\x00"], ids=["no ticks in a beat", "no ticks in a frame"])
def test_a_take_whose_beats_have_no_length(tmp_path: Path, division: bytes) -> None:
    track = b"MTrk\x00\x00\x00\x0c\x00\x90\x3e\x50\x64\x80\x3e\x40\x00\xff\x2f\x00"
    path = tmp_path / "take.mid"
    path.write_bytes(b"MThd\x00\x00\x00\x06\x00\x00\x00\x01" + division + track)
    with pytest.raises(UserError, match="its beats have no length"):
        read_take(path)


def test_who_raised_it() -> None:
    def caught(name: str) -> ValueError:
        with pytest.raises(ValueError, match="nothing of the kind") as told:
            in_library(name)()  # type: ignore[operator]
        return told.value

    assert raised_by(caught("music21.base"), "music21")
    assert not raised_by(caught("music210.base"), "music21")
    assert not raised_by(caught("companion.notation"), "music21")
