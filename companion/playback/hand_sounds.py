"""What the hands really play, as plain values for the sound: ornaments by the buttons, basses by the bellows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from companion.box.basses import left_hand
from companion.box.box_values import Bellows, Box, Fingering
from companion.box.ornaments import OrnamentTable, ornament_of, scale_of
from companion.sound.figures import Figures
from companion.sound.left_hand_sound import BassPressed
from companion.tune.tune_values import Key, OnceThrough

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def figures_of(fingering: Fingering, keys: Sequence[tuple[int, Key]], table: OrnamentTable) -> dict[int, Figures]:
    """How each ornamented note of a fingered round is played, by its index: the graces that open each of its pieces.

    `keys` are the keys of the tunes in it, each with the index of its first note.
    """
    scales = {first: scale_of(key.signature) for first, key in keys}
    found = {}
    scale = scales[min(scales)]
    for index, fingered in enumerate(fingering.notes):
        scale = scales.get(index, scale)
        for played in ornament_of(fingered, fingering.box, scale, table):
            found[index] = _pieces([(touch.role, touch.pitch) for touch in played.touches])
    return found


def _pieces(touches: list[tuple[str, int]]) -> Figures:
    """The note's own touches parted, each with what comes before it."""
    pieces: list[tuple[int, ...]] = []
    graces: list[int] = []
    for role, pitch in touches:
        if role == "N":
            pieces.append(tuple(graces))
            graces = []
        else:
            graces.append(pitch)
    return tuple(pieces)


def pressed_of(round_: OnceThrough, fingering: Fingering, key: Key) -> Mapping[int, BassPressed]:
    """What the left hand can sound with each note of the round, by its index."""
    tonic = (STEPS.get(key.tonic[:1].upper(), 0) + key.tonic.count("#") - key.tonic[1:].count("b")) % 12
    found: dict[int, BassPressed] = {}
    for hand in left_hand(round_, fingering, scale_of(key.signature), tonic):
        pressed = BassPressed(
            _pitches(fingering.box, hand.bass, hand.bellows), _pitches(fingering.box, hand.button, hand.bellows)
        )
        found.update(dict.fromkeys(range(hand.first, hand.last + 1), pressed))
    return found


def _pitches(box: Box, button: int | None, bellows: Bellows) -> tuple[int, ...]:
    if button is None:
        return ()
    pressed = box.basses[button]
    return pressed.push_pitches if bellows is Bellows.PUSH else pressed.pull_pitches
