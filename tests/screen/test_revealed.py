"""How much is shown: by heart, nothing or the first note of each bar, until the piece is over or paused."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest

from companion.screen.page_values import PracticePage, Shown
from companion.screen.revealed import beat_number, first_notes, now_and_then
from companion.screen.theme import load_theme
from companion.screen.view import Painter
from companion.screen.window_layout import lay_out
from tests.screen.glances import jig, judged

SIZE = (1280, 720)


def words_and_line(page: PracticePage) -> tuple[set[str], list[str]]:
    """The texts of the call, and the figures on the line."""
    painter, layout = Painter(load_theme(), listing=True), lay_out(SIZE)
    painter.paint(pygame.Surface(SIZE), page)
    call = {one.text for one in painter.placed if layout.call.collidepoint(one.box.center)}
    line = [one.text for one in painter.placed if layout.line.collidepoint(one.box.center)]
    return call, line


def picture(page: PracticePage) -> bytes:
    surface = pygame.Surface(SIZE)
    Painter(load_theme()).paint(surface, page)
    return pygame.image.tobytes(surface, "RGB")


def test_nothing_is_shown_but_the_name_and_the_beat() -> None:
    page = judged(jig(shown=Shown.NOTHING), 8)
    assert words_and_line(page) == ({page.piece, "1"}, [])
    other = judged(jig(shown=Shown.NOTHING), 8, wrong=(3,), missed=())
    assert picture(page) == picture(other)  # no verdict gives anything away
    turned = replace(page, notes=tuple(replace(note, fingered=page.notes[0].fingered) for note in page.notes))
    assert picture(page) == picture(turned)  # nor do the buttons and the bellows


def test_the_first_note_of_each_bar_is_shown() -> None:
    page = jig(shown=Shown.FIRST_NOTES)
    assert first_notes(page) == {0, 6, 11, 17}
    call, line = words_and_line(replace(page, now=-0.1))
    assert "PULL" in call
    assert line == ["5", "3", "4", "2", "7", "2", "9", "4"]
    call, _ = words_and_line(judged(page, 7))
    assert not call & {"PUSH", "PULL", "then"}


@pytest.mark.parametrize("shown", [Shown.NOTHING, Shown.FIRST_NOTES])
def test_all_is_shown_when_it_is_paused_or_over(shown: Shown) -> None:
    def same(**changes: object) -> bool:
        hidden, plain = jig(shown=shown), jig()
        return picture(replace(judged(hidden, 20, now=3.0), **changes)) == picture(
            replace(judged(plain, 20, now=3.0), **changes)
        )

    assert same(current=None)
    assert same()
    assert same(paused=True, now=1.0)
    assert not same(now=1.0)


def test_the_call_stays_with_the_note_that_sounds() -> None:
    page = judged(jig(), 3)
    now, then = now_and_then(page)
    assert (now, then) == (page.notes[3], page.notes[4])


def test_the_bar_empties_until_the_turn_and_stands_still_where_motion_is_reduced() -> None:
    from companion.screen.call import turn_box
    from companion.screen.look import Look

    box = turn_box(lay_out(SIZE))

    def full(page: PracticePage, look: Look | None = None) -> int:
        surface, theme = pygame.Surface(SIZE), load_theme()
        Painter(theme, look).paint(surface, page)
        row = [surface.get_at((x, box.centery))[:3] for x in range(box.left, box.right)]
        return sum(colour == theme.soft for colour in row)

    page = judged(jig(), 3)
    at, length = page.notes[3].at, page.notes[3].length
    found = [full(replace(page, now=at + share * length)) / box.width for share in (0.0, 0.25, 0.5, 0.9)]
    assert found == pytest.approx([1.0, 0.75, 0.5, 0.1], abs=0.01)
    assert full(page, Look(reduced_motion=True)) == 0
    assert full(replace(page, clocked=False)) == 0


@pytest.mark.parametrize(("now", "beat"), [(0.0, 1), (0.2, 1), (0.38, 2), (0.75, 1), (1.2, 2), (2.99, 2), (-0.375, 2)])
def test_the_beat_of_the_bar_that_runs(now: float, beat: int) -> None:
    assert beat_number(jig(now=now)) == beat


def test_in_a_pick_up_beats_lead_into_the_first_bar() -> None:
    page = jig(bars=(0.0, 0.25, 1.25, 2.25), length=3.25, beat=0.25)
    assert [beat_number(replace(page, now=now)) for now in (0.0, 0.24, 0.25, 0.5, 1.0, 1.25)] == [4, 4, 1, 2, 4, 1]
