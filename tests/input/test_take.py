"""Takes on file: written and read back, read as the standard has them, and refused in one sentence."""

from __future__ import annotations

import struct
from itertools import pairwise
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import UserError
from companion.input.take_file import read_take, write_take
from companion.marking.mark_values import Heard


def chunk(name: bytes, data: bytes) -> bytes:
    """A chunk of a Standard MIDI File: name, length, data (SMF 1.0)."""
    return name + struct.pack(">I", len(data)) + data


def smf(tracks: list[bytes], division: int = 480, kind: int = 1) -> bytes:
    """A file built by hand from the bytes of its tracks."""
    head = chunk(b"MThd", struct.pack(">HHh", kind, len(tracks), division))
    return head + b"".join(chunk(b"MTrk", t + b"\x00\xff\x2f\x00") for t in tracks)


def test_written_and_read_back(tmp_path: Path) -> None:
    heard = (Heard(0.5, 62, 80, 0, 0.7), Heard(0.75, 64, 70, 0, 1.0), Heard(1.0, 64, 71, 2, 1.2))
    write_take(tmp_path / "new" / "take.mid", heard, name="first try")
    back = read_take(tmp_path / "new" / "take.mid")
    assert [(n.pitch, n.velocity, n.channel) for n in back] == [(62, 80, 0), (64, 70, 0), (64, 71, 2)]
    # A tick is 1/1920 s.
    assert [n.seconds for n in back] == pytest.approx([n.seconds for n in heard], abs=0.0003)
    assert [n.end for n in back] == pytest.approx([n.end for n in heard], abs=0.0003)
    # mido's own reckoning agrees on how long the file lasts.
    assert mido.MidiFile(tmp_path / "new" / "take.mid").length == pytest.approx(1.2, abs=0.001)
    assert [p.name for p in (tmp_path / "new").iterdir()] == ["take.mid"]


def test_running_status_velocity_nought_and_tempo_map_across_tracks(tmp_path: Path) -> None:
    # Crotchet 0.5 s, then 1 s from the second crotchet (FF 51 03, microseconds a crotchet); notes with running status.
    tempo = b"\x00\xff\x51\x03\x07\xa1\x20" + b"\x83\x60\xff\x51\x03\x0f\x42\x40"
    notes = b"\x00\x90\x3e\x50" + b"\x83\x60\x3e\x00" + b"\x00\x40\x50" + b"\x83\x60\x40\x00"
    (tmp_path / "t.mid").write_bytes(smf([tempo, notes]))
    assert read_take(tmp_path / "t.mid") == (Heard(0.0, 62, 80, 0, 0.5), Heard(0.5, 64, 80, 0, 1.5))


def test_smpte_time(tmp_path: Path) -> None:
    # 25 frames a second of 40 ticks: a tick is a millisecond.
    division = struct.unpack(">h", bytes((256 - 25, 40)))[0]
    (tmp_path / "t.mid").write_bytes(smf([b"\x64\x90\x3e\x50\x64\x80\x3e\x40"], division, 0))
    assert read_take(tmp_path / "t.mid")[0].seconds == pytest.approx(0.1)
    assert read_take(tmp_path / "t.mid")[0].end == pytest.approx(0.2)


def test_a_note_begun_again_ends_and_one_that_never_ends_has_no_end(tmp_path: Path) -> None:
    (tmp_path / "t.mid").write_bytes(smf([b"\x00\x90\x3e\x50\x83\x60\x90\x3e\x50"]))
    assert read_take(tmp_path / "t.mid") == (Heard(0.0, 62, 80, 0, 0.5), Heard(0.5, 62, 80))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (None, "no such take"),
        (b"", "empty"),
        (b"RIFF" + bytes(40), "not a Standard MIDI File"),
        (bytes(range(256)), "not a Standard MIDI File"),
        (smf([b"\x00\x90\x3e\x50" * 4])[:40], "cut short"),
        (smf([b"\x00\x90\x3e\x50" * 4])[:12], "cut short"),
        (smf([]), "no notes"),
        (smf([b"\x00\xff\x51\x03\x07\xa1\x20"]), "no notes"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(tmp_path: Path, data: bytes | None, says: str) -> None:
    path = tmp_path / "take.mid"
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(UserError, match=says) as error:
        read_take(path)
    assert error.value.place is not None
    assert error.value.place.file == path
    assert error.value.message.endswith(".")


def test_a_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="folder"):
        read_take(tmp_path)


def test_a_place_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(UserError, match="cannot be written"):
        write_take(tmp_path / "file" / "take.mid", (Heard(0.0, 62),))
    assert (tmp_path / "file").read_text() == "in the way"


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200), st.booleans())
def test_any_bytes_are_read_or_refused(tmp_path_factory: pytest.TempPathFactory, data: bytes, framed: bool) -> None:
    path = tmp_path_factory.getbasetemp() / "any.mid"
    path.write_bytes(smf([data]) if framed else b"MThd" + data)
    try:
        notes = read_take(path)
    except UserError:
        return
    assert all(a.seconds <= b.seconds for a, b in pairwise(notes))
