"""The pages beside practice: nothing overlaps or is cut; the state behind the two pages with a list."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pygame
import pytest

from companion.screen.actions import Action, Nav, Picked, Typed, load_keys
from companion.screen.brush import CAPITAL
from companion.screen.card import key_name
from companion.screen.list_state import Chooser
from companion.screen.list_values import HeadingKind, HeadingRow, OpenBookRow, Order, TuneRow
from companion.screen.lists import lay_list, touched_setting
from companion.screen.look import Look
from companion.screen.page_values import HelpPage
from companion.screen.pages_view import Quiet, draw_page
from companion.screen.theme import load_theme
from companion.screen.tunes_view import touched_tune
from companion.screen.window_layout import lay_out
from companion.screen.words import load_words
from tests.screen.glances import LONG
from tests.screen.page_glances import CHOOSER, SETTINGS, TUNES, all_pages

SIZES = ((800, 480), (800, 600), (1280, 720), (3840, 2160), (800, 1000), (1200, 1920))


def texts(page: Quiet, size: tuple[int, int], text: float = 1.0) -> list[pygame.Rect]:
    placed = draw_page(pygame.Surface(size), page, load_theme(), Look(text=text), listing=True)
    window = pygame.Rect((0, 0), size)
    assert len(placed) > 4
    assert [one for one in placed if not window.contains(one.box)] == []
    assert [one for one in placed if one.cut and one.text != LONG] == []
    assert [(a, b) for a, b in combinations(placed, 2) if a.box.colliderect(b.box)] == []
    return [one.box for one in placed]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", list(all_pages()))
def test_nothing_overlaps_or_is_cut(name: str, size: tuple[int, int]) -> None:
    texts(all_pages()[name], size)


@pytest.mark.parametrize("name", list(all_pages()))
def test_large_text(name: str) -> None:
    texts(all_pages()[name], (1280, 720), 1.4)


LEGIBLE = {
    "choose": ("Moor the Boat", "The Last Ferry", "Rope and Tallow"), "gained-tunes": ("The Last Ferry",),
    "settings": ("Box", "Sound"), "open-book": ("waltzes, part 1.mxl",),
}  # fmt: skip


@pytest.mark.parametrize("size", [(800, 600), (1280, 720), (1200, 1920)])
@pytest.mark.parametrize("name", LEGIBLE)
def test_the_main_text_of_a_row_can_be_read_from_afar(name: str, size: tuple[int, int]) -> None:
    """Its capitals are at least 3.5 hundredths of the height, and no page has more than nine rows."""
    placed = draw_page(pygame.Surface(size), all_pages()[name], load_theme(), listing=True)
    for said in LEGIBLE[name]:
        (drawn,) = (one for one in placed if one.text == said)
        assert drawn.size * CAPITAL >= 0.035 * size[1] - 1
    rows = lay_list(lay_out(size), 100, 0, 1.0).rows
    assert 5 <= len(rows) <= 9


def test_the_same_page_gives_the_same_picture() -> None:
    seen = set()
    for page in all_pages().values():
        one, other = pygame.Surface((800, 480)), pygame.Surface((800, 480))
        draw_page(one, page, load_theme())
        draw_page(other, page, load_theme())
        assert pygame.image.tobytes(one, "RGB") == pygame.image.tobytes(other, "RGB")
        seen.add(pygame.image.tobytes(one, "RGB"))
    assert len(seen) == len(all_pages())


def test_the_help_page_lists_every_action_with_its_first_key() -> None:
    words = load_words()
    placed = draw_page(pygame.Surface((1280, 720)), all_pages()["help"], load_theme(), listing=True)
    shown = {one.text for one in placed}
    for action in Action:
        assert words(f"do.{action.value}") in shown
        assert key_name(words, load_keys()[action][0]) in shown


def test_an_action_without_a_key_shows_a_dash(own_table: Callable[[str, str], Path]) -> None:
    """A table of the player's own has given its key to something else."""
    own_table("keys.toml", '[keys]\npause = ["l"]\n')
    placed = draw_page(pygame.Surface((1280, 720)), HelpPage(), load_theme(), listing=True)
    assert [one.text for one in placed].count("—") == 1


@pytest.mark.parametrize("size", SIZES)
def test_the_second_page_of_help_shows_every_sign(size: tuple[int, int]) -> None:
    words = load_words()
    placed = draw_page(pygame.Surface(size), HelpPage(1), load_theme(), listing=True)
    said = " ".join(one.text for one in placed)
    signs = [text for key, text in words.entries.items() if key.startswith("help.sign_")]
    assert len(signs) == 16
    assert [text for text in signs if text not in said] == []


def named(chooser: Chooser) -> list[str]:
    """The listed rows: tunes by id, headings by what stands under them."""
    found = []
    for row in chooser.rows:
        if isinstance(row, TuneRow):
            found.append(row.id)
        elif isinstance(row, HeadingRow):
            found.append(f"{row.title or row.what.value} {row.count}")
    return found


def tunes(chooser: Chooser) -> list[str]:
    return [row.id for row in chooser.rows if isinstance(row, TuneRow)]


def test_what_is_being_learnt_comes_first_then_what_is_due_then_the_books() -> None:
    assert named(CHOOSER)[:12] == [
        "learning 2", "moor", "ferry", "due 2", "rope", "lamp", "Tanner’s Quay 3", "hens", "kiln", "slip",
        "Tuesday session 13", "new",
    ]  # fmt: skip
    assert isinstance(CHOOSER.rows[-1], OpenBookRow)
    assert len(tunes(CHOOSER)) == len(TUNES)
    found = replace(CHOOSER, search="slip")
    assert named(found) == ["Tanner’s Quay 1", "slip"]


def test_tunes_are_sorted_and_searched() -> None:
    by_due = CHOOSER.after(Nav.RIGHT)
    assert tunes(by_due)[:3] == ["rope", "lamp", "more2"]
    by_title = by_due.after(Nav.RIGHT)
    assert by_title.order is Order.TITLE
    assert tunes(by_title) == [tune.id for tune in sorted(TUNES, key=lambda tune: tune.title.casefold())]
    assert named(by_title) == tunes(by_title)
    assert tunes(CHOOSER.after(Nav.LEFT))[0] == "lamp"
    assert tunes(CHOOSER.after(Nav.LEFT))[-1] == "low"
    found = CHOOSER
    for letter in "Jig sl":
        found = found.after(Typed(letter))
    assert tunes(found) == ["slip"]
    assert len(tunes(found.after(Typed("\b")).after(Typed("\b")))) == 2
    dorian = CHOOSER
    for letter in "e dorian":
        dorian = dorian.after(Typed(letter))
    assert tunes(dorian) == ["moor"]


def picked(chooser: Chooser) -> object:
    return chooser.rows[chooser.glance.at]


def test_a_tune_is_chosen() -> None:
    assert picked(CHOOSER) == TUNES[6]
    down = CHOOSER.after(Nav.DOWN).after(Nav.DOWN)
    assert picked(down) == TUNES[3]  # over the heading
    assert down.after(Nav.ENTER).chosen == "rope"
    assert down.after(Picked(8)).chosen == "kiln"
    assert not down.chosen
    assert picked(CHOOSER.after(Nav.UP)) == TUNES[6]
    assert replace(CHOOSER, search="mazurka").after(Nav.ENTER).chosen == ""
    assert down.after(Nav.LEAVE).left
    assert down.after(Picked(-1, "title")).order is Order.TITLE
    assert not CHOOSER.after(Picked(0)).chosen


def test_a_book_is_taken_off_by_its_heading_alone() -> None:
    heading = named(CHOOSER).index("Tanner’s Quay 3")
    on = replace(CHOOSER, at=heading)
    assert on.after(Nav.REMOVE).removed == "quay"
    assert CHOOSER.after(Picked(heading, "remove")).removed == "quay"
    assert CHOOSER.after(Nav.REMOVE).removed == ""
    assert picked(on.after(Nav.ENTER)) == TUNES[1]
    assert picked(CHOOSER.after(Picked(heading))) == HeadingRow(HeadingKind.BOOK, 3, "Tanner’s Quay", "quay")


def test_another_book_is_opened_by_row_or_key() -> None:
    last = len(CHOOSER.rows) - 1
    for opened in (
        CHOOSER.after(Nav.OPEN_BOOK),
        CHOOSER.after(Picked(last)),
        replace(CHOOSER, at=last).after(Nav.ENTER),
    ):
        assert opened.opening
        assert not opened.after(Nav.DOWN).opening
    assert picked(CHOOSER.at_book("quay")) == TUNES[0]
    assert picked(replace(CHOOSER, search="polka").at_book("own")) == TUNES[6]


def test_settings_are_changed_and_tested() -> None:
    page = SETTINGS.after(Nav.RIGHT)
    assert (page.settings[1].value, page.changed, page.settings[1].result) == ("none", "ports", "")
    page = page.after(Nav.ENTER)
    assert (page.testing, page.changed) == ("ports", "")
    page = page.tested("A4 heard")
    assert (page.testing, page.glance.rows[1].result) == ("", "A4 heard")
    assert SETTINGS.after(Picked(3, "less")).settings[3].value == "30 ms"
    assert SETTINGS.after(Picked(2, "test")).testing == "sound"
    assert SETTINGS.after(Picked(2, "more")).changed == ""
    assert SETTINGS.after(Nav.UP).after(Nav.ENTER).testing == ""
    assert SETTINGS.after(Nav.LEAVE).left


@pytest.mark.parametrize("size", SIZES)
def test_touching_finds_what_is_drawn_there(size: tuple[int, int]) -> None:
    layout, page = lay_out(size), CHOOSER.glance
    for n, row in enumerate(lay_list(layout, len(page.rows), page.at, 1.0, head=5.4).rows):
        assert touched_tune(page, layout, 1.0, row.center) == Picked(n)
    assert touched_tune(page, layout, 1.0, (1, 1)) is None
    placed = draw_page(pygame.Surface(size), page, load_theme(), listing=True)
    for said, order in (("Title", "title"), ("Rhythm", "rhythm"), ("Difficulty", "difficulty"), ("Due", "due")):
        heading = next(one.box for one in placed if one.text == said)
        assert touched_tune(page, layout, 1.0, heading.center) == Picked(-1, order)
    off = next(one.box for one in placed if one.text == "Take this book off the list")
    assert touched_tune(page, layout, 1.0, off.center) == Picked(named(CHOOSER).index("Tanner’s Quay 3"), "remove")
    for said, asked in (("Back", Nav.LEAVE), ("Start", Nav.ENTER), ("Progress", Action.PROGRESS)):
        button = next(one.box for one in placed if one.text == said)
        assert touched_tune(page, layout, 1.0, button.center) is asked
    page2 = SETTINGS.glance
    placed = draw_page(pygame.Surface(size), page2, load_theme(), listing=True)
    button = next(one.box for one in placed if one.text == "Measure")
    assert touched_setting(page2, layout, 1.0, button.center) == Picked(3, "test")
    name = next(one.box for one in placed if one.text == "Text size")
    assert touched_setting(page2, layout, 1.0, name.center) == Picked(5, "row")
