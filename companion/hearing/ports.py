"""Which MIDI ports this machine has, and through what they are reached.

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
from typing import Any

_RTMIDI = "mido.backends.rtmidi"
_PYGAME = "mido.backends.pygame"
_SEQUENCER = Path("/dev/snd/seq")
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
    # JACK 2 listens on a socket of this name; asking its library instead would print to the terminal where none runs.
    user = os.getuid() if hasattr(os, "getuid") else 0
    return any(Path(folder, f"jack_{server}_{user}_0").exists() for folder in ("/dev/shm", "/tmp"))


def load_backend(name: str) -> Any:
    """Mido's backend of that name, loaded."""
    import mido

    os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
    backend = mido.Backend(name)
    backend.load()
    return backend


def open_input(name: str, backend: str, callback: Callable[[Any], None]) -> tuple[Any, bool]:
    """Open an input; whether it must be polled, since its backend cannot call back."""
    if not backend.startswith(_RTMIDI):
        return load_backend(backend).open_input(name), True
    from mido.backends.rtmidi import Input

    class Forgiving(Input):  # type: ignore[misc]
        """Drops what is no message, as mido does, but also the kinds it trips over (a bend without its bytes)."""

        def _callback_wrapper(self, msg_data: Any, data: Any) -> None:
            with contextlib.suppress(ValueError, IndexError, TypeError, KeyError):
                super()._callback_wrapper(msg_data, data)

    return Forgiving(name, api=backend.partition("/")[2] or None, callback=callback), False


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
