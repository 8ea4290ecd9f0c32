"""The window on the screen: shows what it is given, passes on what the player asks for.

Only pygame's display and fonts are used, so that sound and MIDI can start and stop theirs by themselves. Where there is
no screen, everything is drawn all the same, with SDL's dummy driver, and `Window.missing` says so.
"""

from __future__ import annotations

import os
import sys
import time
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pygame

from companion.errors import UserError
from companion.screen.actions import BACK_KEY, CLOSED, NAV_KEYS, Action, Asked, Dropped, Nav, Typed, actions_by_key
from companion.screen.brush import Brush
from companion.screen.figure_keys import FIGURES, FigureKeys
from companion.screen.gained_view import touched_gained
from companion.screen.help import touched_help
from companion.screen.learn_view import touched_learn
from companion.screen.leave_view import touched_leave
from companion.screen.list_values import GainedPage, LearnPage, OpenBookPage, QuestionPage, SettingsList, TunesPage
from companion.screen.lists import touched_setting
from companion.screen.look import Facing, Look
from companion.screen.open_book_view import touched_path
from companion.screen.page_values import BreakPage, HelpPage, LeavePage, Page, PracticePage
from companion.screen.pages_view import draw_page
from companion.screen.pointer import NOWHERE, Pointer
from companion.screen.question_view import touched_answer
from companion.screen.theme import DEFAULT, load_theme, load_themes
from companion.screen.tunes_view import touched_tune
from companion.screen.view import Painter
from companion.screen.window_layout import SMALLEST, lay_out
from companion.screen.words import load_words
from companion.whole_file import whole_file

_AT_ONCE = (
    pygame.KEYDOWN,
    pygame.MOUSEBUTTONDOWN,
    pygame.MOUSEBUTTONUP,
    pygame.MOUSEWHEEL,
    pygame.VIDEORESIZE,
    pygame.WINDOWEXPOSED,
    pygame.QUIT,
    pygame.DROPFILE,
)
_LISTS = (TunesPage, SettingsList, OpenBookPage, GainedPage, QuestionPage, LearnPage)
_TEXTS = ("text/plain;charset=utf-8", pygame.SCRAP_TEXT)  # kinds of what was copied: X has the first, others the second
_PASTING = pygame.KMOD_CTRL | pygame.KMOD_META
_REPEAT = (350, 45)  # ms: in a list, a key that is held repeats
TITLE = "Box Companion"
TEXT_SIZES = (1.0, 1.15, 1.3, 1.4)
_SHARE = 0.8  # of the screen that a window takes unless its size is given
_OTHER_SIGN = pygame.KMOD_SHIFT | pygame.KMOD_ALT | pygame.KMOD_CTRL  # held for another sign of the same key


class Window:
    """An open window; made by `open_window`.

    Attributes
    ----------
    missing : "" or one sentence: why nothing is to be seen on a screen.
    look, theme : how it is drawn; the player changes them with keys, the caller may keep them.
    clock : seconds from anywhere: how long figures belong together and chips stay.
    """

    def __init__(self, size: tuple[int, int], missing: str, theme: str, look: Look, full_screen: bool) -> None:
        self.missing = missing
        self.theme = theme
        self.look = look
        self.clock = time.monotonic
        self._figures, self._pointer, self._pointing = FigureKeys(), Pointer(), NOWHERE
        self._size = size
        self._full_screen = False
        self._open = True
        self._shown: Page | None = None
        self._fresh = True
        self._surface = pygame.display.set_mode(size, pygame.RESIZABLE)
        pygame.display.set_caption(TITLE)
        self._painter = Painter(load_theme(theme), look, waits=False)
        self._brush: Brush | None = None  # of the pages beside practice, while one is shown
        self._surface.fill(self._painter.theme.ground)  # until there is something to be seen
        pygame.display.flip()
        if full_screen:
            self._toggle_full_screen()

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        width, height = self._surface.get_size()
        return width, height

    def show(self, page: Page) -> None:
        """Draw a moment of practice or another page; nothing is done where the same is to be seen already."""
        pointing = (
            self._pointer.pointing(page, self.size, self.look, self.clock())
            if isinstance(page, PracticePage)
            else NOWHERE
        )
        if not self._open or (self._same(page) and pointing == self._pointing):
            return
        if isinstance(page, _LISTS) != isinstance(self._shown, _LISTS):
            pygame.key.set_repeat(*(_REPEAT if isinstance(page, _LISTS) else ()))
        if isinstance(page, PracticePage):
            fresh = self._fresh or not isinstance(self._shown, PracticePage)
            self._brush = None  # what it keeps is of no use here
            pygame.display.update(self._painter.paint(self._surface, page, pointing, fresh=fresh))
        else:
            self._brush = self._brush or Brush(self._painter.theme)
            draw_page(self._surface, page, self._painter.theme, self.look, brush=self._brush)
            pygame.display.flip()
        self._shown, self._pointing, self._fresh = page, pointing, False

    def _same(self, page: Page) -> bool:
        """Whether a page is to be seen already, whole."""
        return not self._fresh and page == self._shown and not self._painter.unfinished

    @property
    def waiting(self) -> bool:
        """Whether something has come in that must be seen to at once: a key, a touch, another size."""
        return self._open and pygame.event.peek(_AT_ONCE)

    def asked(self) -> list[Asked]:
        """What the player has asked for since the last call, in order: on the pages with a list also what was picked,
        typed, and the keys that move about in it. What it means on the page that is open, the caller decides."""
        if not self._open:
            return []
        found, moved = [], None
        for event in pygame.event.get():
            if event.type == pygame.MOUSEMOTION:
                moved = event.pos  # the last one counts: a mouse sends hundreds a second
            elif (asked := self._meaning(event)) is not None:
                found.append(asked)
        if moved is not None and isinstance(self._shown, PracticePage):
            self._pointer.moved(self._shown, self.size, self.look, moved, self.clock())
        return found

    def picture(self, path: Path) -> None:
        """Write what is shown as a picture (PNG).

        Raises
        ------
        UserError
            Where the file cannot be written.
        """
        with suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
        try:
            with whole_file(path) as beside:
                pygame.image.save(self._surface, beside)
        except pygame.error as why:
            raise UserError(f"The picture cannot be written to {path}: {why}.") from why

    def change_look(self, action: Action) -> None:
        """Do what only changes how the window looks."""
        look = self.look
        if action is Action.THEME:
            names = list(load_themes())
            self.theme = names[(names.index(self.theme) + 1) % len(names)]
        elif action is Action.FACING:
            ways = list(Facing)
            look = replace(look, facing=ways[(ways.index(look.facing) + 1) % len(ways)])
        elif action is Action.LEFT_HANDED:
            look = replace(look, left_handed=not look.left_handed)
        elif action is Action.MOTION:
            look = replace(look, reduced_motion=not look.reduced_motion)
        elif action is Action.NAMES:
            look = replace(look, names=not look.names)
        elif action is Action.STAFF:
            look = replace(look, staff=not look.staff)
        elif action in (Action.LARGER, Action.SMALLER):
            look = replace(look, text=_next_size(look.text, action is Action.LARGER))
        elif action is Action.FULL_SCREEN:
            self._toggle_full_screen()
        self.wear(self.theme, look)

    def wear(self, theme: str, look: Look) -> None:
        """Look like this from now on. Raises `UserError` where there is no such theme."""
        self._painter, self._brush = Painter(load_theme(theme), look, waits=False), None
        self.theme, self.look = theme, look
        self._fresh = True

    def close(self) -> None:
        """Close the window; a second call does nothing."""
        if self._open:
            self._open = False
            pygame.display.quit()

    def _meaning(self, event: pygame.event.Event) -> Asked | None:
        if event.type == pygame.QUIT:
            return CLOSED
        if event.type == pygame.DROPFILE:
            return Dropped(event.file)
        if event.type == pygame.KEYDOWN:
            name = pygame.key.name(event.key).lower()
            if isinstance(self._shown, OpenBookPage) and name == "v" and event.mod & _PASTING:
                return Typed(_copied())
            return self._figure(event) or self._key(name, event.unicode)
        if event.type in (pygame.VIDEORESIZE, pygame.WINDOWEXPOSED, pygame.WINDOWSIZECHANGED):
            self._resized()
        # A touch comes as a click too: SDL makes a mouse event of it.
        if event.type == pygame.MOUSEBUTTONDOWN and event.button == 1:
            return self._touch(event.pos)
        if event.type == pygame.MOUSEBUTTONUP and event.button == 1:
            if isinstance(self._shown, PracticePage):
                return self._pointer.released(self._shown, self.size, self.look, event.pos, self.clock())
            self._pointer.let_go()  # what the press began has gone with its page
        if event.type == pygame.MOUSEWHEEL and event.y:
            return self._wheel(event.y > 0)
        return None

    def _wheel(self, up: bool) -> Asked | None:
        if isinstance(self._shown, _LISTS):
            return Nav.UP if up else Nav.DOWN
        if isinstance(self._shown, PracticePage):
            return Action.FASTER if up else Action.SLOWER
        return None

    def _figure(self, event: pygame.event.Event) -> Asked | None:
        """What a figure key means while you practise; None where it is none, or another sign of its key has a meaning.

        A figure is known by its place, so that it is one on every keyboard; on many it needs Shift, and with Shift or
        AltGr some keyboards have signs in the same places that may do something else.
        """
        page, figure = self._shown, FIGURES.get(getattr(event, "scancode", -1))
        if figure is None or not isinstance(page, PracticePage):
            return None
        sign, name, keys = event.unicode.lower(), pygame.key.name(event.key).lower(), actions_by_key()
        if (event.mod & _OTHER_SIGN and sign in keys) or (name == f"[{figure}]" and name in keys):
            return None
        if event.mod & (pygame.KMOD_ALT | pygame.KMOD_CTRL):
            return self._figures.tempo(figure, self.clock())
        parts = page.tune_map.parts if page.tune_map is not None else ()
        most = max((bar.number for part in parts for bar in part.bars), default=0)
        return self._figures.bar(figure, self.clock(), most)

    def _key(self, name: str, text: str) -> Asked | None:
        if name == BACK_KEY:
            return Nav.LEAVE
        if isinstance(self._shown, HelpPage) and name in ("left", "right"):
            return NAV_KEYS[name]
        if isinstance(self._shown, _LISTS):
            if name in NAV_KEYS:
                return NAV_KEYS[name]
            if isinstance(self._shown, TunesPage | OpenBookPage) and (typed := self._letters(name, text)) is not None:
                return typed
        return actions_by_key().get(text.lower()) or actions_by_key().get(name)

    def _letters(self, name: str, text: str) -> Typed | None:
        """What is typed on a page that takes letters; only keys that write nothing do something else there."""
        if name == "tab" and isinstance(self._shown, OpenBookPage):
            return Typed("\t")
        if name == "backspace":
            return Typed("\b")
        if text and text.isprintable():
            return Typed(text)
        return Typed("") if len(name) == 1 else None

    def _touch(self, at: tuple[int, int]) -> Asked | None:
        page = self._shown
        if isinstance(page, PracticePage):
            return self._pointer.pressed(page, self.size, self.look, at, self.clock())
        if isinstance(page, TunesPage):
            return touched_tune(page, lay_out(self.size), self.look.text, at)
        if isinstance(page, QuestionPage):
            return touched_answer(page, lay_out(self.size), at)
        if isinstance(page, LearnPage):
            return touched_learn(lay_out(self.size), at)
        if isinstance(page, GainedPage):
            return touched_gained(page, lay_out(self.size), self.look.text, at)
        if isinstance(page, OpenBookPage):
            return touched_path(page, lay_out(self.size), self.look.text, at)
        if isinstance(page, SettingsList):
            return touched_setting(page, lay_out(self.size), self.look.text, at)
        if isinstance(page, LeavePage):
            return touched_leave(lay_out(self.size), at)
        if isinstance(page, HelpPage):
            return touched_help(lay_out(self.size), at)
        return Action.PAUSE if isinstance(page, BreakPage) else None

    def _resized(self) -> None:
        self._surface = pygame.display.get_surface()
        width, height = self._surface.get_size()
        if not self._full_screen and (width < SMALLEST[0] or height < SMALLEST[1]):
            size = (max(width, SMALLEST[0]), max(height, SMALLEST[1]))
            self._surface = pygame.display.set_mode(size, pygame.RESIZABLE)
        self._fresh = True

    def _toggle_full_screen(self) -> None:
        self._full_screen = not self._full_screen
        if self._full_screen:
            self._size = self.size
            self._surface = pygame.display.set_mode((0, 0), pygame.FULLSCREEN)
        else:
            self._surface = pygame.display.set_mode(self._size, pygame.RESIZABLE)
        self._fresh = True


def open_window(
    size: tuple[int, int] | None = None,
    *,
    allow_dummy: bool = True,
    theme: str = DEFAULT,
    look: Look | None = None,
    full_screen: bool = False,
) -> Window:
    """Open the window.

    Parameters
    ----------
    size : width and height in pixels, at least 800×480; None: most of the screen.
    allow_dummy : where there is no screen, draw without one; else raise.
    theme : a theme of `config/themes.toml`.
    look : what the player chose.
    full_screen : fill the screen.

    Raises
    ------
    UserError
        Where there is no screen and `allow_dummy` is false, or there is no such theme.
    """
    look = look or Look()
    load_theme(theme)
    missing = _start_display(look.language)
    if missing and not allow_dummy:
        pygame.display.quit()
        raise UserError(f"{missing} Start the program where there is a screen.")
    wide, high = size or _room_on_screen()
    return Window((max(wide, SMALLEST[0]), max(high, SMALLEST[1])), missing, theme, look, full_screen)


def _room_on_screen() -> tuple[int, int]:
    """Most of the screen: its bars and other windows keep some of it."""
    wide, high = pygame.display.get_desktop_sizes()[0]
    return round(_SHARE * wide), round(_SHARE * high)


def _start_display(language: str) -> str:
    """Start pygame's display, without a screen where there is none. Returns "" or what is missing."""
    words = load_words(language)
    driver = os.environ.get("SDL_VIDEODRIVER") or _driver()
    if driver == "dummy":
        _init("dummy")
        return words("missing.screen")
    try:
        _init(driver)
    except pygame.error as why:
        _init("dummy")
        return words("missing.driver", why=str(why).rstrip("."))
    return ""


def _driver() -> str | None:
    """SDL's driver for the screen that is there; None where SDL may look by itself.

    On Linux SDL would try one driver after another, some of which print complaints and one of which draws nowhere.
    """
    if sys.platform != "linux":
        return None
    if os.environ.get("DISPLAY"):
        return "x11"
    return "wayland" if os.environ.get("WAYLAND_DISPLAY") else "dummy"


def _init(driver: str | None) -> None:
    """Start the display with `driver`; the environment is afterwards as it was."""
    named = os.environ.get("SDL_VIDEODRIVER")
    if driver is not None:
        os.environ["SDL_VIDEODRIVER"] = driver
    try:
        pygame.display.quit()
        pygame.display.init()
    finally:
        os.environ.pop("SDL_VIDEODRIVER", None)
        if named is not None:
            os.environ["SDL_VIDEODRIVER"] = named


def _copied() -> str:
    """What was copied elsewhere, "" where there is nothing to be had."""
    with suppress(pygame.error):
        pygame.scrap.init()
        found = next((data for kind in _TEXTS if (data := pygame.scrap.get(kind))), b"")
        return found.decode(errors="ignore").rstrip("\0")
    return ""


def _next_size(now: float, larger: bool) -> float:
    at = min(range(len(TEXT_SIZES)), key=lambda n: abs(TEXT_SIZES[n] - now))
    return TEXT_SIZES[min(len(TEXT_SIZES) - 1, max(0, at + (1 if larger else -1)))]
