"""The left hand: which bass and chord button sounds, in the direction that the right hand has at that moment.

A chord fits where a button sounds that very triad, or one that shares two of its notes and whose third note is of the
scale. Where none does, a bass alone fits that sounds a note of the chord. Else the left hand is silent.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction

from companion.box.box_values import BassButton, Bellows, Box, Fingering
from companion.box.chords import Chord, chords_written, likely_chords
from companion.tune.tune_values import OnceThrough


@dataclass(frozen=True, slots=True)
class LeftHand:
    """What the left hand does from one place of the round to the next.

    `first` and `last` are notes of the round; `at` and `length` whole notes; `chord` is what the tune asks for,
    `guessed` whether that is only the likeliest; `bass` and `button` are indices into the box's basses (None: silent);
    `sounds` what is heard, "" where nothing; `reason` why it is not the chord itself, "" where it is.
    """

    first: int
    last: int
    at: Fraction
    length: Fraction
    chord: str
    guessed: bool
    bellows: Bellows
    bass: int | None
    button: int | None
    sounds: str
    reason: str


def left_hand(round_: OnceThrough, fingering: Fingering, scale: Collection[int], tonic: int) -> tuple[LeftHand, ...]:
    """The left hand for a fingered round, from the tune's chord symbols or, where it has none, the likeliest chords.

    Parameters
    ----------
    round_, fingering : a round and its fingering.
    scale : the pitch classes of the tune (0 is C); tonic : that of its tonic.

    Returns
    -------
    One entry for each stretch of one chord and one direction; none before the first chord symbol.
    """
    if not fingering.notes:
        return ()
    chords: list[Chord | None] = chords_written(round_.notes)
    guessed = not any(chords)
    if guessed:
        chords = list(likely_chords(round_, scale, tonic))
    found: list[LeftHand] = []
    first = 0
    for index in range(1, len(chords) + 1):
        same = index < len(chords) and chords[index] == chords[first]
        if same and fingering.notes[index].press.bellows is fingering.notes[first].press.bellows:
            continue
        chord = chords[first]
        if chord is not None:
            found.append(_stretch(round_, fingering, first, index - 1, chord, guessed, scale))
        first = index
    return tuple(found)


def _stretch(
    round_: OnceThrough,
    fingering: Fingering,
    first: int,
    last: int,
    chord: Chord,
    guessed: bool,
    scale: Collection[int],
) -> LeftHand:
    bellows = fingering.notes[first].press.bellows
    bass, button, sounds, reason = buttons_for(fingering.box, chord, bellows, scale)
    at = round_.notes[first].at
    end = round_.notes[last].at + round_.notes[last].length
    return LeftHand(first, last, at, end - at, chord.name, guessed, bellows, bass, button, sounds, reason)


def buttons_for(
    box: Box, chord: Chord, bellows: Bellows, scale: Collection[int]
) -> tuple[int | None, int | None, str, str]:
    """The bass and the chord button for a chord in a direction, what sounds, and why it is not the chord itself."""
    way = bellows.value
    triads = [(i, tones) for i, b in enumerate(box.basses) if b.kind == "chord" and (tones := _tones(b, bellows))]
    roots = [(i, _root(b, bellows)) for i, b in enumerate(box.basses) if b.kind == "bass" and _tones(b, bellows)]
    root_bass = next((i for i, root in roots if root == chord.root), None)
    same = next((i for i, tones in triads if tones == chord.tones), None)
    if same is not None:
        bass = root_bass if root_bass is not None else _bass_beside(same, roots, box, bellows)
        return bass, same, _heard(box, bass, same, bellows), ""
    near = [
        (len(tones & chord.tones), -i, i)
        for i, tones in triads
        if len(tones & chord.tones) >= 2 and tones - chord.tones <= set(scale)
    ]
    if near:
        _, _, index = max(near)
        bass = root_bass if root_bass is not None else _bass_beside(index, roots, box, bellows)
        reason = f"there is no {chord.name} on the {way}; {_name(box.basses[index], bellows)} shares two notes with it"
        return bass, index, _heard(box, bass, index, bellows), reason
    if root_bass is None:
        root_bass = next(
            (i for tone in (chord.fifth, chord.third) for i, r in roots if r == (chord.root + tone) % 12), None
        )
    if root_bass is not None:
        heard = _name(box.basses[root_bass], bellows)
        reason = f"there is no {chord.name} on the {way}: the bass {heard} alone"
        return root_bass, None, _heard(box, root_bass, None, bellows), reason
    return None, None, "", f"nothing on the {way} goes with {chord.name}: silence"


def _tones(button: BassButton, bellows: Bellows) -> frozenset[int]:
    """The pitch classes that a button sounds in a direction."""
    pitches = button.push_pitches if bellows is Bellows.PUSH else button.pull_pitches
    return frozenset(pitch % 12 for pitch in pitches)


def _root(button: BassButton, bellows: Bellows) -> int:
    """The pitch class of a bass button's lowest note."""
    return min(button.push_pitches if bellows is Bellows.PUSH else button.pull_pitches) % 12


def _name(button: BassButton, bellows: Bellows) -> str:
    return button.push if bellows is Bellows.PUSH else button.pull


def _bass_beside(chord: int, roots: list[tuple[int, int]], box: Box, bellows: Bellows) -> int | None:
    """The bass that sounds a note of a chord button, its own if there is one."""
    tones = _tones(box.basses[chord], bellows)
    fitting = [i for i, root in roots if root in tones]
    return min(fitting, key=lambda i: abs(i - chord), default=None)


def _heard(box: Box, bass: int | None, chord: int | None, bellows: Bellows) -> str:
    parts = [
        f"bass {_name(box.basses[bass], bellows)}" if bass is not None else "",
        f"chord {_name(box.basses[chord], bellows)}" if chord is not None else "",
    ]
    return ", ".join(part for part in parts if part)
