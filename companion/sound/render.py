"""From a passage's tones to its sound.

Conventions: sound is float32 of shape (frames, 2), full scale being 1, not to be written to, and runs on beyond the
passage's frames by what still rings. Each tone begins on its exact frame.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

from companion.sound.bank import open_bank
from companion.sound.score import Passage, SoundVoice
from companion.sound.sound_settings import VoiceSettings, soundfont_path
from companion.sound.tones import Tones

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]


class Renderer:
    """Renders passages with one soundfont; keeps the tones that it has made, so that a new tempo costs next to nothing.

    Parameters
    ----------
    voices : the soundfont, its programs, and how long a note fades.
    rate : frames a second. `concert` : A4 in Hz.
    apart : whether the tune goes to one side and a take to the other, as far as the settings say.

    Raises
    ------
    UserError : there is no such soundfont, or it is broken.
    """

    def __init__(
        self, voices: VoiceSettings, *, rate: int = 44100, concert: float = 440.0, apart: bool = False
    ) -> None:
        self.voices = voices
        self.rate = rate
        self._tones = Tones(open_bank(soundfont_path(voices)), rate, concert)
        # The click is always ours, whatever soundfont plays the tune, and keeps its pitch.
        self._clicks = Tones(open_bank(soundfont_path(_ours(voices))), rate)
        self._programs = {
            SoundVoice.MELODY: voices.melody,
            SoundVoice.BASS: voices.bass,
            SoundVoice.CHORD: voices.chord,
            SoundVoice.TAKE: voices.take,
        }
        self._sides = _sides(min(1.0, voices.apart)) if apart else _middle()

    def render(self, passage: Passage, levels: Mapping[SoundVoice, float] | None = None) -> Sound:
        """The passage's sound. `levels` are factors of amplitude a voice, 1 where none is given."""
        import numpy as np

        fade = _fade(round(self.voices.release_s * self.rate))
        pieces = []
        longest = passage.frames
        for tone in passage.tones:
            level = 1.0 if levels is None else levels.get(tone.voice, 1.0)
            frames = round(tone.length * self.rate)
            if level > 0 and frames > 0:
                first = round(tone.start * self.rate)
                sound, frames = self._sound(tone.voice, tone.pitch, frames, len(fade))
                pieces.append(
                    (first, sound, frames, np.float32((tone.velocity / 127) ** 2 * level) * self._sides[tone.voice])
                )
                longest = max(longest, first + len(sound))
        # Render once what is in the middle, for both sides: half the time, half the memory.
        sides = 1 if all(sound.strides[1] == 0 and np.ndim(gain) == 0 for _, sound, _, gain in pieces) else 2
        out = np.zeros((longest, sides), np.float32)
        for first, whole, frames, gain in pieces:
            sound = whole[:, :sides]
            out[first : first + frames] += sound[:frames] * gain
            rest = len(sound) - frames
            if rest > 0:
                out[first + frames : first + len(sound)] += sound[frames:] * (fade[:rest, None] * gain)
        return np.broadcast_to(out, (longest, 2))

    def voices_of(self, passage: Passage) -> dict[str, Sound]:
        """The passage's sound voice by voice, by name: what a speaker can set the level of while it sounds."""
        voices = {tone.voice for tone in passage.tones}
        silent = dict.fromkeys(SoundVoice, 0.0)
        return {voice.value: self.render(passage, silent | {voice: 1.0}) for voice in SoundVoice if voice in voices}

    def _sound(self, voice: SoundVoice, pitch: int, frames: int, fade: int) -> tuple[Sound, int]:
        """One tone at full velocity, and from which frame it fades; a click rings out by itself."""
        if voice is SoundVoice.CLICK:
            click = self._clicks.tone(self.voices.click, pitch, 127, self.rate // 2)
            return click, len(click)
        tone = self._tones.tone(self._programs[voice], pitch, 127, frames + fade)[: frames + fade]
        return tone, min(frames, len(tone))


def _middle() -> Mapping[SoundVoice, np.float32 | NDArray[np.float32]]:
    import numpy as np

    return dict.fromkeys(SoundVoice, np.float32(1.0))


def _sides(apart: float) -> Mapping[SoundVoice, np.float32 | NDArray[np.float32]]:
    """Factors for left and right, a voice: the tune goes left, a take right, the click stays in the middle."""
    import numpy as np

    left, right = np.array([1.0, 1.0 - apart], np.float32), np.array([1.0 - apart, 1.0], np.float32)
    return dict.fromkeys(SoundVoice, left) | {SoundVoice.TAKE: right, SoundVoice.CLICK: np.ones(2, np.float32)}


@lru_cache(maxsize=4)
def _fade(frames: int) -> NDArray[np.float32]:
    """Half a cosine from 1 to 0: no click where it begins or ends."""
    import numpy as np

    return (0.5 + 0.5 * np.cos(np.pi * np.arange(1, frames + 1) / max(1, frames))).astype(np.float32)


def _ours(voices: VoiceSettings) -> VoiceSettings:
    from dataclasses import replace

    return replace(voices, soundfont="reeds.sf2")
