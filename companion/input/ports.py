"""Which MIDI ports this machine has, and how to reach them.

python-rtmidi through mido where it is installed: the system's own MIDI, or on Linux the ALSA sequencer, or a JACK
server where there is no sequencer. Without python-rtmidi (Python 3.13), PortMidi inside pygame.
"""

from __future__ import annotations

import contextlib
import os
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Protocol

_RTMIDI = "mido.backends.rtmidi"
_PYGAME = "mido.backends.pygame"
_SEQUENCER = Path("/dev/snd/seq")
# What may wait in the driver's queue: eight seconds of 1,000 notes a second.
_DRIVER_QUEUE = 8192
# The ALSA sequencer puts the client's and the port's number behind the name; they change when an instrument comes back.
_NUMBERS = re.compile(r"\s+\d+:\d+$")


@dataclass(frozen=True, slots=True)
class Ports:
    """Names of the inputs and outputs, mido's name of the backend, and in one line what is missing ("" if nothing)."""

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    backend: str
    problem: str = ""


def list_ports() -> Ports:
    """The MIDI ports that are there now. Never raises: `problem` says why there are none."""
    backend, problem = backend_name()
    if problem:
        return Ports((), (), backend, problem)
    try:
        loaded = load_backend(backend)
        return Ports(tuple(loaded.get_input_names()), tuple(loaded.get_output_names()), backend)
    except Exception as error:  # whatever a driver raises, it means "no MIDI here"
        return Ports((), (), backend, f"No MIDI: {_first_line(error)}.")


def backend_name() -> tuple[str, str]:
    """The backend to use, and in one line why it cannot work here ("" where it can)."""
    if find_spec("rtmidi") is not None:
        if not sys.platform.startswith("linux"):
            return _RTMIDI, ""
        if _SEQUENCER.exists():
            return f"{_RTMIDI}/LINUX_ALSA", ""
        if jack_runs():
            return f"{_RTMIDI}/UNIX_JACK", ""
        return f"{_RTMIDI}/LINUX_ALSA", "No MIDI: this machine has no ALSA sequencer and no JACK server runs."
    if find_spec("pygame") is not None:
        if sys.platform.startswith("linux") and not _SEQUENCER.exists():
            return _PYGAME, "No MIDI: this machine has no ALSA sequencer."
        return _PYGAME, ""
    return _RTMIDI, "No MIDI: neither python-rtmidi nor pygame is installed."


def jack_runs() -> bool:
    """Whether a JACK server of this user's (`$JACK_DEFAULT_SERVER`, else "default") listens."""
    server = os.environ.get("JACK_DEFAULT_SERVER", "default")
    # JACK 2 listens on a socket of this name; asking its library would print to the terminal if none runs.
    user = os.getuid() if hasattr(os, "getuid") else 0
    return any(Path(folder, f"jack_{server}_{user}_0").exists() for folder in ("/dev/shm", "/tmp"))


def load_backend(name: str) -> Any:
    """Mido's backend of that name, loaded."""
    import mido

    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    backend = mido.Backend(name)
    backend.load()
    return backend


class Input(Protocol):
    """An open input that is asked again and again what has come; by one thread at a time."""

    name: str

    def take(self) -> list[tuple[float, Any]]:
        """What has come since the last time, in order: when (seconds on the clock it was opened with), and what."""

    def close(self) -> None: ...


class _RtMidi:
    """An input of python-rtmidi, read from the driver's own queue.

    Not through a callback: under JACK that would run in the server's process cycle, and wait there for the
    interpreter's lock. A cycle that is missed takes all its notes with it (25 of 5,000 beside one busy thread; from
    the queue none). The driver says how long after the one before a message came, so that its stamp does not depend
    on when it is read.
    """

    def __init__(self, name: str, api: str, clock: Callable[[], float]) -> None:
        import rtmidi

        chosen = getattr(rtmidi, f"API_{api}") if api else rtmidi.API_UNSPECIFIED
        self.name = name
        self._clock = clock
        self._driver = rtmidi.MidiIn(rtapi=chosen, name="Box Companion", queue_size_limit=_DRIVER_QUEUE)
        # Let the driver skip nothing: a skipped message would take its share of the time with it.
        self._driver.ignore_types(False, False, False)
        self._moment = self._looked = clock()
        try:
            self._driver.open_port(self._driver.get_ports().index(name))
        except (ValueError, RuntimeError) as error:
            self._driver.delete()
            raise OSError(f"there is no input {name!r} any more" if isinstance(error, ValueError) else error) from error

    def take(self) -> list[tuple[float, Any]]:
        """See `Input`."""
        came: list[tuple[float, Any]] = []
        while True:
            looked = self._clock()
            data = self._driver.get_message()
            if data is None:
                self._looked = looked
                return came
            # What was not there at the last look came since.
            self._moment = min(max(self._moment + data[1], self._looked), self._clock())
            message = _message(data[0])
            if message is not None:
                came.append((self._moment, message))

    def close(self) -> None:
        """Close it; what has not been taken is lost."""
        self._driver.close_port()
        self._driver.delete()


class _Mido:
    """An input of another of mido's backends: what is there is stamped when it is read."""

    def __init__(self, name: str, backend: str, clock: Callable[[], float]) -> None:
        self.name = name
        self._clock = clock
        self._port = load_backend(backend).open_input(name)

    def take(self) -> list[tuple[float, Any]]:
        """See `Input`."""
        return [(self._clock(), message) for message in self._port.iter_pending()]

    def close(self) -> None:
        """Close it."""
        self._port.close()


def open_input(name: str, backend: str, clock: Callable[[], float]) -> Input:
    """Open an input; OSError where that cannot be done."""
    if backend.startswith(_RTMIDI):
        return _RtMidi(name, backend.partition("/")[2], clock)
    return _Mido(name, backend, clock)


def _message(data: list[int]) -> Any:
    """What bytes say, as mido's message; None for what is no message, and for what it trips over (a bend cut short)."""
    import mido

    with contextlib.suppress(ValueError, IndexError, TypeError, KeyError):
        return mido.Message.from_bytes(data)
    return None


def base_name(port: str) -> str:
    """A port's name without what changes when it comes back."""
    return _NUMBERS.sub("", port)


@contextlib.contextmanager
def watching(backend: str) -> Iterator[Callable[[], list[str]] | None]:
    """A function that names the inputs there now, cheap enough to ask twenty times a second; None if there is none."""
    if not backend.startswith(_RTMIDI):
        yield None
        return
    import rtmidi

    wanted = backend.partition("/")[2]
    probe = rtmidi.MidiIn(
        rtapi=getattr(rtmidi, f"API_{wanted}") if wanted else rtmidi.API_UNSPECIFIED, name="port watch"
    )
    try:
        yield probe.get_ports
    finally:
        probe.delete()


def _first_line(error: BaseException) -> str:
    return (str(error).strip().splitlines() or [type(error).__name__])[0].rstrip(".")
