"""What is to be played, end to end, exact to the frame: passages in, blocks of frames out. Knows no device and no time.

Conventions: sound is float32 of shape (frames, 2); places are frames, counted from the moment the tape began to run.
The tape always runs: where nothing is laid, it is silent. It is handed out a little before it is taken, that is, before
it can no longer be changed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from threading import Lock
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]


PART = 1 << 18  # frames: six seconds, large enough that the system gets the memory back


@dataclass(frozen=True, slots=True)
class Parts:
    """A passage's sound in parts, each with its place in the passage and its voice, which can be let go of as they are
    played: a tune three times round takes 75 MB.

    To make it takes milliseconds a minute, so it is made before a device is to be overtaken.
    """

    parts: tuple[tuple[int, str, Sound], ...]

    @classmethod
    def of(cls, sound: Sound | Mapping[str, Sound]) -> Parts:
        """The whole of it, or its voices by name. What is in the middle (numpy's stride of 0) is kept once, as shape
        (frames, 1); silence is not kept.
        """
        voices = sound if isinstance(sound, Mapping) else {"": sound}
        return cls(tuple((at, voice, part) for voice, one in voices.items() for at, part in _cut_up(one)))


def _cut_up(sound: Sound) -> Iterator[tuple[int, Sound]]:
    middle = sound.strides[1] == 0
    for first in range(0, len(sound), PART):
        part = sound[first : first + PART, : 1 if middle else 2]
        if part.any():
            yield first, part.copy()


class Tape:
    """A tape that any thread may lay sound on while another hands it out.

    Parameters
    ----------
    rate : frames a second. `fade_s` : how long a cut takes to fall to silence.
    guard : frames after what has been taken that are left as they are, since they may be taken in the meantime.
    """

    def __init__(self, rate: int, fade_s: float, guard: int = 0) -> None:
        self.rate = rate
        self._guard = guard
        self._fade = max(1, round(fade_s * rate))
        self._lock = Lock()
        self._laid: list[tuple[int, str, Sound]] = []
        self._levels: dict[str, tuple[int, float, float]] = {}  # from which frame on, from which level, to which
        self._taken = self._handed = 0
        self._end = 0

    @property
    def taken(self) -> int:
        """How many frames are out of reach."""
        return self._taken

    @property
    def handed(self) -> int:
        """How many frames have been handed out."""
        return self._handed

    @property
    def end(self) -> int:
        """Where the next passage would begin: the end of the last one, or the first frame that may be changed."""
        return max(self._end, self._taken + self._guard)

    @property
    def held(self) -> int:
        """Bytes of the sound that is still to come."""
        with self._lock:
            return sum(part.nbytes for _, _, part in self._laid)

    def lay(self, sound: Sound | Mapping[str, Sound] | Parts, frames: int) -> int:
        """Lay a passage that takes `frames`; what `sound` has beyond them rings on into what follows.

        Parameters
        ----------
        sound : the whole of it, or its voices by name, whose levels can change while they sound (:meth:`level`).

        Returns
        -------
        The frame on which it begins. What was handed out from there on is to be handed out again (:meth:`back`).
        """
        if frames < 0:
            raise ValueError(f"a passage of {frames} frames")
        laid = sound if isinstance(sound, Parts) else Parts.of(sound)
        with self._lock:
            start = self.end
            self._end = start + frames
            self._laid += [(start + at, voice, part) for at, voice, part in laid.parts]
            return start

    def level(self, voice: str, factor: float) -> int:
        """Let a voice be so loud from now on: a factor of amplitude, reached within a short fade.

        Returns
        -------
        The frame from which on it changes. What was handed out from there on is to be handed out again.
        """
        with self._lock:
            since = self._taken + self._guard
            self._levels[voice] = (since, float(self._gain(voice, since, 1)[0]), factor)
            return since

    def cut(self, at: int = 0) -> int:
        """Take off what is laid from frame `at` on, or has not been taken, with a short fade; the next passage begins
        there.

        Returns
        -------
        The frame on which the fade begins. What was handed out from there on is to be handed out again.
        """
        with self._lock:
            start = max(at, self._taken + self._guard)
            self._laid = [
                (place, voice, sound if place + len(sound) <= start else self._faded(sound, start - place))
                for place, voice, sound in self._laid
                if place < start
            ]
            self._end = start
            return start

    def _faded(self, sound: Sound, at: int) -> Sound:
        """A part that falls to silence from its frame `at` on."""
        import numpy as np

        short = sound[: at + self._fade].copy()
        ramp = 0.5 + 0.5 * np.cos(np.pi * np.arange(len(short) - at) / self._fade)
        short[at:] *= ramp[:, None].astype(np.float32)
        return short

    def kept(self) -> object:
        """What is laid and how loud, for :meth:`restore`."""
        with self._lock:
            return list(self._laid), self._end, dict(self._levels)

    def restore(self, kept: Any) -> None:
        """Undo what was laid, cut or set since :meth:`kept`."""
        with self._lock:
            laid, self._end, levels = kept
            self._laid, self._levels = list(laid), dict(levels)

    def peek(self, frames: int) -> Sound:
        """The next frames after what has been taken, as they are now."""
        with self._lock:
            block: Sound = self._mix(self._taken, frames)
            return block

    def hand_to(self, frame: int) -> None:
        """What lies before a frame has been handed out."""
        with self._lock:
            self._handed = frame

    def hand_out(self, frames: int) -> Sound:
        """The next `frames`."""
        with self._lock:
            block: Sound = self._mix(self._handed, frames)
            self._handed += frames
            return block

    def back(self) -> None:
        """Take back what was handed out and not taken."""
        with self._lock:
            self._handed = self._taken

    def take(self, frames: int) -> Sound:
        """Of what was handed out, `frames` can no longer be changed; gives them."""
        with self._lock:
            block: Sound = self._mix(self._taken, frames)
            self._taken += frames
            self._handed = max(self._handed, self._taken)
            self._laid = [one for one in self._laid if one[0] + len(one[2]) > self._taken]
            return block

    def _mix(self, start: int, frames: int) -> Any:
        import numpy as np

        block = np.zeros((frames, 2), np.float32)
        for at, voice, sound in self._laid:
            first, last = max(start, at), min(start + frames, at + len(sound))
            if first < last and voice not in self._levels:
                block[first - start : last - start] += sound[first - at : last - at]
            elif first < last:
                gain = self._gain(voice, first, last - first)[:, None]
                block[first - start : last - start] += sound[first - at : last - at] * gain
        return block

    def _gain(self, voice: str, start: int, frames: int) -> NDArray[np.float32]:
        """A voice's level frame by frame; half a cosine leads from one to another."""
        import numpy as np

        since, before, after = self._levels.get(voice, (0, 1.0, 1.0))
        way = np.clip((np.arange(start, start + frames) - since) / self._fade, 0, 1)
        return (after + (before - after) * (0.5 + 0.5 * np.cos(np.pi * way))).astype(np.float32)
