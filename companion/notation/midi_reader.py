"""Standard MIDI Files: the track of the melody, quantised to the meter; what was rounded is said."""

from __future__ import annotations

import contextlib
import io
import itertools
from fractions import Fraction
from pathlib import Path

from companion.errors import Place, UserError
from companion.notation.abc_fields import FREE, NO_KEY, FieldError, default_unit, read_key, read_meter
from companion.notation.book_values import Book
from companion.notation.laid_out import SoundedNote, lay_out
from companion.tune.build_tune import Heading
from companion.tune.draft import Complaints
from companion.tune.tune_values import Key, Meter, Tempo

MOST_MESSAGES = 200_000
MOST_NOTES = 20_000
MOST_BARS = 5_000
_GRIDS = tuple(Fraction(1, d) for d in (16, 24, 32, 48, 64, 96, 80, 112, 144))
"""Grids of a whole note that a player's rhythm may lie on, the coarse ones first: halves, then triplets."""
_EXACT = Fraction(1, 1000)
_NEAR = Fraction(1, 40)
Struck = tuple[int, int, int]  # on, off, pitch


def read_midi(data: bytes, *, file: Path | None = None, track: str | None = None) -> Book:
    """The melody of a Standard MIDI File as a book of one tune.

    Parameters
    ----------
    data : the bytes of the file.
    file : where it comes from, for errors.
    track : the name or the number (from 1) of the track that is the melody; None to find it: the one whose notes are
        the most, the highest and the least often together.

    Raises
    ------
    UserError
        Where it is no MIDI file, or has no notes.
    """
    import mido

    try:
        song = mido.MidiFile(file=io.BytesIO(data))
        messages = sum(len(t) for t in song.tracks)
    except Exception as error:  # mido lets through whatever a broken file makes it do
        raise UserError("This is not a MIDI file that can be read.", Place(file)) from error
    if messages > MOST_MESSAGES or not 0 < song.ticks_per_beat <= 32767 or song.type == 2:
        raise UserError("This MIDI file is not one that can be read as a tune.", Place(file))
    complaints = Complaints()
    voices = [(t.name, _struck(t)) for t in song.tracks]
    voices = [(name, notes) for name, notes in voices if notes]
    if not voices:
        raise UserError("There are no notes in this MIDI file.", Place(file))
    name, notes = _choose(voices, track, file)
    if len(voices) > 1:
        complaints.warn(0, 0, f"The file has {len(voices)} tracks with notes; “{name or 'the first'}” is the melody.")
    key, tempo, title = _signs(song)
    whole = 4 * song.ticks_per_beat
    begin, meter = _first_bar(_nearest(Fraction(notes[0][0], whole)), _meters(song), complaints)
    sounded = _quantised(_one_at_a_time(notes, complaints), whole, begin, complaints)
    bars = (sounded[-1].onset + sounded[-1].length) / (meter.bar or 1)
    if bars > MOST_BARS:
        raise UserError(
            f"This MIDI file is {int(bars)} bars long, and a tune has {MOST_BARS} at most; cut it.", Place(file)
        )
    titles = (title or (file.stem if file else "") or name,)
    heading = Heading(1, titles, "", meter, key, tempo, default_unit(meter))
    return Book((lay_out(heading, sounded, complaints),))


def _struck(track: list) -> list[Struck]:  # type: ignore[type-arg]
    """The notes of a track without the drums."""
    open_: dict[tuple[int, int], list[int]] = {}
    out: list[Struck] = []
    now = 0
    for message in track:
        now += int(message.time)
        if message.type not in ("note_on", "note_off") or message.channel == 9:
            continue
        at = (message.channel, message.note)
        if open_.get(at):
            out.append((open_[at].pop(), now, message.note))
        if message.type == "note_on" and message.velocity:
            open_.setdefault(at, []).append(now)
    out += [(on, now, pitch) for (_, pitch), begun in open_.items() for on in begun]
    return sorted(n for n in out if n[1] > n[0])[: MOST_NOTES + 1]


def _choose(voices: list[tuple[str, list[Struck]]], track: str | None, file: Path | None) -> tuple[str, list[Struck]]:
    if track is not None:
        for number, voice in enumerate(voices, 1):
            if track in (voice[0], str(number)):
                return voice
        known = ", ".join(f"{n} “{name}”" for n, (name, _) in enumerate(voices, 1))
        raise UserError(f"There is no track “{track}” with notes; there are {known}.", Place(file))

    def likely(voice: tuple[str, list[Struck]]) -> float:
        notes = voice[1]
        together = sum(1 for a, b in itertools.pairwise(notes) if a[0] == b[0]) / len(notes)
        height = sum(n[2] for n in notes) / len(notes)
        most = max(len(v[1]) for v in voices)
        return len(notes) / most + height / 60 - 2 * together

    return max(voices, key=likely)


def _signs(song) -> tuple[Key, Tempo | None, str]:  # type: ignore[no-untyped-def]
    """The first key and tempo, and the name of the first track."""
    key, tempo, title = NO_KEY, None, ""
    seen: set[str] = set()
    for message in (m for t in song.tracks for m in t):
        if message.type in seen:
            continue
        if message.type == "key_signature":
            key = read_key(message.key).key or NO_KEY
        elif message.type == "set_tempo" and message.tempo:
            tempo = Tempo(Fraction(1, 4), round(60_000_000 / message.tempo, 3))
        elif message.type == "track_name":
            title = message.name.strip()
        seen.add(message.type)
    return key, tempo, title


def _meters(song) -> list[tuple[Fraction, Meter]]:  # type: ignore[no-untyped-def]
    """The meters and from where on they count, in whole notes."""
    found: list[tuple[Fraction, Meter]] = []
    for track in song.tracks:
        now = 0
        for message in track:
            now += int(message.time)
            if message.type == "time_signature":
                meter = FREE
                with contextlib.suppress(FieldError):
                    meter = read_meter(f"{message.numerator}/{message.denominator}")
                found.append((Fraction(now, 4 * song.ticks_per_beat), meter))
    return sorted(found, key=lambda one: one[0])


def _first_bar(first: Fraction, meters: list[tuple[Fraction, Meter]], complaints: Complaints) -> tuple[Fraction, Meter]:
    """Where the bar of the first note begins, in whole notes, and its meter.

    The empty bars before it are left out; what is silent in the bar itself stays, as a rest. A meter begins with a bar
    (Standard MIDI Files 1.0: 4/4 where none is named).
    """
    named = meters or [(Fraction(0), read_meter("4/4"))]
    since, meter = next((one for one in reversed(named) if one[0] <= first), (Fraction(0), named[0][1]))
    if any(place > first and other.bar != meter.bar for place, other in meters):
        complaints.warn(0, 0, f"The meter changes within the tune; all its bars are read in {meter.text}.")
    if meter.bar is None:
        return first, meter
    return since + (first - since) // meter.bar * meter.bar, meter


def _one_at_a_time(notes: list[Struck], complaints: Complaints) -> list[tuple[int, int, int, tuple[int, ...]]]:
    """The highest of the notes that begin together, the rest beneath it; a note ends where the next begins."""
    out: list[tuple[int, int, int, tuple[int, ...]]] = []
    for on, off, pitch in notes:
        if out and out[-1][0] == on:
            before = out[-1]
            top, *under = sorted({before[2], pitch, *before[3]}, reverse=True)
            out[-1] = (on, max(off, before[1]), top, tuple(sorted(under)))
        else:
            out.append((on, off, pitch, ()))
    cut = 0
    for n, (here, after) in enumerate(itertools.pairwise(out)):
        if here[1] > after[0]:
            out[n] = (here[0], after[0], *here[2:])
            cut += 1
    if cut:
        complaints.warn(0, 0, f"{cut} notes sounded on into the next one; each ends where the next begins.")
    return out


def _quantised(
    notes: list[tuple[int, int, int, tuple[int, ...]]], whole: int, begin: Fraction, complaints: Complaints
) -> list[SoundedNote]:
    """The notes on exact places, counted from `begin`; says how many were moved, and how far at most.

    `whole` is a whole note in ticks.
    """
    out: list[SoundedNote] = []
    moved = 0
    furthest = Fraction(0)
    last = Fraction(0)
    for on, off, pitch, under in notes:
        played, let_go = Fraction(on, whole) - begin, Fraction(off, whole) - begin
        start, end = max(_nearest(played), last), _nearest(let_go)
        shift = max(abs(start - played), abs(end - let_go))
        if shift:
            moved += 1
            furthest = max(furthest, shift)
        if end <= start:
            end = start + Fraction(1, 64)
        if out and out[-1].onset + out[-1].length > start:
            before = out.pop()
            if start > before.onset:
                out.append(before._replace(length=start - before.onset))
        out.append(SoundedNote(start, end - start, pitch, under))
        last = start
    if moved:
        most = f"{float(furthest):.3f}"
        complaints.warn(0, 0, f"{moved} of {len(notes)} notes were moved onto the beat, by {most} whole notes at most.")
    return out


def _nearest(place: Fraction) -> Fraction:
    """The nearest place on the coarsest grid that is near enough; what is exact stays."""
    if place.denominator <= 128 or place.denominator in (144, 160, 192, 224, 288, 320, 384, 448, 576):
        return place
    for tolerance in (_EXACT, _NEAR):
        for grid in _GRIDS:
            near = round(place / grid) * grid
            if abs(near - place) <= min(tolerance, grid / 4):
                return near
    return round(place * 64) * Fraction(1, 64)
