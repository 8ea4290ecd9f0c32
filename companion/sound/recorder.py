"""Keeps what was played, for a machine that cannot play it: to a file without a name, so that memory stays small."""

from __future__ import annotations

import tempfile
from threading import Lock
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LONGEST = 44100 * 60 * 30  # frames: half an hour, 300 MB; what comes later is not kept


class Recorder:
    """Takes blocks of float32 (frames, 2) and gives them back as int16."""

    def __init__(self) -> None:
        self._file = tempfile.TemporaryFile(buffering=1 << 16)  # noqa: SIM115 (closed by close)
        self._lock = Lock()
        self._frames = 0

    def take(self, block: NDArray[Any]) -> None:
        """Keep a block; called from the sound thread, so it only writes to a buffer."""
        import numpy as np

        with self._lock:
            if self._frames < LONGEST and not self._file.closed:
                self._file.write((np.clip(block, -1, 1) * 32767).astype("<i2").tobytes())
                self._frames += len(block)

    def taken(self) -> NDArray[np.int16]:
        """Everything so far, shape (frames, 2)."""
        import numpy as np

        with self._lock:
            if self._file.closed:
                return self._kept
            self._file.seek(0)
            data = self._file.read()
            self._file.seek(0, 2)
        return np.frombuffer(data, "<i2").reshape(-1, 2).astype(np.int16)

    def close(self) -> None:
        """Let go of the file; what was taken stays readable."""
        self._kept = self.taken()
        with self._lock:
            self._file.close()
