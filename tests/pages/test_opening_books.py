"""A book is opened from the window, by typing, by picking or by dragging it in, and taken off the list again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.pages.book_finder import BookFinder, find_book
from companion.pages.book_title import book_title
from companion.pages.books_at_hand import books_at_hand, demo_book, forget, remember
from companion.pages.shelf import Shelf
from companion.screen.actions import Action, Asked, Dropped, Nav, Picked, Typed
from companion.screen.list_values import HeadingRow, OpenBookPage, PathRow, TuneRow, TunesPage
from companion.screen.page_values import LeavePage
from companion.screen.words import load_words
from tests.session.fakes import Bench

TUNE = "X:{n}\nT:{title}\nM:4/4\nL:1/4\nK:D\nDFAF|DFAF|\n\n"


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    bench = Bench(tmp_path)
    bench.pages.shelf = Shelf([demo_book().resolve()], "bc-21")
    yield bench
    bench.pages.shelf.close()


@pytest.fixture
def tuesday(tmp_path: Path) -> Path:
    book = tmp_path / "books" / "tuesday_session.abc"
    book.parent.mkdir()
    book.write_text(TUNE.format(n=1, title="The Zinc Bath") + TUNE.format(n=2, title="Ash Wednesday"), encoding="utf-8")
    return book


def press(bench: Bench, *asked: Asked) -> None:
    for one in asked:
        bench.window.wanted = [one]
        bench.wind(0.1)


def tunes(page: object) -> TunesPage:
    assert isinstance(page, TunesPage)
    return page


def titles(page: TunesPage) -> list[str]:
    return [row.title for row in page.rows if isinstance(row, HeadingRow)]


# Dragged in


@pytest.mark.parametrize(
    "before", [[], [Action.TUNES], [Action.HELP], [Nav.LEAVE, Nav.LEAVE], [Action.TUNES, Nav.OPEN_BOOK]]
)
def test_a_book_that_is_dragged_in_is_opened_from_any_page(bench: Bench, tuesday: Path, before: list[Asked]) -> None:
    bench.wind(1)
    press(bench, *before, Dropped(str(tuesday)))
    page = tunes(bench.window.pages[-1])
    picked = page.rows[page.at]
    assert isinstance(picked, TuneRow)
    assert picked.title == "The Zinc Bath"  # the first of the book, not of the alphabet
    assert titles(page) == ["tuesday session", "Tanner's Quay"]
    assert books_at_hand()[0] == tuesday.resolve()
    press(bench, Nav.ENTER)
    assert bench.pages.wanted is not None
    assert bench.pages.wanted.book == tuesday.resolve()


def test_it_is_said_that_it_is_being_read(bench: Bench, tuesday: Path) -> None:
    bench.wind(1)
    bench.window.wanted = [Dropped(str(tuesday))]
    bench.wind(0.02)
    assert tunes(bench.window.pages[-1]).notice == "Reading tuesday_session.abc …"


def test_who_goes_back_before_it_is_read_has_not_opened_it(bench: Bench, tuesday: Path) -> None:
    bench.wind(1)
    bench.window.wanted = [Dropped(str(tuesday)), Nav.LEAVE]
    bench.wind(0.1)
    assert not bench.pages.open
    press(bench, Action.TUNES)
    assert titles(tunes(bench.window.pages[-1])) == ["Tanner's Quay"]


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("picture.png", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "This is not a text file"),
        ("empty.abc", b"", "The file is empty"),
        ("words.abc", b"X:1\nT:No music\nK:D\n", "has a note to play"),
        ("gone.abc", None, "no such file"),
        ("broken.mxl", b"PK\x03\x04nothing", "broken.mxl"),
        ("broken.mid", b"MThd", "broken.mid"),
    ],
)
def test_what_cannot_be_read_is_said_in_one_sentence_and_changes_nothing(
    bench: Bench, tmp_path: Path, name: str, data: bytes | None, said: str
) -> None:
    path = tmp_path / name
    if data is not None:
        path.write_bytes(data)
    press(bench, Dropped(str(path)))
    page = tunes(bench.window.pages[-1])
    assert said in page.notice
    assert "\n" not in page.notice
    assert titles(page) == ["Tanner's Quay"]
    assert books_at_hand() == (demo_book().resolve(),)
    press(bench, Nav.LEAVE)
    assert not bench.pages.open


def test_on_the_first_page_a_book_is_dragged_in_and_esc_still_asks(bench: Bench, tuesday: Path) -> None:
    bench.pages.choose(first=True)
    press(bench, Dropped(str(tuesday)), Nav.LEAVE)
    assert isinstance(bench.window.pages[-1], LeavePage)


# By typing


def test_a_book_is_opened_by_its_path(bench: Bench, tuesday: Path) -> None:
    press(bench, Action.TUNES, Nav.OPEN_BOOK)
    assert isinstance(bench.window.pages[-1], OpenBookPage)
    press(bench, Typed(str(tuesday)), Nav.ENTER)
    page = tunes(bench.window.pages[-1])
    assert titles(page) == ["tuesday session", "Tanner's Quay"]
    press(bench, Nav.LEAVE)
    assert not bench.pages.open


def test_a_path_that_leads_nowhere_is_said_on_the_page(bench: Bench, tmp_path: Path) -> None:
    press(bench, Action.TUNES, Nav.OPEN_BOOK, Typed(str(tmp_path / "nothing.abc")), Nav.ENTER)
    page = bench.window.pages[-1]
    assert isinstance(page, OpenBookPage)
    assert "There is no such file" in page.notice
    assert page.typed.endswith("nothing.abc")
    press(bench, Action.HELP, Nav.LEAVE)
    assert isinstance(bench.window.pages[-1], OpenBookPage)
    press(bench, Nav.LEAVE)
    assert isinstance(bench.window.pages[-1], TunesPage)


def at(folder: Path, *names: str) -> BookFinder:
    """The page in a folder with these files and folders."""
    folder.mkdir()
    for name in names:
        path = folder / name.rstrip("/")
        path.mkdir() if name.endswith("/") else path.write_text("X:1\n", encoding="utf-8")
    return find_book(load_words()).after(Typed(f"{folder}/"))


def typed(finder: BookFinder, text: str) -> BookFinder:
    for letter in text:
        finder = finder.after(Typed(letter))
    return finder


def test_what_lies_there_is_listed_folders_first(tmp_path: Path) -> None:
    finder = at(tmp_path / "x", "waltzes.mid", "Jigs.abc", "notes.docx", "reels/", ".hidden.abc", "polkas.mxl")
    listed = [row.name for row in finder.rows]
    assert listed == ["..", "reels", "Jigs.abc", "polkas.mxl", "waltzes.mid"]
    assert [row.name for row in typed(finder, "jI").rows] == ["Jigs.abc"]
    assert typed(finder, ".hid").rows == (PathRow(".hidden.abc", folder=False),)
    assert [row.name for row in typed(finder, "q").rows] == []


def test_tab_completes_as_far_as_it_is_sure(tmp_path: Path) -> None:
    folder = tmp_path / "x"
    finder = at(folder, "reels one.abc", "reels two.abc", "Jigs.abc", "waltzes/")
    assert typed(finder, "re\t").typed == f"{folder}/reels "
    assert typed(finder, "reels t\t").typed == f"{folder}/reels two.abc"
    assert typed(finder, "j\t").typed == f"{folder}/Jigs.abc"
    assert typed(finder, "w\t").typed == f"{folder}/waltzes/"
    assert typed(finder, "zz\t").typed == f"{folder}/zz"
    assert finder.after(Nav.DOWN).after(Nav.DOWN).after(Typed("\t")).typed == f"{folder}/waltzes/"
    assert typed(finder, "j\b").rows == finder.rows


def test_folders_are_walked_with_the_arrows(tmp_path: Path) -> None:
    folder = tmp_path / "x"
    finder = at(folder, "waltzes/", "Jigs.abc")
    down = finder.after(Nav.DOWN).after(Nav.DOWN)
    assert down.after(Nav.RIGHT).typed == down.after(Nav.ENTER).typed == f"{folder}/waltzes/"
    assert finder.after(Picked(1)).typed == f"{folder}/waltzes/"
    assert down.after(Nav.ENTER).after(Nav.LEFT).typed == f"{folder}/"
    assert finder.after(Nav.DOWN).after(Nav.ENTER).typed == finder.after(Nav.LEFT).typed == f"{tmp_path}/"
    assert finder.after(Picked(2)).chosen == folder / "Jigs.abc"
    assert finder.after(Nav.UP).at == -1
    assert finder.after(Nav.ENTER).notice == "That is a folder: pick out a book in it."
    assert typed(finder, "Jigs.abc").after(Nav.ENTER).chosen == folder / "Jigs.abc"


@pytest.mark.parametrize("form", ["{path}", '"{path}"', "file://{path}", "  {path}\n"])
def test_what_is_pasted_is_taken_as_it_was_copied(tmp_path: Path, form: str) -> None:
    path = tmp_path / "a book.abc"
    path.write_text("X:1\n", encoding="utf-8")
    shown = str(path).replace(" ", "%20") if form.startswith("file") else str(path)
    finder = typed(find_book(load_words()), "zz").after(Typed(form.format(path=shown)))
    assert finder.typed == str(path)


def test_a_folder_that_cannot_be_looked_into_is_empty() -> None:
    finder = find_book(load_words()).after(Typed("/nowhere/at/all/"))
    assert [row.name for row in finder.rows] == [".."]
    assert typed(find_book(load_words()).after(Typed("/x\0y/")), "a").rows == ()


# Off the list


def heading(page: TunesPage, title: str) -> int:
    return next(n for n, row in enumerate(page.rows) if isinstance(row, HeadingRow) and row.title == title)


@pytest.mark.parametrize("by_key", [True, False])
def test_a_book_is_taken_off_the_list_and_its_file_stays(bench: Bench, tuesday: Path, by_key: bool) -> None:
    press(bench, Dropped(str(tuesday)))
    n = heading(tunes(bench.window.pages[-1]), "tuesday session")
    if by_key:
        press(bench, Nav.UP, Nav.UP, Nav.REMOVE)  # it stands over its tunes, which are sorted by title
    else:
        press(bench, Picked(n, "remove"))
    page = tunes(bench.window.pages[-1])
    assert titles(page) == ["Tanner's Quay"]
    assert page.notice.startswith("Off the list: tuesday session.")
    assert tuesday.is_file()
    assert books_at_hand() == (demo_book().resolve(),)


def test_delete_on_a_tune_says_how(bench: Bench) -> None:
    press(bench, Action.TUNES, Nav.REMOVE)
    page = tunes(bench.window.pages[-1])
    assert page.notice == "To take a book off the list, pick out its heading first."
    assert titles(page) == ["Tanner's Quay"]


def test_with_no_book_left_one_can_be_opened(bench: Bench, tuesday: Path) -> None:
    press(bench, Action.TUNES, Picked(0, "remove"))
    page = tunes(bench.window.pages[-1])
    assert len(page.rows) == 1
    assert books_at_hand() == ()
    press(bench, Nav.ENTER, Typed(str(tuesday)), Nav.ENTER)
    assert titles(tunes(bench.window.pages[-1])) == ["tuesday session"]


def test_the_demo_tunes_come_back_once_they_are_opened_again(tuesday: Path) -> None:
    remember(tuesday)
    forget(demo_book())
    assert books_at_hand() == (tuesday.resolve(),)
    remember(tuesday)
    assert books_at_hand() == (tuesday.resolve(),)
    remember(demo_book())
    assert books_at_hand() == (tuesday.resolve(), demo_book().resolve())
    forget(tuesday)
    assert books_at_hand() == (demo_book().resolve(),)


# What a book is called


@pytest.mark.parametrize(
    ("name", "text", "title"),
    [
        ("tuesday_session.abc", "X:1\nT:A tune\nK:D\n", "tuesday session"),
        ("a.abc", "%abc\nT:Tunes from the Quay\nB:Another\n\nX:1\nT:A tune\nK:D\n", "Tunes from the Quay"),
        ("a.abc", "B:  Night Class \n\nX:1\nT:A tune\nB:In the tune\nK:D\n", "Night Class"),
        ("a.mid", "T:not abc\nX:1\n", "a"),
    ],
)
def test_a_book_is_called_as_it_calls_itself_or_as_its_file(tmp_path: Path, name: str, text: str, title: str) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    assert book_title(path) == title
    assert book_title(tmp_path / "gone.abc") == "gone"
