"""What a player needs while playing is read from two metres: no figure or capital is lower than 3.5% of the window."""

from __future__ import annotations

import re
from dataclasses import replace

import pygame
import pytest

from companion.screen.brush import CAPITAL, DrawnText
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.theme import load_theme
from companion.screen.view import Painter
from companion.screen.window_layout import lay_out
from companion.screen.words import load_words
from tests.screen.glances import BREAK, GONE, SILENT, all_glances, jig, judged

SIZES = ((800, 480), (800, 600), (1280, 720), (1920, 1080), (3840, 2160), (1200, 1920))
LEAST = 0.035
PLAYING = (
    "playing", "reach", "tried", "tried-several", "count-in", "no-clock", "stand-in", "round", "one-row", "big-box",
    "by-heart", "first-notes", "air",
)  # fmt: skip
FILLED = {
    "bar": "B part, bar 15", "note": "F#", "bellows": "push", "button": 10, "row": "C", "n": 12, "where": "higher",
    "key": "Space", "piece": "B second half", "like": "A second half", "place": "the low F#",
    "what": "Faster by itself", "value": "nothing shown", "bpm": 112, "played": 11, "other": "pull",
}  # fmt: skip


def texts(page: PracticePage, size: tuple[int, int], look: Look | None = None) -> tuple[DrawnText, ...]:
    painter = Painter(load_theme(), look, listing=True)
    painter.paint(pygame.Surface(size), page)
    return painter.placed


def small(placed: tuple[DrawnText, ...], size: tuple[int, int]) -> list[DrawnText]:
    """What is too small to be read from afar; the names of the map's parts are not read while playing."""
    band = lay_out(size).map
    return [
        one for one in placed
        if max(one.box.height, one.size * CAPITAL) < LEAST * size[1] and not band.collidepoint(one.box.center)
    ]  # fmt: skip


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", PLAYING)
def test_everything_is_large(name: str, size: tuple[int, int]) -> None:
    placed = texts(all_glances()[name], size)
    assert placed
    assert small(placed, size) == []


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["playing", "reach", "count-in", "no-clock", "round", "stand-in", "big-box"])
def test_everything_is_large_with_names_and_staff(name: str, size: tuple[int, int]) -> None:
    """All but the small name on the button: it stands large in the call."""
    page = replace(all_glances()[name], sentence="")
    told = {note.name for note in page.notes}
    found = small(texts(page, size, Look(names=True, staff=True)), size)
    keys = lay_out(size, page.standin, True).keys
    assert [one for one in found if one.text not in told or not keys.collidepoint(one.box.center)] == []


@pytest.mark.parametrize("size", SIZES)
def test_the_number_is_an_eighth_of_the_height_and_the_word_about_a_tenth(size: tuple[int, int]) -> None:
    placed = texts(judged(jig(), 7), size)
    assert max(one.box.height for one in placed if one.text == "5") >= size[1] / 8
    word = max(one.box.height for one in placed if one.text == "PUSH") / size[1]
    assert word >= (0.095 if size[0] > size[1] else 0.068)  # a tall tablet has no width for more


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("key", sorted(key for key in load_words().entries if key.startswith(("said_", "now_"))))
def test_every_sentence_is_large_and_whole(key: str, size: tuple[int, int]) -> None:
    """Each that the program says, filled with long values."""
    sentence = re.sub(r"\{(\w+)\}", lambda found: str(FILLED[found[1]]), load_words().entries[key])
    placed = [one for one in texts(jig(sentence=sentence), size) if lay_out(size).sentence.collidepoint(one.box.center)]
    assert " ".join(one.text for one in placed) == sentence
    assert small(tuple(placed), size) == []
    assert not any(one.cut for one in placed)


@pytest.mark.parametrize("size", SIZES)
def test_nothing_moves_when_a_line_of_text_comes_or_goes(size: tuple[int, int]) -> None:
    def around(page: PracticePage) -> list[tuple[str, pygame.Rect]]:
        band = lay_out(size).sentence
        return [(one.text, one.box) for one in texts(page, size) if not band.collidepoint(one.box.center)]

    page = judged(jig(), 7)
    for other in (
        replace(page, sentence=""),
        replace(page, notices=(GONE, SILENT), caution=BREAK),
        replace(page, notices=(GONE,), notices_old=True),
    ):
        assert around(other) == around(page)


def test_an_old_notice_is_but_a_sign_in_the_corner_until_the_session_is_paused() -> None:
    size = (1280, 720)
    new, old = jig(notices=(GONE,)), jig(notices=(GONE,), notices_old=True)
    assert GONE in {one.text for one in texts(new, size)}
    assert jig().sentence in {one.text for one in texts(old, size)}
    assert GONE not in {one.text for one in texts(old, size)}
    assert any(one.text.startswith(GONE[:20]) for one in texts(replace(old, paused=True), size))
    corner = pygame.Rect(1280 - 40, 600, 40, 120)
    seen = []
    for page in (jig(), old):
        surface = pygame.Surface(size)
        Painter(load_theme()).paint(surface, page)
        seen.append(pygame.image.tobytes(surface.subsurface(corner), "RGB"))
    assert seen[0] != seen[1]


def test_what_is_not_needed_while_playing_is_on_the_pause_picture_only() -> None:
    page, size = judged(jig(), 7), (1280, 720)
    playing = " ".join(one.text for one in texts(page, size))
    paused = " ".join(one.text for one in texts(replace(page, paused=True), size))
    for said in (page.title, page.step, "round 4", "dotted crotchets a minute", "Next: A part, bars 3–6"):
        assert said not in playing
        assert said in paused
    assert page.sentence in paused
