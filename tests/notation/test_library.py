"""The library: finding tunes, and a cache that is rebuilt where it is damaged and never believed."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from companion.errors import UserError
from companion.kept_values import FILE, keep
from companion.notation import tune_index
from companion.places import own_cache

BOOK = """X:1
T:The Rights of Man
R:hornpipe
M:4/4
L:1/8
K:Em
GA|BcBA GEFG|

X:2
T:Éamonn's Jig
T:Port Éamoinn
R:jig
M:6/8
K:D
DFA dfa|

X:3
T:Man of the House, The
R:reel
M:4/4
K:Em
gfed e2BA|
"""


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BOX_COMPANION_CACHE", str(tmp_path / "cache"))
    path = tmp_path / "book.abc"
    path.write_text(BOOK, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("asked", "numbers"),
    [
        ({"title": "rights of man"}, [1]),
        ({"title": "man"}, [1, 3]),
        ({"title": "the man of the house"}, [3]),
        ({"title": "eamonns jig"}, [2]),
        ({"title": "PORT EAMOINN"}, [2]),
        ({"rhythm": "jig"}, [2]),
        ({"rhythm": "Reels"}, [3]),
        ({"key": "Em"}, [1, 3]),
        ({"key": "e minor"}, [1, 3]),
        ({"key": "D"}, [2]),
        ({"key": "Em", "rhythm": "reel"}, [3]),
        ({"first": tune_index.FirstNotes((62, 66, 69, 74))}, [2]),
        ({"first": tune_index.FirstNotes((50, 54, 57, 62))}, [2]),
        ({"first": tune_index.FirstNotes((67, 69, 71, 72, 71, 69, 68))}, [1]),
        ({"title": "nothing like it"}, []),
        ({"first": tune_index.FirstNotes((60, 60, 60, 60))}, []),
    ],
)
def test_finding_tunes(book: Path, asked: dict[str, object], numbers: list[int]) -> None:
    assert [e.number for e in tune_index.find(tune_index.listing(book).tunes, **asked)] == numbers  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("typed", "numbers"),
    [
        ("D F A d", [2]),  # as the book has them: the key gives the sharp
        ("d f a d'", [2]),
        ("D ^F A d", [2]),
        ("D =F A d", []),
        ("g f e d e2 B A", [3]),
        ("g f e d e2 B B", [3]),  # one wrong
    ],
)
def test_first_notes_as_they_are_typed(book: Path, typed: str, numbers: list[int]) -> None:
    found = tune_index.find(tune_index.listing(book).tunes, first=tune_index.typed_notes(typed))
    assert [e.number for e in found] == numbers


def test_too_few_notes_typed() -> None:
    with pytest.raises(UserError, match="at least three notes"):
        tune_index.typed_notes("D F")


def test_titles_without_articles_and_accents() -> None:
    assert tune_index.plain("Rights of Man, The") == tune_index.plain("The Rights of Man") == "rights of man"
    assert tune_index.plain("An Phís Fhliuch") == "phis fhliuch"
    assert tune_index.plain("The") == "the"


def test_the_second_time_comes_from_the_cache(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = tune_index.listing(book)
    monkeypatch.setattr(tune_index, "read_book", lambda *_: pytest.fail("the book was read again"))
    assert tune_index.listing(book) == first


def test_a_changed_book_is_another_book(book: Path) -> None:
    tune_index.listing(book)
    book.write_text(BOOK.replace("Rights", "Wrongs"), encoding="utf-8")
    assert tune_index.listing(book).tunes[0].title == "The Wrongs of Man"


DAMAGE = ["garbage", "truncated", "a forged row", "a row of another kind", "no table"]


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_cache_is_rebuilt_and_never_believed(book: Path, damage: str) -> None:
    first = tune_index.listing(book)
    path = own_cache() / FILE
    if damage == "garbage":
        path.write_bytes(b"not a database" * 100)
    elif damage == "truncated":
        path.write_bytes(path.read_bytes()[:5000])
    else:
        with sqlite3.connect(path) as connection:
            if damage == "a forged row":
                connection.execute("UPDATE kept SET text = replace(text, 'Rights', 'Lefts')")
            elif damage == "a row of another kind":
                keep(connection.execute("SELECT key FROM kept").fetchone()[0], {"listing": [[1]]})
            else:
                connection.execute("DROP TABLE kept")
        connection.close()
    assert tune_index.listing(book) == first
    assert tune_index.listing(book) == first


def test_without_a_place_for_the_cache_the_book_is_read_all_the_same(
    book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    monkeypatch.setenv("BOX_COMPANION_CACHE", str(blocked / "below"))
    assert len(tune_index.listing(book).tunes) == 3


def test_what_earlier_versions_kept_makes_room(book: Path) -> None:
    own_cache().mkdir(parents=True)
    before = [own_cache() / name for name in ("library.sqlite", "weights.sqlite")]
    for path in before:
        path.write_bytes(b"of an earlier version")
    tune_index.listing(book)
    assert (own_cache() / FILE).is_file()
    assert not any(path.exists() for path in before)
