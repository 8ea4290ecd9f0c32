"""The window on a real X server: its picture on the screen, keys from a real keyboard, touches, resizing, stopping."""

from __future__ import annotations

import ctypes
import ctypes.util
import os
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from companion.screen.actions import Action, Asked, Nav, Typed
from companion.screen.window import Window, open_window
from tests.screen.glances import jig, judged
from tests.screen.page_glances import CHOOSER, calm

pytestmark = pytest.mark.display_server


@pytest.fixture(scope="module")
def held() -> Iterator[None]:
    """A connection held open: an X server starts anew when its last client leaves, and is away for that moment."""
    x11 = _x11()
    display = x11.XOpenDisplay(None)
    yield
    x11.XCloseDisplay(display)


@pytest.fixture
def window(held: None) -> Iterator[Window]:  # noqa: ARG001
    opened = open_window((1024, 640))
    assert opened.missing == ""
    opened.show(judged(jig(), 7))
    _settle(opened)
    # With no window manager the keys go to the window under the pointer.
    _tool("mousemove", "--window", _id(), "500", "300")
    yield opened
    opened.close()


def _tool(*words: str) -> str:
    return subprocess.run(["xdotool", *words], check=True, capture_output=True, text=True, timeout=20).stdout.strip()


def _id() -> str:
    import pygame

    return str(pygame.display.get_wm_info()["window"])


def _settle(window: Window, wanted: int = 0, seconds: float = 5.0) -> list[Asked]:
    """What was asked for until so many things came, or for a moment where none is wanted."""
    found: list[Asked] = []
    end = time.monotonic() + (seconds if wanted else 0.3)
    while time.monotonic() < end and (len(found) < wanted or not wanted):
        found += window.asked()
        time.sleep(0.01)
    return found


def test_keys_become_actions(window: Window) -> None:
    keys = {
        "space": Action.PAUSE,
        "Next": Action.ON,  # page down: what many pedals send
        "Prior": Action.BACK,
        "Up": Action.FASTER,
        "Down": Action.SLOWER,
        "r": Action.AGAIN,
        "F1": Action.HELP,
        "Escape": Nav.LEAVE,
    }
    for key, action in keys.items():
        _tool("key", key)
        assert _settle(window, 1) == [action], key


def test_a_touch_pauses(window: Window) -> None:
    _tool("mousemove", "--window", _id(), "400", "300", "click", "1")
    assert _settle(window, 1) == [Action.PAUSE]


def test_typing_searches_and_arrows_move(window: Window) -> None:
    window.show(CHOOSER.glance)
    _tool("type", "jig")
    _tool("key", "Down")
    _tool("key", "Return")
    asked = _settle(window, 5)
    assert asked == [Typed("j"), Typed("i"), Typed("g"), Nav.DOWN, Nav.ENTER]
    page = CHOOSER
    for one in asked:
        page = page.after(one)
    assert page.chosen == "slip"


def test_the_window_follows_its_size(window: Window, tmp_path: Path) -> None:
    import pygame

    _tool("windowsize", "--sync", _id(), "800", "500")
    end = time.monotonic() + 5
    while window.size != (800, 500) and time.monotonic() < end:
        _settle(window)
    glance = judged(jig(), 8)
    window.show(glance)
    window.picture(tmp_path / "small.png")
    assert pygame.image.load(tmp_path / "small.png").get_size() == (800, 500)


def test_what_is_on_the_screen_is_what_was_drawn(window: Window, tmp_path: Path) -> None:
    """Read back from the X server itself."""
    import pygame

    for n, page in enumerate((judged(jig(standin=True), 9), judged(jig(paused=True), 9), calm())):
        window.show(page)
        _settle(window)
        window.picture(tmp_path / f"{n}.png")
        kept = pygame.image.load(tmp_path / f"{n}.png")
        drawn = pygame.surfarray.array3d(kept).swapaxes(0, 1)
        assert np.array_equal(_grab(*kept.get_size()), drawn)
        if folder := os.environ.get("COMPANION_PICTURES"):
            window.picture(Path(folder) / f"display-{n}.png")


class _Image(ctypes.Structure):
    """The beginning of Xlib's XImage (Xlib.h)."""

    _fields_ = (
        *((name, ctypes.c_int) for name in ("width", "height", "xoffset", "format")),
        ("data", ctypes.c_void_p),
        *((name, ctypes.c_int) for name in ("byte_order", "unit", "bit_order", "pad", "depth", "line", "bits")),
    )


def _x11() -> ctypes.CDLL:
    x11 = ctypes.CDLL(ctypes.util.find_library("X11") or "libX11.so.6")
    x11.XOpenDisplay.restype = ctypes.c_void_p
    x11.XCloseDisplay.argtypes = (ctypes.c_void_p,)
    return x11


def _grab(width: int, height: int) -> npt.NDArray[np.uint8]:
    """What the X server has on the window, as height × width × (red, green, blue)."""
    x11 = _x11()
    x11.XGetImage.restype = ctypes.POINTER(_Image)
    x11.XGetImage.argtypes = (
        ctypes.c_void_p, ctypes.c_ulong, ctypes.c_int, ctypes.c_int, ctypes.c_uint, ctypes.c_uint,
        ctypes.c_ulong, ctypes.c_int,
    )  # fmt: skip
    display = x11.XOpenDisplay(None)
    every_plane, z_pixmap = 0xFFFFFFFF, 2
    image = x11.XGetImage(display, int(_id()), 0, 0, width, height, every_plane, z_pixmap).contents
    assert (image.bits, image.byte_order) == (32, 0)
    raw = np.frombuffer(ctypes.string_at(image.data, image.line * height), dtype=np.uint8)
    x11.XCloseDisplay(display)
    return raw.reshape(height, image.line // 4, 4)[:, :width, 2::-1]
