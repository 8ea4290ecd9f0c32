"""Pitches as note names: which letter and which accidental, in a key (common practice)."""

from __future__ import annotations

from companion.tune.tune_values import Key

LETTERS = "CDEFGAB"
SEMITONES = (0, 2, 4, 5, 7, 9, 11)
_SHARPS = {1: (0, 1), 3: (1, 1), 6: (3, 1), 8: (4, 1), 10: (5, 1)}
_FLATS = {1: (1, -1), 3: (2, -1), 6: (4, -1), 8: (5, -1), 10: (6, -1)}


class Speller:
    """Spells pitches in one key: by the key's own notes where it has them, else with sharps or flats as it has."""

    def __init__(self, key: Key) -> None:
        self.alters = [0] * 7
        for letter, alter in key.signature:
            self.alters[LETTERS.index(letter)] = alter
        flat = sum(self.alters) < 0
        self._steps: dict[int, tuple[int, int]] = {}
        for pitch_class in range(12):
            own = [s for s in range(7) if (SEMITONES[s] + self.alters[s]) % 12 == pitch_class]
            if own:
                self._steps[pitch_class] = (own[0], self.alters[own[0]])
            elif pitch_class in SEMITONES:
                self._steps[pitch_class] = (SEMITONES.index(pitch_class), 0)
            else:
                self._steps[pitch_class] = (_FLATS if flat else _SHARPS)[pitch_class]

    def spell(self, pitch: int) -> tuple[int, int, int]:
        """Step (C is 0), alteration in semitones, and octave (4 begins with middle C)."""
        step, alter = self._steps[pitch % 12]
        return step, alter, (pitch - SEMITONES[step] - alter) // 12 - 1
