"""What the beats of a tune are called in words."""

from __future__ import annotations

BEATS = {
    "1/8": "quaver",
    "1/4": "crotchet",
    "3/8": "dotted crotchet",
    "1/2": "minim",
    "3/4": "dotted minim",
    "1": "semibreve",
}


def beat_name(beat: object) -> str:
    """What a beat of this length (whole notes) is called."""
    return BEATS.get(str(beat), f"{beat} note")
