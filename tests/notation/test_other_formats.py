"""MIDI and MusicXML files, and the encodings of ABC: what is read, what is refused and how."""

from __future__ import annotations

import io
import zipfile
from fractions import Fraction
from pathlib import Path

import mido
import pytest

from companion.errors import UserError
from companion.notation import read_book
from companion.notation.abc_reader import read_abc
from companion.notation.midi_writer import midi_bytes
from companion.notation.musicxml_reader import read_musicxml
from companion.notation.musicxml_writer import write_musicxml

TUNE = read_abc("X:1\nT:Caf\\'e\nM:6/8\nL:1/8\nQ:3/8=100\nK:D\nA|def afd|e3 e2:|\n").tunes[0]


@pytest.mark.parametrize(
    "data",
    [
        "\ufeffX:1\nT:Café\nK:C\nC|\n".encode(),
        "X:1\nT:Café\nK:C\nC|\n".encode(),
        "X:1\nT:Café\nK:C\nC|\n".encode("latin-1"),
        "X:1\r\nT:Café\r\nK:C\r\nC|\r\n".encode(),
        "X:1\rT:Café\rK:C\rC|\r".encode(),
        "I:abc-charset iso-8859-2\n\nX:1\nT:Café\nK:C\nC|\n".encode("iso-8859-2"),
        "X:1\nT:Café\nK:C\nC|\n".encode("utf-16"),
    ],
)
def test_encodings_and_line_ends(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.abc"
    path.write_bytes(data)
    tune = read_book(path).tunes[0]
    assert (tune.title, len(tune.notes)) == ("Café", 1)


def test_a_midi_file_of_several_tracks(tmp_path: Path) -> None:
    song = mido.MidiFile(ticks_per_beat=480)
    bass, melody = mido.MidiTrack(), mido.MidiTrack()
    bass.append(mido.MetaMessage("track_name", name="bass"))
    melody.append(mido.MetaMessage("track_name", name="flute"))
    for n in range(8):
        bass += [mido.Message("note_on", note=40, velocity=60), mido.Message("note_off", note=40, time=480)]
        late = 7 if n % 2 else 0  # played: a little late, and short
        melody += [
            mido.Message("note_on", note=70 + n, velocity=60, time=late),
            mido.Message("note_off", note=70 + n, time=480 - late),
        ]
    song.tracks += [bass, melody]
    song.save(tmp_path / "two.mid")
    tune = read_book(tmp_path / "two.mid").tunes[0]
    assert [n.pitch for n in tune.notes] == list(range(70, 78))
    assert [n.onset for n in tune.notes] == [Fraction(n, 4) for n in range(8)]
    assert [p.message for p in tune.problems] == [
        "The file has 2 tracks with notes; “flute” is the melody.",
        "4 of 8 notes were moved onto the beat, by 0.004 whole notes at most.",
    ]
    assert {n.pitch for n in read_book(tmp_path / "two.mid", voice="bass").tunes[0].notes} == {40}


@pytest.mark.parametrize("name", ["t.musicxml", "t.xml", "t.mxl"])
def test_musicxml_by_every_name(tmp_path: Path, name: str) -> None:
    text = write_musicxml(TUNE)
    path = tmp_path / name
    if name.endswith("mxl"):
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(
                "META-INF/container.xml", '<container><rootfiles><rootfile full-path="s.xml"/></rootfiles></container>'
            )
            archive.writestr("s.xml", text)
    else:
        path.write_text(text, encoding="utf-8")
    tune = read_book(path).tunes[0]
    assert (tune.title, tune.form, tune.bars) == ("Café", "AA", 2)
    assert [n.pitch for n in tune.notes] == [n.pitch for n in TUNE.notes]


def _archive(size: int, members: int = 1) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for n in range(members):
            archive.writestr(f"s{n}.xml", b"<score-partwise>" + b"0" * size)
    return out.getvalue()


LAUGHS = (
    b'<?xml version="1.0"?><!DOCTYPE score-partwise [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
    b"<score-partwise><part-list/>&b;</score-partwise>"
)
NO_NOTES = b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xe0MTrk\x00\x00\x00\x04\x00\xff\x2f\x00"
REFUSED = {
    "a zip bomb": (".mxl", _archive(60_000_000), "unpacks to more"),
    "many members": (".mxl", _archive(10, 500), "unpacks to more"),
    "no archive": (".mxl", b"PK\x03\x04 and no more of it", "not an MXL archive"),
    "an archive without a score": (".mxl", _archive(0, 0), "no MusicXML in this archive|not an MXL archive"),
    "entities": (".xml", LAUGHS, "entities"),
    "another XML": (".xml", b"<html/>", "no score in it"),
    "broken XML": (".xml", b"<score-partwise><part", "not MusicXML that can be read|no part"),
    "an empty score": (".xml", b"<score-partwise/>", "no part|not MusicXML|cannot be read"),
    "no MIDI": (".mid", b"MThd\x00\x00", "not a MIDI file"),
    "MIDI without notes": (".mid", NO_NOTES, "no notes"),
    "text as MIDI": (".mid", b"X:1\nK:C\nC|\n", "not a MIDI file"),
    "half a MIDI file": (".mid", midi_bytes(TUNE)[:60], "not a MIDI file|no notes"),
}  # fmt: skip


@pytest.mark.parametrize(("suffix", "data", "sentence"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_refused_is_refused_in_one_sentence(tmp_path: Path, suffix: str, data: bytes, sentence: str) -> None:
    path = tmp_path / ("t" + suffix)
    path.write_bytes(data)
    with pytest.raises(UserError, match=sentence) as caught:
        read_book(path)
    assert "\n" not in caught.value.message


def test_the_named_ornaments_are_those_of_the_chosen_part() -> None:
    named = "<notations><ornaments><other-ornament>roll</other-ornament></ornaments></notations>"

    def part(name: str, rolled: int) -> str:
        pitch = "<pitch><step>A</step><octave>4</octave></pitch><duration>1</duration>"
        notes = "".join(f"<note>{pitch}{named if k == rolled else ''}</note>" for k in range(4))
        time = "<time><beats>4</beats><beat-type>4</beat-type></time>"
        attributes = f"<attributes><divisions>1</divisions>{time}</attributes>"
        return f'<part id="{name}"><measure number="1">{attributes}{notes}</measure></part>'

    names = "".join(f'<score-part id="{n}"><part-name>{n}</part-name></score-part>' for n in ("high", "low"))
    score = f"<score-partwise><part-list>{names}</part-list>{part('high', 0)}{part('low', 2)}</score-partwise>"
    for voice, rolled in (("high", 0), ("low", 2)):
        notes = read_musicxml(score.encode(), voice=voice).tunes[0].notes
        assert [k for k, note in enumerate(notes) if note.ornaments == ("roll",)] == [rolled]
