"""A tune as a Standard MIDI File: one round, with its repeats, in the tune's own tempo."""

from __future__ import annotations

import io
import math
from fractions import Fraction

from companion.notation.spelling import Speller
from companion.tune.tune import Tune
from companion.tune.tune_values import Key, Meter
from companion.tune.unfold import unfold

DIVISION = 10080
"""Ticks in a crotchet: exact for halves down to a 128th, thirds, fifths, sevenths and ninths."""
_MOST_DIVISION = 32767
_VELOCITY = 80


def midi_bytes(tune: Tune, bpm: float | None = None) -> bytes:
    """One round of a tune as the bytes of a Standard MIDI File (format 0).

    Parameters
    ----------
    tune : what is played, as `companion.tune.unfold` unfolds it.
    bpm : beats a minute, of the tempo's beat or the meter's first; None for the tune's own, else 120 crotchets.

    Raises
    ------
    UserError
        Where the tune cannot be played.
    """
    from mido import MetaMessage, MidiFile, MidiTrack

    round_ = unfold(tune)
    division = _division([n.at for n in round_.notes] + [n.length for n in round_.notes])
    track = MidiTrack()
    track.append(MetaMessage("track_name", name=_latin(tune.title)))
    track.append(MetaMessage("set_tempo", tempo=_tempo(tune, bpm)))
    numerator, denominator = _signature(tune.meter)
    track.append(MetaMessage("time_signature", numerator=numerator, denominator=denominator))
    name = _key(tune.key)
    if name:
        track.append(MetaMessage("key_signature", key=name))
    for message in _messages(round_.notes, division):
        track.append(message)
    end = round_.notes[-1].at + round_.notes[-1].length
    track.append(MetaMessage("end_of_track", time=round((round_.length - end) * 4 * division)))
    file = MidiFile(type=0, ticks_per_beat=division)
    file.tracks.append(track)
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def _messages(notes: tuple, division: int) -> list:  # type: ignore[type-arg]
    """Note on and off with the time since the message before; an end comes before a beginning at the same place."""
    from mido import Message

    events = []
    for note in notes:
        on, off = round(note.at * 4 * division), round((note.at + note.length) * 4 * division)
        events.append((on, 1, note.pitch))
        events.append((max(off, on + 1), 0, note.pitch))
    events.sort()
    now = 0
    out = []
    for at, kind, pitch in events:
        velocity = _VELOCITY if kind else 0
        out.append(Message("note_on" if kind else "note_off", note=pitch, velocity=velocity, time=at - now))
        now = at
    return out


def _division(places: list[Fraction]) -> int:
    """Ticks in a crotchet that make every place exact, where a file can say that."""
    needed = math.lcm(*(Fraction(p * 4).denominator for p in places)) if places else 1
    if DIVISION % needed == 0 or needed > _MOST_DIVISION:
        return DIVISION
    return needed * max(1, 960 // needed)


def _tempo(tune: Tune, bpm: float | None) -> int:
    """Microseconds in a crotchet."""
    beat = Fraction(1, 4)
    rate = 120.0
    if tune.tempo is not None:
        beat, rate = tune.tempo.beat, tune.tempo.per_minute
    elif tune.meter.beats:
        beat = tune.meter.beats[0] if bpm is not None else beat
    rate = bpm or rate
    return min(max(round(60_000_000 / (rate * float(beat) * 4)), 1), 0xFFFFFF)


def _signature(meter: Meter) -> tuple[int, int]:
    """The meter as a MIDI file can say it; free meter as 4/4."""
    if meter.bar is None:
        return 4, 4
    below = max(b.denominator for b in meter.beats)
    below = 1 << (below - 1).bit_length()
    above = meter.bar * below
    return (int(above), below) if above.denominator == 1 and above < 256 else (4, 4)


def _key(key: Key) -> str:
    """The major or minor key with this signature as a MIDI file names it; "" where there is none."""
    total = sum(alter for _, alter in key.signature)
    names = ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"]
    if abs(total) > 7 or Speller(key).alters != _circle(total):
        return ""
    return names[total + 7]


def _circle(fifths: int) -> list[int]:
    """The alterations of C to B in a signature of so many sharps (negative: flats)."""
    order = "FCGDAEB" if fifths > 0 else "BEADGCF"
    return [(1 if fifths > 0 else -1) if letter in order[: abs(fifths)] else 0 for letter in "CDEFGAB"]


def _latin(text: str) -> str:
    return text.encode("latin-1", errors="replace").decode("latin-1")
