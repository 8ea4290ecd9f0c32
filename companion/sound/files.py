"""Sound and MIDI files out. Nothing half-written: a file appears under its name when it is whole."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from companion.errors import Place, UserError
from companion.sound.score import Passage, SoundVoice
from companion.timeline import Timeline
from companion.whole_file import whole_file

if TYPE_CHECKING:
    from numpy.typing import NDArray

SOUND = {
    ".wav": ("WAV", "PCM_16"),
    ".flac": ("FLAC", "PCM_16"),
    ".ogg": ("OGG", "VORBIS"),
    ".mp3": ("MP3", "MPEG_LAYER_III"),
}
MIDI = (".mid", ".midi")
TICKS = 960  # a crotchet
PAN, LEFT, RIGHT = 10, 16, 112  # controller "pan" and its values: 64 is the middle (MIDI 1.0)
BLOCK = 65536  # frames written at a time: libsndfile's Vorbis encoder overflows its stack on very long ones
ACCORDION, PERCUSSION = 21, 9  # General MIDI: program 22 counted from 1, and the channel of percussion from 0


def is_midi(path: Path) -> bool:
    """Whether a file's name asks for MIDI. Raises UserError where it asks for nothing that can be written."""
    ending = path.suffix.lower()
    if ending in MIDI:
        return True
    if ending in SOUND:
        return False
    raise UserError(f'"{path.name}" should end in .wav, .flac, .ogg, .mp3 or .mid')


def write_sound(path: Path, sound: NDArray[Any], rate: int) -> None:
    """Write sound, float (full scale 1) or int16, of shape (frames, channels), as the file's ending says.

    Raises
    ------
    UserError : an unknown ending, no such folder, or a place that cannot be written.
    """
    write_blocks(path, (sound[first : first + BLOCK] for first in range(0, len(sound), BLOCK)), rate, sound.shape[1])


def write_blocks(path: Path, blocks: Iterable[NDArray[Any]], rate: int, channels: int = 2) -> None:
    """As :func:`write_sound`, block after block."""
    import numpy as np

    if is_midi(path):
        raise UserError(f'"{path.name}" is a MIDI file; sound goes into .wav, .flac, .ogg or .mp3')
    import soundfile

    kind, detail = SOUND[path.suffix.lower()]
    with whole_file(path) as beside:
        out = _Out(beside)
        try:
            with out, soundfile.SoundFile(out, "w", rate, channels, detail, format=kind) as file:
                for block in blocks:
                    sound = block if block.dtype == np.int16 else np.clip(block, -1.0, 1.0)
                    for first in range(0, len(sound), BLOCK):
                        file.write(sound[first : first + BLOCK])
                        out.check()
        except soundfile.SoundFileError as error:
            raise UserError(f"the sound cannot be written as {kind} ({error}); try .wav.", Place(path)) from error
        out.check()


class _Out:
    """A file that libsndfile writes to, which remembers what the disk said: libsndfile hands on no reason, and drops
    the error of its last write, so that what a full disk has cut short would pass for whole.
    """

    def __init__(self, path: Path) -> None:
        self._file = path.open("w+b", buffering=0)
        self._error: OSError | None = None
        self.read, self.seek, self.tell = self._file.read, self._file.seek, self._file.tell

    def __enter__(self) -> None:
        pass

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def write(self, data: Any) -> int:
        """As a file's, but all seems well to libsndfile where it fails; `check` says it."""
        left = memoryview(data).cast("B")
        try:
            while left and self._error is None:
                left = left[self._file.write(left) :]
        except OSError as error:
            self._error = error
        return len(data)

    def check(self) -> None:
        """Raises OSError where something could not be written."""
        if self._error is not None:
            raise self._error


def write_midi(path: Path, passage: Passage, timeline: Timeline, *, title: str = "") -> None:
    """Write a passage as a Standard MIDI file: melody and basses on channels 1 to 3, a take on 5, clicks on percussion.

    With a take, the others go to the left and the take to the right.

    Times are kept as they are in the passage, in ticks at the timeline's tempo (960 a crotchet).

    Raises
    ------
    UserError : as :func:`write_sound`.
    """
    if not is_midi(path):
        raise UserError(f'"{path.name}" should end in .mid')
    with whole_file(path) as beside:
        _midi(passage, timeline, title).save(str(beside))


def _midi(passage: Passage, timeline: Timeline, title: str) -> Any:
    import mido

    crotchet = timeline.whole / 4
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS, charset="utf-8")
    head = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=min(0xFFFFFF, round(crotchet * 1e6)))])
    if title:
        head.insert(0, mido.MetaMessage("track_name", name=title))
    crotchet = min(0xFFFFFF, round(crotchet * 1e6)) / 1e6
    file.tracks.append(head)
    voices = [voice for voice in SoundVoice if any(tone.voice is voice for tone in passage.tones)]
    for voice in voices:
        channel = PERCUSSION if voice is SoundVoice.CLICK else list(SoundVoice).index(voice)
        track = mido.MidiTrack([mido.MetaMessage("track_name", name=voice.value)])
        if voice is not SoundVoice.CLICK:
            track.append(mido.Message("program_change", channel=channel, program=ACCORDION))
        if SoundVoice.TAKE in voices and voice is not SoundVoice.CLICK:
            side = RIGHT if voice is SoundVoice.TAKE else LEFT
            track.append(mido.Message("control_change", channel=channel, control=PAN, value=side))
        at = 0
        for tick, message in sorted(_events(passage, voice, channel, crotchet), key=lambda event: event[0]):
            track.append(message.copy(time=tick - at))
            at = tick
        track.append(mido.MetaMessage("end_of_track", time=max(0, round(passage.seconds / crotchet * TICKS) - at)))
        file.tracks.append(track)
    return file


def _events(passage: Passage, voice: SoundVoice, channel: int, crotchet: float) -> Iterator[tuple[int, Any]]:
    """Note messages with their ticks; an end before a beginning on the same tick, so that repeats are heard apart."""
    import mido

    for tone in passage.tones:
        if tone.voice is voice and 0 <= tone.pitch <= 127:
            on = round(tone.start / crotchet * TICKS)
            off = max(on + 1, round((tone.start + tone.length) / crotchet * TICKS))
            yield off, mido.Message("note_off", channel=channel, note=tone.pitch)
            yield on, mido.Message("note_on", channel=channel, note=tone.pitch, velocity=tone.velocity)
