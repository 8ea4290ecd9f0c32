"""Real servers for the tests, a set for each process of pytest: JACK (MIDI), PulseAudio (sound) and Xvfb (a screen).

They stand apart from those of whoever runs the tests, so several sets run side by side, and nothing sounds or shows.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Mapping
from importlib.util import find_spec
from pathlib import Path

# JACK with its dummy driver; --sync: it waits for a late client.
JACK = ("jackd", "--sync", "--no-realtime", "--name", "{name}", "-d", "dummy", "-r", "48000", "-p", "256")
PULSE = ("pulseaudio", "--daemonize=no", "--exit-idle-time=-1", "-n", "--use-pid-file=no")
MODULES = ("module-null-sink sink_name=ear", "module-native-protocol-unix", "module-rescue-streams")
XVFB = ("Xvfb", "-displayfd", "{fd}", "-noreset", "-screen", "0", "1920x1080x24")
NEEDS = {
    "midi_server": ("jackd", "jack_lsp"),
    "sound_server": ("pulseaudio", "pactl", "paplay", "parec"),
    "display_server": ("Xvfb", "xdotool", "import"),
}


def missing(kind: str) -> str:
    """What a kind of server lacks on this machine ("midi_server" …, as in `NEEDS`); "" where nothing."""
    lacks = [command for command in NEEDS[kind] if shutil.which(command) is None]
    if kind == "midi_server" and find_spec("rtmidi") is None:
        lacks.append("python-rtmidi")
    return ", ".join(lacks)


class OwnServers:
    """Servers of this process's own; its environment leads to them from then on, and `close` ends them."""

    def __init__(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="companion-servers-"))
        self._running: list[subprocess.Popen[bytes]] = []

    def start(self, kind: str) -> None:
        """Start a server and wait until it answers; RuntimeError where it does not."""
        {"midi_server": self._midi, "sound_server": self._sound, "display_server": self._display}[kind]()

    def close(self) -> None:
        """End what was started, and leave nothing behind."""
        for one in self._running:
            one.terminate()
        for one in self._running:
            one.wait(timeout=20)
        shutil.rmtree(self._folder, ignore_errors=True)

    def _midi(self) -> None:
        name = f"companion-{os.getpid()}"
        os.environ |= {"JACK_DEFAULT_SERVER": name, "JACK_NO_AUDIO_RESERVATION": "1"}
        self._run([word.format(name=name) for word in JACK], "jack")
        self._wait(["jack_lsp"])

    def _sound(self) -> None:
        runtime = self._folder / "runtime"
        runtime.mkdir(mode=0o700)
        os.environ["XDG_RUNTIME_DIR"] = str(runtime)
        own = {"HOME": str(self._folder), "XDG_CONFIG_HOME": str(self._folder)}  # what it remembers is its own, too
        self._run([*PULSE, *(word for module in MODULES for word in ("-L", module))], "pulse", own)
        self._wait(["pactl", "info"])

    def _display(self) -> None:
        told, tells = os.pipe()
        self._run([word.format(fd=tells) for word in XVFB], "xvfb", fd=tells)
        os.close(tells)
        with os.fdopen(told) as line:
            os.environ["DISPLAY"] = f":{line.readline().strip()}"
        self._wait(["xdotool", "getdisplaygeometry"])

    def _run(self, command: list[str], name: str, own: Mapping[str, str] | None = None, fd: int | None = None) -> None:
        with (self._folder / f"{name}.log").open("wb") as log:
            fds = () if fd is None else (fd,)
            env = os.environ | (own or {})
            self._running.append(subprocess.Popen(command, stdout=log, stderr=log, env=env, pass_fds=fds))

    def _wait(self, ask: list[str]) -> None:
        until = time.monotonic() + 15
        while subprocess.run(ask, capture_output=True, timeout=20, check=False).returncode:
            if time.monotonic() > until:
                logs = "\n".join(path.read_text(errors="replace") for path in self._folder.glob("*.log"))
                raise RuntimeError(f"`{' '.join(ask)}` has no answer after 15 s. {logs}")
            time.sleep(0.05)
