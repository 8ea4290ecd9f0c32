"""A take on file: a Standard MIDI File read into notes, and notes written to one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from companion.errors import Place, UserError
from companion.marking.mark_values import Heard
from companion.whole_file import whole_file

_TICKS = 960
_TEMPO = 500_000  # microseconds a crotchet, MIDI's own default: 1920 ticks a second
_TICKS_A_SECOND = _TICKS * 1_000_000 // _TEMPO
_REED_ORGAN = 21  # General MIDI's accordion, counted from 0
# More notes than anyone plays in a day of takes; a file with more is not a take.
_MOST_NOTES = 200_000


def read_take(path: Path | str) -> tuple[Heard, ...]:
    """Read the notes of a Standard MIDI File, all channels, in order of onset (of equal ones, as in the file).

    Any layout of tracks, any tempo map, SMPTE time; a note-on with velocity 0 ends a note, and so does the same note
    begun again. A note that never ends has no end. (`companion.marking.melody` keeps basses and chords out.)

    Raises
    ------
    UserError
        Where the file is not there, empty, not a MIDI file, cut short, or holds no note.
    """
    path = Path(path)
    file = _opened(path)
    notes: list[Heard] = []
    sounding: dict[tuple[int, int], int] = {}
    for seconds, message in _timed(file):
        key = (message.channel, message.note)
        open_note = sounding.pop(key, None)
        if open_note is not None:
            began = notes[open_note]
            notes[open_note] = Heard(began.seconds, began.pitch, began.velocity, began.channel, seconds)
        if message.type == "note_on" and message.velocity > 0:
            sounding[key] = len(notes)
            notes.append(Heard(seconds, message.note, message.velocity, message.channel))
            if len(notes) > _MOST_NOTES:
                raise UserError("The take is too long to be marked; give one that holds one tune.", Place(path))
    if not notes:
        raise UserError("The take holds no notes; record it again, or give another file.", Place(path))
    return tuple(notes)


def write_take(path: Path | str, heard: Sequence[Heard], *, name: str = "") -> None:
    """Write notes as a Standard MIDI File of one track, in place of what is there, whole or not at all.

    The file begins at second 0; where a note comes before that, with the first note. A note without an end lasts to
    the next onset.

    Raises
    ------
    UserError
        Where the file cannot be written.
    """
    import mido

    path = Path(path)
    shift = -min([0.0, *(note.seconds for note in heard)])
    timed: list[tuple[int, int, Any]] = []
    onsets = sorted({note.seconds for note in heard})
    for note in heard:
        end = note.end if note.end is not None else next((t for t in onsets if t > note.seconds), note.seconds + 0.5)
        on, off = (round((t + shift) * _TICKS_A_SECOND) for t in (note.seconds, max(end, note.seconds)))
        what = {"note": note.pitch, "channel": note.channel}
        timed.append((on, 1, mido.Message("note_on", velocity=min(max(note.velocity, 1), 127), **what)))
        # On one tick, ends come before beginnings, but never before their own beginning.
        timed.append((max(off, on + 1), 0, mido.Message("note_off", velocity=0, **what)))
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)] if name else [])
    track.append(mido.MetaMessage("set_tempo", tempo=_TEMPO))
    track.append(mido.Message("program_change", program=_REED_ORGAN))
    now = 0
    for tick, _, message in sorted(timed, key=lambda t: (t[0], t[1])):
        track.append(message.copy(time=tick - now))
        now = tick
    file = mido.MidiFile(type=0, ticks_per_beat=_TICKS, tracks=[track])
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(f"The take cannot be written: {error.strerror}; choose another place.", Place(path)) from error
    with whole_file(path) as beside:
        file.save(str(beside))


def _opened(path: Path) -> Any:
    """Mido's file, or the one sentence that says why not."""
    import mido

    try:
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise UserError("There is no such take; give the name of a MIDI file.", Place(path)) from error
    except IsADirectoryError as error:
        raise UserError("This is a folder; give the name of a MIDI file in it.", Place(path)) from error
    except OSError as error:
        raise UserError(f"The take cannot be read: {error.strerror}.", Place(path)) from error
    if not data:
        raise UserError("The take is empty; record it again, or give another file.", Place(path))
    if data[:4] != b"MThd":
        raise UserError("This is not a Standard MIDI File; give a take in that form (.mid).", Place(path))
    from io import BytesIO

    try:
        # Some recorders write data bytes over 127; the notes can still be read.
        file = mido.MidiFile(file=BytesIO(data), clip=True)
    except EOFError as error:
        raise UserError("The take is cut short: copy or record it again.", Place(path)) from error
    except Exception as error:  # mido raises many kinds for many faults
        raise UserError(f"The take cannot be read as MIDI: {error or type(error).__name__}.", Place(path)) from error
    if not file.ticks_per_beat & 0xFF and file.ticks_per_beat <= 0:
        raise UserError("The take cannot be read as MIDI: its beats have no length.", Place(path))
    return file


def _timed(file: Any) -> Iterator[tuple[float, Any]]:
    """The note messages of all tracks in order of time, with their seconds."""
    import mido

    # Independent tracks (format 2) do not follow one another: the first with notes is the take.
    tracks = file.tracks
    if file.type == 2:
        tracks = [t for t in file.tracks if any(m.type == "note_on" for m in t)][:1]
    division = file.ticks_per_beat
    merged = mido.merge_tracks(tracks)
    # SMPTE (negative): frames a second in the upper byte, ticks a frame in the lower (SMF 1.0).
    frames = -(division >> 8) * (division & 0xFF)
    tick = 1.0 / frames if division < 0 else _TEMPO / 1_000_000 / division
    seconds = 0.0
    for message in merged:
        seconds += message.time * tick
        if message.type == "set_tempo" and division > 0:
            tick = message.tempo / 1_000_000 / division
        elif message.type in ("note_on", "note_off"):
            yield seconds, message
