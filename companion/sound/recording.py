"""A recording of yours: read where it is needed, its bars tied to the tune's, slowed down to a passage.

Conventions: seconds count from the beginning of the recording, places (whole notes) from that of the tune's round;
sound is float32 of shape (frames, 2).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from companion.errors import Place, UserError
from companion.sound.rates import at_rate
from companion.sound.stretcher import stretched
from companion.sound.tempi import BPM

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]

MARGIN_S = 0.1  # before and after the cut, so that the stretching settles outside it
IN_S, OUT_S = 0.004, 0.015  # fades at the edges of a cut
UNEVEN = 0.2  # of a beat: a tap further off than this from an even beat is a slip
FEWEST_TAPS = 4


class Recording:
    """A sound file. Only what is asked for is read, so that hours of it need no room.

    Raises
    ------
    UserError : the file is not there, or is no sound that can be read.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        with self._open() as file:
            self.rate = int(file.samplerate)
            self.seconds = float(file.frames) / self.rate
        if self.seconds <= 0:
            raise UserError("there is no sound in this recording; choose another", Place(path))

    def part(self, start: float, end: float) -> Sound:
        """What sounds between two moments; silence where the recording has none."""
        import numpy as np
        import soundfile

        first, last = round(start * self.rate), round(end * self.rate)
        try:
            with self._open() as file:
                begin = min(max(0, first), file.frames)
                file.seek(begin)
                read = file.read(max(0, last - begin), dtype="float32", always_2d=True)
        except (soundfile.SoundFileError, RuntimeError) as error:
            message = f"this recording is broken at {start:.1f} s ({error}); choose another"
            raise UserError(message, Place(self.path)) from error
        sound = np.zeros((last - first, 2), np.float32)
        sound[begin - first : begin - first + len(read)] = read[:, :2] if read.shape[1] > 1 else np.repeat(read, 2, 1)
        return sound

    def _open(self) -> Any:
        import soundfile

        if not self.path.is_file():
            raise UserError("there is no such recording; check its name", Place(self.path))
        try:
            return soundfile.SoundFile(self.path)
        except (soundfile.SoundFileError, RuntimeError) as error:
            reason = str(error).rsplit(":", 1)[-1].strip().rstrip(".").lower()
            raise UserError(
                f"this sound cannot be read ({reason}); give a WAV, FLAC, OGG or MP3 file", Place(self.path)
            ) from error


@dataclass(frozen=True, slots=True)
class Tied:
    """A recording whose beats are known: its first full bar begins at `first` seconds, and goes at `bpm`.

    `beat` is the beat's length, `pickup` what the round has before its first full bar, both in whole notes.
    """

    recording: Recording
    first: float
    bpm: float
    beat: Fraction
    pickup: Fraction

    def seconds(self, at: Fraction) -> float:
        """When a place of the round sounds in the recording."""
        return self.first + float((at - self.pickup) / self.beat) * 60 / self.bpm

    def cut(self, start: Fraction, length: Fraction, frames: int, rate: int, shift: int = 0) -> Sound:
        """A stretch of the round at the tempo at which it lasts so many frames.

        Parameters
        ----------
        start, length : the stretch, in whole notes of the round.
        frames : how long it is to be, at `rate` a second; it rings on beyond them by a short fade.
        shift : semitones up.

        Raises
        ------
        UserError : the recording is over before that, or the tempo is too far from its own.
        """
        import numpy as np

        begin, end = self.seconds(start), self.seconds(start + length)
        if begin < -MARGIN_S or end > self.recording.seconds + 2 * MARGIN_S:
            raise UserError(
                f"this recording lasts {self.recording.seconds:.1f} s, and the piece would be at {begin:.1f} to "
                f"{end:.1f} s of it; choose another piece, or check the first beat and its tempo",
                Place(self.recording.path),
            )
        source = self.recording.part(begin - MARGIN_S, end + MARGIN_S)
        share = (end - begin) * rate / frames
        own = self.recording.rate
        slow = at_rate(stretched(source, own, share, shift), own, rate)
        skip = round(MARGIN_S / share * rate)
        rise, fall = round(IN_S * rate), round(OUT_S * rate)
        made = np.zeros((frames + fall, 2), np.float32)
        part = slow[skip : skip + frames + fall]
        made[: len(part)] = part
        made[:rise] *= np.linspace(0, 1, rise, endpoint=False, dtype=np.float32)[:, None]
        made[frames:] *= np.linspace(1, 0, fall, endpoint=False, dtype=np.float32)[:, None]
        return made


def beats_of_taps(taps: Sequence[float]) -> tuple[float, float]:
    """The first beat (s) and the beats a minute of taps, one on each beat: the even beat that fits them best.

    Raises
    ------
    UserError : too few taps, not in order, or too uneven to be one on each beat.
    """
    import numpy as np

    if len(taps) < FEWEST_TAPS:
        raise UserError(
            f"{len(taps)} taps are too few to know the beat by; give {FEWEST_TAPS} or more, one on each beat"
        )
    if any(after <= before for before, after in pairwise(taps)):
        raise UserError("the taps are not in order; give their moments in seconds, one after the other")
    numbers = np.arange(len(taps))
    each, first = np.polyfit(numbers, np.asarray(taps, float), 1)
    off = np.abs(first + each * numbers - taps) / each
    if off.max() > UNEVEN:
        worst = int(off.argmax())
        raise UserError(
            f"tap {worst + 1} (at {taps[worst]:g} s) is {100 * off[worst]:.0f}% of a beat off; tap once on each beat"
        )
    bpm = 60 / float(each)
    if not BPM[0] <= bpm <= BPM[1]:
        raise UserError(f"these taps make {bpm:.0f} beats a minute; give {BPM[0]:.0f} to {BPM[1]:.0f}")
    return float(first), bpm
