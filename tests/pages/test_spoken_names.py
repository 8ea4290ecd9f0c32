"""Keys and kinds of tune as players say them."""

from __future__ import annotations

import pytest

from companion.pages.spoken_names import spoken_key, spoken_rhythm

# The modes of the ABC standard 2.1, section 3.1.14 (https://abcnotation.com/wiki/abc:standard:v2.1#kkey): each spelling
# that it allows, with how it is said. Only the first three letters count, spaces may be left out, case is free.
MODES = {
    "": "major", "maj": "major", "Major": "major", "ion": "major", "Ionian": "major",
    "m": "minor", "min": "minor", "Minor": "minor", "aeo": "minor", "Aeolian": "minor",
    "mix": "mixolydian", "Mixolydian": "mixolydian", "MIX": "mixolydian",
    "dor": "dorian", "Dorian": "dorian", "phr": "phrygian", "Phrygian": "phrygian",
    "lyd": "lydian", "Lydian": "lydian", "loc": "locrian", "Locrian": "locrian",
}  # fmt: skip


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("tonic", ["E", "F#", "Bb"])
@pytest.mark.parametrize("space", ["", " "])
def test_every_mode_is_said_whole(mode: str, tonic: str, space: str) -> None:
    said = {"E": "E", "F#": "F♯", "Bb": "B♭"}[tonic]
    assert spoken_key(f"{tonic}{space}{mode}") == f"{said} {MODES[mode]}"


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("Edor", "E dorian"), ("D", "D major"), ("Em", "E minor"), ("Amix", "A mixolydian"),
        ("D mix ^c", "D mixolydian"), ("G clef=treble", "G major"), ("none", "no key"), ("", "no key"),
        ("HP", "pipes"), ("Hp", "pipes"), ("D exp _b _e ^f", "D own sharps and flats"),
        ("exp ^f", "own sharps and flats"),
    ],
)  # fmt: skip
def test_keys_as_a_player_says_them(written: str, said: str) -> None:
    assert spoken_key(written) == said


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("slip jig", "slip jig"), ("Slip-Jig", "slip jig"), ("SLIPJIG", "slip jig"), ("slip_jig", "slip jig"),
        ("Hornpipe", "hornpipe"), (" Reel ", "reel"), ("Barn Dance", "barndance"), ("", ""),
    ],
)  # fmt: skip
def test_kinds_of_tune_as_a_player_says_them(written: str, said: str) -> None:
    assert spoken_rhythm(written) == said
