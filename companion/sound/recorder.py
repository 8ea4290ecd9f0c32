"""Keeps what was played, for a machine that cannot play it: in a nameless file, so that memory stays small."""

from __future__ import annotations

import contextlib
import tempfile
from threading import Lock
from typing import IO, TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LONGEST = 44100 * 60 * 30  # frames: half an hour, 300 MB; what comes later is not kept
FRAME_BYTES = 4  # two channels of int16


class Recorder:
    """Takes blocks of float32 (frames, 2) and gives them back as int16.

    Where the disk is full, or fails, `failed` says so, and nothing is kept any more: what there was is given back to
    the disk, where the record of practice needs the room, and half a session never passes for a whole one.
    """

    def __init__(self) -> None:
        self.failed = ""
        self._lock = Lock()
        self._frames = 0
        self._kept = b""  # what was in the file, once it is closed
        self._file: IO[bytes] | None = None
        try:
            # Unbuffered: on a full disk, what is left in a buffer would fail again whenever the file is touched.
            self._file = tempfile.TemporaryFile(buffering=0)  # noqa: SIM115 (closed by close)
        except OSError as error:
            self._fail(error)

    def take(self, block: NDArray[Any]) -> None:
        """Keep a block; called from the sound thread, so nothing may come out of it but silence."""
        import numpy as np

        with self._lock:
            if self._file is None or self._frames >= LONGEST:
                return
            data = (np.clip(block, -1, 1) * 32767).astype("<i2").tobytes()
            try:
                while data:
                    data = data[self._file.write(data) :]  # a nearly full disk takes only part of it
                self._frames += len(block)
            except OSError as error:
                self._fail(error)

    def taken(self) -> NDArray[np.int16]:
        """Everything so far, shape (frames, 2)."""
        import numpy as np

        with self._lock:
            data = self._kept if self._file is None else self._read()
        return np.frombuffer(data, "<i2").reshape(-1, 2).astype(np.int16)

    def close(self) -> None:
        """Let go of the file; what was taken stays readable."""
        with self._lock:
            if self._file is None:
                return
            self._kept = self._read()
            self._let_go()

    def _read(self) -> bytes:
        assert self._file is not None
        try:
            self._file.seek(0)
            data = bytes(self._file.read(self._frames * FRAME_BYTES))
            self._file.seek(0, 2)
        except OSError as error:
            self._fail(error)
            return b""
        return data

    def _fail(self, error: OSError) -> None:
        reason = (error.strerror or "the disk fails").lower()
        self.failed = f"The sound of this session is not kept ({reason}); you can play on."
        self._frames = 0
        self._let_go()

    def _let_go(self) -> None:
        if self._file is not None:
            with contextlib.suppress(OSError):
                self._file.close()
        self._file = None
