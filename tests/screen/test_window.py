"""The window's edge, without a screen: what is missing is said, keys and touches become actions, pictures are kept."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pygame
import pytest

from companion.errors import UserError
from companion.screen.actions import (
    CLOSED,
    Action,
    Asked,
    ChosenBar,
    ChosenNotes,
    ChosenTempo,
    Dropped,
    Nav,
    Picked,
    Typed,
    load_keys,
)  # fmt: skip
from companion.screen.card import card_cells
from companion.screen.look import Facing, Look
from companion.screen.page_values import HelpPage, LeavePage
from companion.screen.tune_map import map_cells
from companion.screen.window import Window, open_window
from companion.screen.window_layout import lay_out
from tests.screen.glances import jig, judged, long_round
from tests.screen.page_glances import CHOOSER, all_pages


@pytest.fixture
def window(no_screen: None) -> Window:  # noqa: ARG001
    return open_window((800, 480))


def press(key: int, text: str = "") -> None:
    pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=key, unicode=text, mod=0))


def touch(window: Window, at: tuple[int, int], to: tuple[int, int] | None = None) -> list[Asked]:
    """Press at a point and let go there, or at another."""
    pygame.event.post(pygame.event.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=at))
    pygame.event.post(pygame.event.Event(pygame.MOUSEBUTTONUP, button=1, pos=to or at))
    return window.asked()


def test_no_screen_is_said_in_one_line(window: Window) -> None:
    assert window.missing == "No screen found, so there is no window."
    assert "SDL_VIDEODRIVER" not in os.environ


@pytest.mark.usefixtures("no_screen")
def test_a_screen_that_is_not_there_is_said_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DISPLAY", ":7654")
    opened = open_window()
    assert opened.missing.startswith("The screen won't open")
    opened.close()


@pytest.mark.usefixtures("no_screen")
def test_no_screen_can_be_refused() -> None:
    with pytest.raises(UserError, match="No screen"):
        open_window(allow_dummy=False)


def test_nothing_is_printed_and_sound_is_left_alone() -> None:
    code = (
        "from companion.screen.window import open_window; import pygame;"
        "w = open_window(); assert pygame.mixer.get_init() is None; w.close(); w.close()"
    )
    env = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "PYGAME_HIDE_SUPPORT_PROMPT")}
    done = subprocess.run(
        [sys.executable, "-c", code], env=env, capture_output=True, text=True, timeout=60, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_every_key_gives_its_action(window: Window) -> None:
    named = {pygame.key.name(code): code for code in range(1, 128)}
    named |= {pygame.key.name(getattr(pygame, k)): getattr(pygame, k) for k in dir(pygame) if k.startswith("K_")}
    for action, keys in load_keys().items():
        for key in keys:
            assert key in named or key == "?", f"SDL knows no key '{key}'"
            press(named.get(key, 0), key if len(key) == 1 else "")
            assert window.asked() == [action], key


def test_keys_for_the_look_change_the_picture(window: Window, tmp_path: Path) -> None:
    window.show(judged(jig(), 7))
    seen = set()
    for n, key in enumerate((pygame.K_F8, pygame.K_v, pygame.K_PERIOD)):
        press(key)
        (asked,) = window.asked()
        window.change_look(Action(asked))
        window.show(judged(jig(), 7))
        window.picture(tmp_path / f"{n}.png")
        seen.add((tmp_path / f"{n}.png").read_bytes())
    assert len(seen) == 3
    assert (window.theme, window.look.facing, window.look.text) == ("light", Facing.MIRRORED, 1.15)


def test_a_touch_pauses_and_the_card_takes_touches(window: Window) -> None:
    window.show(jig())
    assert touch(window, (400, 150)) == [Action.PAUSE]
    window.show(jig(paused=True))
    for more in (False, True):
        for action, cell in card_cells(lay_out((800, 480)), more):
            assert min(cell.size) >= 44  # the least size of a target, WCAG 2.2 success criterion 2.5.5
            if action is not None:
                assert touch(window, cell.center) == [action]
        assert touch(window, card_cells(lay_out((800, 480)), more)[-1][1].center) == []  # turns the card over
    assert touch(window, (400, 100)) == [Action.PAUSE]


def test_closing_the_window_and_esc_are_no_keys_of_the_table(window: Window) -> None:
    pygame.event.post(pygame.event.Event(pygame.QUIT))
    assert window.asked() == [CLOSED]
    press(pygame.K_ESCAPE)
    assert window.asked() == [Nav.LEAVE]


def test_the_question_before_leaving_takes_touches(window: Window) -> None:
    window.show(LeavePage(("3 more pieces learnt.",)))
    found = []
    for at in ((200, 360), (600, 360), (400, 40)):
        pygame.event.post(pygame.event.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=at))
        found.append(window.asked())
    assert found == [[Action.PAUSE], [Action.QUIT], []]


def test_the_picture_is_what_is_shown(window: Window, tmp_path: Path) -> None:
    from companion.screen.theme import load_theme
    from companion.screen.view import draw

    glance = judged(jig(), 7)
    window.show(glance)
    window.picture(tmp_path / "deep" / "picture.png")
    own = pygame.Surface((800, 480))
    draw(own, glance, load_theme())
    kept = pygame.image.load(tmp_path / "deep" / "picture.png")
    assert pygame.image.tobytes(kept, "RGB") == pygame.image.tobytes(own, "RGB")
    assert [path.name for path in (tmp_path / "deep").iterdir()] == ["picture.png"]


def test_a_picture_that_cannot_be_written(window: Window, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    window.show(jig())
    with pytest.raises(UserError, match="there is no folder"):
        window.picture(tmp_path / "file" / "picture.png")


def test_in_a_list_keys_repeat_and_the_wheel_moves(window: Window) -> None:
    def wheel(y: int) -> None:
        pygame.event.post(pygame.event.Event(pygame.MOUSEWHEEL, x=0, y=y))

    window.show(jig())
    wheel(1)
    wheel(-1)
    assert window.asked() == [Action.FASTER, Action.SLOWER]
    assert pygame.key.get_repeat() == (0, 0)
    window.show(CHOOSER.glance)
    wheel(1)
    wheel(-1)
    assert window.asked() == [Nav.UP, Nav.DOWN]
    assert pygame.key.get_repeat() == (350, 45)
    window.show(jig())
    assert pygame.key.get_repeat() == (0, 0)


def figure(
    n: int, *, alt: bool = False, pad: bool = False, text: str | None = None, shift: bool = False, name: int = 0
) -> None:
    """A figure key: known by its place, whatever the keyboard writes there."""
    code = getattr(pygame, f"KSCAN_KP_{n}" if pad else f"KSCAN_{n}")
    mod = (pygame.KMOD_LALT if alt else 0) | (pygame.KMOD_LSHIFT if shift else 0)
    said = str(n) if text is None else text
    event = pygame.event.Event(pygame.KEYDOWN, key=name or pygame.K_0 + n, unicode=said, mod=mod, scancode=code)
    pygame.event.post(event)


def test_figures_choose_a_bar_on_every_keyboard(window: Window) -> None:
    now = [10.0]
    window.clock = lambda: now[0]
    window.show(jig())
    figure(1)
    figure(2)
    assert window.asked() == [ChosenBar(1), ChosenBar(12)]
    now[0] += 0.9
    figure(3, text='"', name=ord('"'))  # a French keyboard writes figures with Shift
    figure(4, pad=True, name=pygame.K_KP4)
    assert window.asked() == [ChosenBar(3), ChosenBar(4)]  # no part has 34 bars
    now[0] += 0.9
    figure(0, shift=True, text="=")  # on a German keyboard this is "=", which has a meaning
    assert window.asked() == [Action.FASTER]


def test_figures_with_alt_choose_a_tempo(window: Window) -> None:
    window.clock = lambda: 10.0
    window.show(jig())
    for n in (7, 5):
        figure(n, alt=True)
    assert window.asked() == [ChosenTempo(70), ChosenTempo(75)]


def test_figures_mean_nothing_of_the_kind_elsewhere(window: Window) -> None:
    from tests.screen.page_glances import CHOOSER

    window.show(CHOOSER.glance)
    figure(4)
    assert window.asked() == [Typed("4")]


def test_pulling_over_the_map_picks_out_its_bars(window: Window) -> None:
    page = jig()
    window.show(page)
    assert page.tune_map is not None
    cells = map_cells(page.tune_map, lay_out(window.size))
    assert touch(window, cells[3][2].center) == [ChosenNotes(15, 19)]
    assert touch(window, cells[6][2].center, cells[2][2].center) == [ChosenNotes(10, 34)]
    pygame.event.post(pygame.event.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=cells[2][2].center))
    pygame.event.post(pygame.event.Event(pygame.MOUSEMOTION, pos=cells[5][2].center, rel=(1, 1), buttons=(1, 0, 0)))
    assert window.asked() == []
    before = pygame.image.tobytes(pygame.display.get_surface(), "RGB")
    window.show(page)  # the run is seen while it is picked out, though the page is the same
    assert pygame.image.tobytes(pygame.display.get_surface(), "RGB") != before


def test_the_window_opens_as_large_as_the_screen_has_room_for(
    no_screen: None,  # noqa: ARG001
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(pygame.display, "get_desktop_sizes", lambda: [(2560, 1440)])
    assert open_window().size == (2048, 1152)
    monkeypatch.setattr(pygame.display, "get_desktop_sizes", lambda: [(640, 480)])
    assert open_window().size == (800, 480)
    assert open_window((1000, 700)).size == (1000, 700)


def test_the_help_page_is_turned_by_key_and_by_hand(window: Window) -> None:
    window.show(HelpPage())
    press(pygame.K_RIGHT)
    press(pygame.K_LEFT)
    assert window.asked() == [Nav.RIGHT, Nav.LEFT]
    assert touch(window, (700, 20)) == [Nav.RIGHT]
    assert touch(window, (400, 300)) == [Action.HELP]


def test_on_a_page_that_takes_letters_they_are_typed_and_other_keys_act(window: Window) -> None:
    window.show(CHOOSER.glance)
    for key, text in ((pygame.K_q, "q"), (pygame.K_SPACE, " "), (pygame.K_BACKSPACE, "\b")):
        press(key, text)
    assert window.asked() == [Typed("q"), Typed(" "), Typed("\b")]
    for key in (pygame.K_F1, pygame.K_F2, pygame.K_F3, pygame.K_F4, pygame.K_DELETE, pygame.K_TAB, pygame.K_q):
        press(key)
    assert window.asked() == [
        Action.HELP, Action.SETTINGS, Nav.OPEN_BOOK, Action.PROGRESS, Nav.REMOVE, Action.TUNES, Typed(""),
    ]  # fmt: skip
    window.show(all_pages()["open-book"])
    for key, text in ((pygame.K_TAB, "\t"), (pygame.K_SLASH, "/"), (pygame.K_F1, "")):
        press(key, text)
    assert window.asked() == [Typed("\t"), Typed("/"), Action.HELP]


def test_what_was_copied_is_pasted(window: Window, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("companion.screen.window._copied", lambda: "/home/aoife/reels.abc")
    paste = pygame.event.Event(pygame.KEYDOWN, key=pygame.K_v, unicode="\x16", mod=pygame.KMOD_LCTRL)
    window.show(all_pages()["open-book"])
    pygame.event.post(paste)
    assert window.asked() == [Typed("/home/aoife/reels.abc")]


@pytest.mark.parametrize("kind", ["text/plain;charset=utf-8", "text/plain"])
def test_text_is_pasted_by_whichever_name_the_system_gives_it(
    window: Window, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    monkeypatch.setattr(pygame.scrap, "init", lambda: None)
    monkeypatch.setattr(pygame.scrap, "get", lambda asked: "/música/a.abc\0".encode() if asked == kind else None)
    window.show(all_pages()["open-book"])
    pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_v, unicode="\x16", mod=pygame.KMOD_LCTRL))
    assert window.asked() == [Typed("/música/a.abc")]


def test_with_nothing_to_paste_nothing_is_typed(window: Window) -> None:
    window.show(all_pages()["open-book"])
    pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_v, unicode="\x16", mod=pygame.KMOD_LCTRL))
    assert window.asked() == [Typed("")]


def test_a_file_that_is_dragged_in_is_passed_on_from_any_page(window: Window) -> None:
    for page in (jig(), CHOOSER.glance, all_pages()["help"]):
        window.show(page)
        pygame.event.post(pygame.event.Event(pygame.DROPFILE, file="/home/aoife/reels.abc"))
        assert window.waiting
        assert window.asked() == [Dropped("/home/aoife/reels.abc")]


ROWS = ["open-book", "gained-tunes", "gained-days-before", "first-box", "first-held", "settings"]


@pytest.mark.parametrize("name", ROWS)
def test_every_row_answer_and_button_is_touched_for(window: Window, name: str) -> None:
    """What is drawn at a point is what a touch there means; the buttons at the foot lead back and on."""
    window.show(all_pages()[name])
    found = set()
    for x in range(4, 800, 12):
        for y in range(4, 480, 6):
            pygame.event.post(pygame.event.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=(x, y)))
            found |= set(window.asked())
    assert {Nav.LEAVE, Nav.ENTER, Action.HELP} <= found
    picked = {one.row for one in found if isinstance(one, Picked)}
    if name.startswith("first"):
        assert picked == set(range(len(all_pages()[name].answers)))  # type: ignore[union-attr]
    elif name == "gained-days-before":
        assert {one.part for one in found if isinstance(one, Picked)} == {"tunes", "days", "diary"}
        assert Nav.DOWN in found
    else:
        assert set(range(6)) <= picked


@pytest.mark.usefixtures("no_screen")
def test_names_and_staff_go_on_and_off_by_key() -> None:
    window = open_window((1280, 720))
    for key, name in ((pygame.K_F3, "names"), (pygame.K_F10, "staff")):
        pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=key, unicode="", mod=0, scancode=0))
        (asked,) = window.asked()
        assert isinstance(asked, Action)
        assert asked.value == name
        for on in (True, False):
            window.change_look(asked)
            assert getattr(window.look, name) is on


@pytest.mark.usefixtures("no_screen")
def test_the_staff_is_drawn_when_it_is_ready_though_nothing_else_has_changed() -> None:
    window, page = open_window((1280, 720), look=Look(staff=True)), judged(long_round(), 3)
    staff = lay_out((1280, 720), False, True).staff
    seen: set[bytes] = set()
    until = time.monotonic() + 20
    while len(seen) < 2 and time.monotonic() < until:
        window.show(page)
        seen.add(pygame.image.tobytes(pygame.display.get_surface().subsurface(staff), "RGB"))
        time.sleep(0.005)
    assert len(seen) == 2
