"""A sound file read whole: WAV, FLAC, OGG and MP3 by soundfile, what phones make besides (M4A, AAC …) by PyAV.

Conventions: sound is float32 of shape (frames,), one channel, full scale 1.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from companion.errors import Place, UserError
from companion.sound.quiet import nothing_on_terminal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Sound = NDArray[np.float32]

# Files with these endings are taken for recordings in a folder; a video among them is told of, and not passed over.
ENDINGS = (
    ".wav", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".aif", ".aiff", ".caf",
    ".m4a", ".aac", ".mp4", ".3gp", ".amr", ".webm", ".wma", ".mov", ".mkv", ".avi",
)  # fmt: skip
LONGEST = 2 * 3600.0  # seconds
LEAST_RATE = 8000  # frames a second: below it, half of a box's notes have only their fundamental left
_BLOCK = 1 << 18  # frames read at a time

_NO_SOUND = "There is no sound in this recording; record it again, or give another file."
_DAMAGED = "The recording is damaged or cut short; copy it again from where it was made, or record it again."
_UNKNOWN = "This is not a recording that can be read; give WAV, FLAC, OGG, MP3 or M4A."
_VIDEO = "This is a video; save its sound by itself, as M4A or WAV, and give that."


def read_sound(path: Path | str) -> tuple[Sound, int]:
    """Read a sound file whole: its sound, all channels in one, and its rate in frames a second.

    Raises
    ------
    UserError
        Where the file is not there, empty, damaged, cut short, longer than two hours, a video, or no sound at all.
    """
    import numpy as np

    path = Path(path)
    first = _first_bytes(path)
    demuxer = _demuxer(first)
    if first[:4] == b"RIFF" and first[8:12] == b"AVI ":
        raise UserError(_VIDEO, Place(path))
    blocks, rate, expected = _with_av(path, demuxer) if demuxer else _with_soundfile(path, first)
    sound: Sound = np.concatenate(blocks) if blocks else np.zeros(0, np.float32)
    if not len(sound):
        raise UserError(_DAMAGED if expected else _NO_SOUND, Place(path))
    if not np.isfinite(sound).all():
        raise UserError(_DAMAGED, Place(path))
    # A coder may leave off some frames at the end; a tenth of a second is lost music.
    if len(sound) < expected - rate / 10:
        raise UserError(_DAMAGED, Place(path))
    return sound, rate


def _first_bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            first = file.read(64)
    except FileNotFoundError as error:
        raise UserError("There is no such recording; check its name.", Place(path)) from error
    except IsADirectoryError as error:
        raise UserError("This is a folder; name a recording in it.", Place(path)) from error
    except OSError as error:
        raise UserError(f"The recording cannot be read: {error.strerror}.", Place(path)) from error
    if not first:
        raise UserError("The recording is empty; record it again, or give another file.", Place(path))
    return first


def _demuxer(first: bytes) -> str:
    """The name by which PyAV knows a kind of file that soundfile does not read; "" for any other.

    Told by the first bytes and never guessed by PyAV: some of the kinds that it knows name addresses to fetch.
    """
    if first[4:8] in (b"ftyp", b"moov", b"mdat", b"wide"):
        return "mov"
    if first[:2] in (b"\xff\xf0", b"\xff\xf1", b"\xff\xf8", b"\xff\xf9"):
        return "aac"
    kinds = {b"#!AMR": "amr", b"\x1a\x45\xdf\xa3": "matroska", b"\x30\x26\xb2\x75": "asf"}
    return next((name for begins, name in kinds.items() if first.startswith(begins)), "")


def _check(path: Path, rate: int, seconds: float) -> None:
    if seconds > LONGEST:
        raise UserError(f"This recording lasts {seconds / 3600:.1f} hours; give one of two hours at most.", Place(path))
    if rate < LEAST_RATE:
        message = f"This recording has {rate} frames a second, too few to tell notes by; record at 44100 or 48000."
        raise UserError(message, Place(path))


def _with_soundfile(path: Path, first: bytes) -> tuple[list[Sound], int, int]:
    """The sound in blocks, the rate, and how many frames the file says that it has."""
    import soundfile

    if first[:4] == b"RIFF":
        named = int.from_bytes(first[4:8], "little")
        # A recorder that was stopped leaves 0, one that writes as it goes the most there can be: both say nothing.
        if path.stat().st_size < named + 8 < 1 << 32 and first[8:12] == b"WAVE":
            raise UserError(_DAMAGED, Place(path))
    try:
        with nothing_on_terminal():  # the MP3 decoder prints by itself
            file = soundfile.SoundFile(path)
    except (soundfile.SoundFileError, RuntimeError) as error:
        known = first[:4] in (b"RIFF", b"fLaC", b"OggS", b"FORM", b"caff") or first[:3] == b"ID3"
        raise UserError(_DAMAGED if known else _UNKNOWN, Place(path)) from error
    blocks: list[Sound] = []
    with file, nothing_on_terminal():
        rate, frames = int(file.samplerate), int(file.frames)
        _check(path, rate, frames / rate)
        try:
            while len(block := file.read(_BLOCK, dtype="float32", always_2d=True)):
                blocks.append(block.mean(axis=1, dtype=block.dtype))
                _check(path, rate, sum(map(len, blocks)) / rate)
        except (soundfile.SoundFileError, RuntimeError) as error:
            raise UserError(_DAMAGED, Place(path)) from error
    return blocks, rate, frames


def _with_av(path: Path, demuxer: str) -> tuple[list[Sound], int, int]:
    """As `_with_soundfile`, of what phones make."""
    try:
        import av
        from av.error import FFmpegError
    except ImportError:
        message = "This kind of recording cannot be read here; save it as WAV (ffmpeg -i take.m4a take.wav)."
        raise UserError(message, Place(path)) from None
    try:
        with path.open("rb") as bytes_, av.open(bytes_, format=demuxer) as file:
            if any(not stream.disposition & stream.disposition.attached_pic for stream in file.streams.video):
                raise UserError(_VIDEO, Place(path))
            if not file.streams.audio:
                raise UserError(_NO_SOUND, Place(path))
            stream = file.streams.audio[0]
            rate = int(stream.codec_context.sample_rate)
            # Elsewhere the length is a guess of the demuxer's.
            told = demuxer == "mov" and stream.duration is not None and stream.time_base is not None
            seconds = float(stream.duration * stream.time_base) if told else 0.0
            _check(path, rate, seconds)
            blocks = list(_decoded(path, file, stream, rate))
    except FFmpegError as error:
        raise UserError(_DAMAGED, Place(path)) from error
    return blocks, rate, round(seconds * rate)


def _decoded(path: Path, file: Any, stream: Any, rate: int) -> Iterator[Sound]:
    from av import AudioResampler

    as_float = AudioResampler(format="fltp", rate=rate)
    seconds = 0.0
    for frame in file.decode(stream):
        for part in as_float.resample(frame):
            block = part.to_ndarray()
            yield block.mean(axis=0, dtype=block.dtype)
            seconds += block.shape[1] / rate
        _check(path, rate, seconds)
    for part in as_float.resample(None):
        yield part.to_ndarray().mean(axis=0, dtype="float32")
