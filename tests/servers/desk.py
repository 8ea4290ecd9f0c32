"""The program as a player meets it: its own process, a screen of its own, keys from a real keyboard, an instrument on a
real MIDI port. What is on the screen is read back from the X server.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from companion.screen.window import TITLE

ROOT = Path(__file__).parents[2]
CLIENT, PORT = "wire", "box"
PATIENCE = 30.0  # seconds for which something is waited for


class Desk:
    """A session that runs: `key`, `play` and `pedal` it, `see` it, read its `record`.

    Parameters
    ----------
    folder : for the session's own folders, and for the pictures where `$COMPANION_PICTURES` names none.
    screen : width and height of the screen, a new one of its own.
    arguments : what `companion practise` is given.
    """

    def __init__(self, folder: Path, screen: tuple[int, int], *arguments: str) -> None:
        import rtmidi

        self.folder = folder
        self.pictures = Path(os.environ.get("COMPANION_PICTURES", folder / "pictures"))
        self.pictures.mkdir(parents=True, exist_ok=True)
        self._screen, self.display = _screen(screen)
        self._middle = (screen[0] // 2, screen[1] // 2)
        self._out = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name=CLIENT)
        self._out.open_virtual_port(PORT)
        own = {f"BOX_COMPANION_{name}": str(folder / name.lower()) for name in ("DATA", "CACHE", "CONFIG")}
        self.environment = os.environ | own | {
            "DISPLAY": self.display, "SDL_AUDIODRIVER": "pulseaudio", "COMPANION_DEBUG": "1",
        }  # fmt: skip
        self.environment.pop("SDL_VIDEODRIVER", None)
        settings = folder / "config" / "settings.toml"
        if not settings.exists():  # else the questions of the first evening come first
            settings.parent.mkdir(parents=True, exist_ok=True)
            settings.write_text("level = 100\n", encoding="utf-8")
        command = [sys.executable, "-m", "companion", "practise", "--port", f"{CLIENT}:{PORT}", *arguments]
        self.running = subprocess.Popen(
            command, cwd=ROOT, env=self.environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        try:
            self.window = self.until(self._found)
        except BaseException:
            self.close()
            raise
        # With no window manager the keys go to the window under the pointer.
        self.tool("mousemove", "--window", self.window, "60", "60")
        self.until(lambda: len(self.colours("window-0-open")) > 50)  # something is drawn

    def until(self, found: Callable[[], Any], seconds: float = PATIENCE) -> Any:
        """What `found` gives as soon as it gives something; fails where it does not in time."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if self.running.poll() is not None:
                break
            if answer := found():
                return answer
            time.sleep(0.05)
        raise AssertionError(f"{found} gave nothing; the program said: {self.stop() if self.running.poll() else ''}")

    def tool(self, *words: str) -> str:
        """Run xdotool on the session's screen."""
        done = subprocess.run(
            ["xdotool", *words], env=self.environment, check=True, capture_output=True, text=True, timeout=20
        )
        return done.stdout.strip()

    def key(self, *keys: str) -> None:
        """Press keys, one after the other."""
        for key in keys:
            self.tool("key", key)
            time.sleep(0.15)

    def play(self, pitches: Sequence[int], each: float = 0.12) -> None:
        """Play notes on the instrument."""
        for pitch in pitches:
            self._out.send_message([0x90, pitch, 90])
            time.sleep(0.7 * each)
            self._out.send_message([0x80, pitch, 0])
            time.sleep(0.3 * each)

    def hold(self, pitch: int, seconds: float) -> None:
        """Hold a button."""
        self._out.send_message([0x90, pitch, 90])
        time.sleep(seconds)
        self._out.send_message([0x80, pitch, 0])

    def pedal(self, control: int = 64) -> None:
        """Press a pedal and let it go."""
        self._out.send_message([0xB0, control, 127])
        time.sleep(0.15)
        self._out.send_message([0xB0, control, 0])
        time.sleep(0.25)

    def control(self, control: int, value: int) -> None:
        """Leave a pedal somewhere between its ends."""
        self._out.send_message([0xB0, control, value])
        time.sleep(0.25)

    def see(self, name: str) -> Path:
        """Keep a picture of the screen."""
        grabber = shutil.which("import")
        assert grabber is not None, "ImageMagick is not installed"
        path = self.pictures / f"{name}.png"
        subprocess.run([grabber, "-window", "root", str(path)], env=self.environment, check=True, timeout=60)
        return path

    def colours(self, name: str, rows: tuple[float, float] = (0.0, 1.0)) -> dict[tuple[int, int, int], int]:
        """Keep a picture of the screen; how many pixels it has of each colour, from one share of its height on."""
        import numpy as np
        import pygame

        picture = pygame.surfarray.array3d(pygame.image.load(str(self.see(name))))
        high = picture.shape[1]
        pixels = picture[:, round(rows[0] * high) : round(rows[1] * high)].astype(np.uint32)
        packed = (pixels[..., 0] << 16) | (pixels[..., 1] << 8) | pixels[..., 2]
        found, counts = np.unique(packed, return_counts=True)
        return {(int(c) >> 16, int(c) >> 8 & 255, int(c) & 255): int(n) for c, n in zip(found, counts, strict=True)}

    def record(self, question: str) -> list[Any]:
        """Ask the session's record."""
        path = self.folder / "data" / "record.sqlite3"
        if not path.is_file():
            return []
        with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as db:
            return db.execute(question).fetchall()

    def stop(self) -> str:
        """Wait until the program has ended; what it has said."""
        try:
            said, _ = self.running.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            self.running.kill()
            said, _ = self.running.communicate()
        return said

    def close(self) -> None:
        """End everything that was begun here."""
        if self.running.poll() is None:
            self.running.terminate()
            self.stop()
        self._out.delete()
        self._screen.terminate()
        self._screen.wait(timeout=10)

    def _found(self) -> str:
        """The window under the pointer, "" while that is the screen itself."""
        self.tool("mousemove", str(self._middle[0]), str(self._middle[1]))
        said = dict(line.split("=") for line in self.tool("getmouselocation", "--shell").splitlines())
        name = subprocess.run(
            ["xdotool", "getwindowname", said["WINDOW"]], env=self.environment, capture_output=True, text=True,
            check=False,
        )  # fmt: skip
        return said["WINDOW"] if name.stdout.strip() == TITLE else ""


def _screen(size: tuple[int, int]) -> tuple[subprocess.Popen[bytes], str]:
    """An X server with a screen of its own, and its name."""
    read, write = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-noreset", "-screen", "0", f"{size[0]}x{size[1]}x24"],
        pass_fds=(write,), stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(write)
    with os.fdopen(read) as told:
        return server, f":{told.readline().strip()}"
