"""The tunes to choose from: how hard each is comes from a process beside, is kept, and is what `choose` says."""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path

from companion import kept_values
from companion.box.choose import Choice, difficulty_of, rank
from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.kept_values import FILE
from companion.notation import read_book
from companion.pages.books_at_hand import demo_book
from companion.pages.difficulty_cache import key_of, known, share_of, weigh
from companion.pages.shelf import Shelf, TunePast, TunePlace
from companion.sound.tempi import target_of
from companion.store.record import fingerprint
from companion.timeline import Timeline
from companion.tune.unfold import unfold
from tests.shipped_tables import TABLES

BOX = "bc-21"


def weighed(shelf: Shelf, count: int) -> None:
    """Wait until so much is known."""
    end = time.monotonic() + 60
    while sum(row.difficulty is not None or not row.fits for row in shelf.rows()) < count:
        assert time.monotonic() < end
        shelf.look()
        time.sleep(0.05)


def test_it_is_weighed_beside_and_agrees_with_the_ranking() -> None:
    shelf = Shelf([demo_book()], BOX)
    try:
        assert all(row.difficulty is None and row.fits for row in shelf.rows())
        weighed(shelf, 5)
    finally:
        shelf.close()
    choices = []
    for tune in read_book(demo_book()).tunes:
        round_ = unfold(tune)
        whole = Timeline(*target_of(tune.rhythm, tune.meter, TABLES.dances, tune.tempo)).whole
        hard = difficulty_of(round_, finger_round(round_, load_box(BOX), tables=TABLES), TABLES, whole)
        choices.append(Choice((tune.number, tune.nth), tune.title, hard, hard.reason))
    ranked = rank(choices, table=TABLES.choose)
    by_share = sorted(shelf.rows(), key=lambda row: row.difficulty or 0.0)
    assert [row.title for row in by_share] == [choice.title for choice in ranked]
    found = known(key_of(demo_book().read_bytes(), load_box(BOX)))
    for choice in ranked:
        assert choice.difficulty is not None
        assert found[str(choice.key[0])].difficulty == choice.difficulty
    # The next time all of it is known at once, and no process is begun.
    again = Shelf([demo_book()], BOX)
    again.look()
    assert all(row.difficulty is not None for row in again.rows())
    assert again._weigher is None
    # On another box nothing is known.
    again.now_on("csd-21")
    assert all(row.difficulty is None for row in again.rows())


def test_one_dot_of_five_is_one_level() -> None:
    bounds = [most for _, most in TABLES.choose.levels]
    assert len(bounds) == 5
    dots = [
        1 + round(share_of(points) * 4) for points in (0.0, bounds[0], bounds[0] + 0.1, bounds[1], bounds[2], bounds[3])
    ]
    assert dots == [1, 1, 2, 2, 3, 4]
    assert share_of(bounds[3] + 0.1) > share_of(bounds[3])
    assert share_of(900.0) == 1.0
    shares = [share_of(points / 10) for points in range(300)]
    assert shares == sorted(shares)


def test_what_is_due_is_told_by_the_tunes_fingerprint() -> None:
    tune = read_book(demo_book()).tune(3)
    print_ = fingerprint(unfold(tune))
    shelf = Shelf([demo_book()], BOX, lambda _box: {print_: TunePast(-2)})
    shelf.learn(demo_book(), tune, unfold(tune))
    shelf.look()
    try:
        due = {row.title: row.due for row in shelf.rows()}
    finally:
        shelf.close()
    assert due.pop(tune.title) == -2
    assert set(due.values()) == {None}


def test_what_the_box_lacks_is_said(tmp_path: Path) -> None:
    book = tmp_path / "book.abc"
    book.write_text("X:1\nT:Low\nL:1/4\nK:C\nC,,D,,|\nX:2\nT:Broken\nK:C\n", encoding="utf-8")
    shelf = Shelf([book, tmp_path / "not there.abc"], BOX)
    assert [row.title for row in shelf.rows()] == ["Low"]
    assert "not there.abc" in shelf.notice
    try:
        weighed(shelf, 1)
    finally:
        shelf.close()
    (row,) = shelf.rows()
    assert not row.fits
    assert shelf.lacks(row.id).startswith("does not fit")
    assert shelf.place(row.id) == TunePlace(book, "1")


def test_a_damaged_cache_is_begun_anew(own_folders: Path) -> None:
    from companion.pages.difficulty_cache import keep

    tune = read_book(demo_book()).tune(1)
    found = weigh(tune, unfold(tune), load_box(BOX))
    path = own_folders / "cache" / FILE
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"not a database" * 100)
    assert known("key") == {}
    keep("key", [found])
    assert known("key") == {"1": found}
    kept_values.keep("key", {"1": ["print", ["heavy"], ""]})
    assert known("key") == {}
    keep("key", [found])
    with sqlite3.connect(path) as db:
        db.execute("UPDATE kept SET text = 'heavy'")
    assert known("key") == {}
