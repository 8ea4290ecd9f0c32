"""The window's edge, without a screen: what is missing is said, keys and touches become actions, pictures are kept."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pygame
import pytest

from companion.errors import UserError
from companion.screen.actions import CLOSED, Action, Asked, Dropped, Nav, Picked, Typed, load_keys
from companion.screen.card import card_cells
from companion.screen.look import Facing
from companion.screen.page_values import LeavePage
from companion.screen.window import Window, open_window
from companion.screen.window_layout import lay_out
from tests.screen.glances import jig, judged
from tests.screen.page_glances import CHOOSER, all_pages


@pytest.fixture
def window(no_screen: None) -> Window:  # noqa: ARG001
    return open_window((800, 480))


def press(key: int, text: str = "") -> None:
    pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=key, unicode=text, mod=0))


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
    def touch(at: tuple[int, int]) -> list[Asked]:
        pygame.event.post(pygame.event.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=at))
        return window.asked()

    window.show(jig())
    assert touch((400, 300)) == [Action.PAUSE]
    window.show(jig(paused=True))
    for action, cell in card_cells(lay_out((800, 480))):
        assert touch(cell.center) == [action]
        assert min(cell.size) >= 44  # the least size of a target, WCAG 2.2 success criterion 2.5.5
    assert touch((400, 100)) == [Action.PAUSE]


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
    assert window.asked() == []
    assert pygame.key.get_repeat() == (0, 0)
    window.show(CHOOSER.glance)
    wheel(1)
    wheel(-1)
    assert window.asked() == [Nav.UP, Nav.DOWN]
    assert pygame.key.get_repeat() == (350, 45)
    window.show(jig())
    assert pygame.key.get_repeat() == (0, 0)


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
