"""A disk that fills up while sound is kept or written: it is said, playing goes on, nothing half-written is left."""

from __future__ import annotations

import errno
import io
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.errors import UserError
from companion.sound.files import write_sound
from companion.sound.recorder import Recorder
from companion.sound.speaker import RATE, DeviceSpeaker, open_speaker

NOISE = np.random.default_rng(4).uniform(-0.5, 0.5, (RATE * 12, 2)).astype(np.float32)


class SmallDisk(io.BytesIO):
    """A file on a disk that has room for so many bytes; what no longer fits whole is taken in part, as systems do."""

    def __init__(self, room: int) -> None:
        super().__init__()
        self.room = room

    def write(self, data: object) -> int:
        left = self.room - self.tell()
        if left <= 0:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(memoryview(data)[:left])  # type: ignore[arg-type]


@pytest.fixture
def small_disk(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    def of(room: int) -> None:
        monkeypatch.setattr(tempfile, "TemporaryFile", lambda **_: SmallDisk(room))

    return of


@pytest.fixture
def speaker(monkeypatch: pytest.MonkeyPatch, small_disk: Callable[[int], None]) -> Iterator[DeviceSpeaker]:
    small_disk(20_000)
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    opened = open_speaker(record=True)
    yield opened
    opened.close()


def test_a_full_disk_is_said_and_the_sound_goes_on(speaker: DeviceSpeaker) -> None:
    until = time.perf_counter() + 10
    while not speaker.unkept and time.perf_counter() < until:
        time.sleep(0.01)
    assert "no space left on device" in speaker.unkept
    assert speaker.unkept.count(".") == 1
    # The tape is still taken: the thread that feeds the device lives.
    was = speaker._tape.taken
    while speaker._tape.taken < was + RATE // 5 and time.perf_counter() < until:
        time.sleep(0.01)
    assert speaker._tape.taken >= was + RATE // 5
    assert speaker.recording().shape == (0, 2)
    speaker.close()
    assert speaker.recording().shape == (0, 2)


@pytest.mark.parametrize("room", [0, 1, 4000, 4001, 7999])
def test_what_was_kept_of_half_a_session_passes_for_nothing(small_disk: Callable[[int], None], room: int) -> None:
    small_disk(room)
    recorder = Recorder()
    for first in range(0, 2000, 500):
        recorder.take(NOISE[first : first + 500])
    assert recorder.failed
    assert len(recorder.taken()) == 0
    recorder.close()
    assert len(recorder.taken()) == 0


def test_a_disk_that_is_just_large_enough(small_disk: Callable[[int], None]) -> None:
    small_disk(8000)
    recorder = Recorder()
    for first in range(0, 2000, 500):
        recorder.take(NOISE[first : first + 500])
    recorder.close()
    assert not recorder.failed
    assert np.abs(recorder.taken() / 32767 - NOISE[:2000]).max() < 1 / 32000


def test_no_folder_for_it_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(**_: object) -> None:
        raise FileNotFoundError(errno.ENOENT, "No usable temporary directory found")

    monkeypatch.setattr(tempfile, "TemporaryFile", none)
    recorder = Recorder()
    recorder.take(NOISE[:500])
    recorder.close()
    assert "no usable temporary directory found" in recorder.failed
    assert len(recorder.taken()) == 0


@pytest.fixture
def most_bytes() -> Iterator[Callable[[int], None]]:
    """Lets no file become larger than so many bytes, where the system can be asked for that."""
    if sys.platform == "win32":
        pytest.skip("the system sets no such limit")
    import resource

    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    yield lambda room: resource.setrlimit(resource.RLIMIT_FSIZE, (room, before[1]))
    resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("share", [0.2, 0.7, 0.999])
@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "mp3"])
def test_a_sound_file_is_whole_or_not_there(
    tmp_path: Path, most_bytes: Callable[[int], None], ending: str, share: float
) -> None:
    whole = tmp_path / f"whole.{ending}"
    write_sound(whole, NOISE[: 3 * RATE], RATE)
    room = int(whole.stat().st_size * share)
    whole.unlink()
    most_bytes(room)
    with pytest.raises(UserError, match=os.strerror(errno.EFBIG).lower()):
        write_sound(tmp_path / f"cut.{ending}", NOISE[: 3 * RATE], RATE)
    assert not list(tmp_path.iterdir())
