"""What the record knows of a player, and that its running totals are what a count of all rounds gives."""

from __future__ import annotations

from datetime import UTC, date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.lesson.review import WholeRound
from companion.store.record import open_record
from companion.store.round_bars import from_text, to_text
from companion.store.totals import count_anew
from companion.tune.part_bars import Bar, bars_of
from tests.melody import make_round
from tests.shipped_tables import TABLES
from tests.store.made import BEGAN, OTHER, ROUND, everything, kept, live, lives, open_at, quick_folder

CLEAN, FAST = [WholeRound(0.9, True)], [WholeRound(1.0, True)]


def test_a_piece_has_its_best_clean_tempo_its_mistakes_and_its_dates(tmp_path: Path) -> None:
    record, clock = open_at(tmp_path / "record.sqlite3")
    tune = record.tune(ROUND, "The Net Loft", "jig")
    sitting = record.begin(tune, "bc-21")
    for one in (
        kept(bpm=None),  # in order: no tempo
        kept(bpm=60.0),
        kept(bpm=80.0, clean=False, n1="other-row", n2="missed"),
        kept(bpm=72.0),
        kept(bpm=200.0, standin=True),  # says nothing about the player
        kept("A part", bpm=50.0, clean=False, n1="other-row+other-direction"),
    ):
        clock.on(seconds=20)
        record.keep(sitting, one, {})
    clock.on(days=2)
    record.keep(record.begin(tune, "bc-21"), kept(bpm=66.0, clean=False, n1="other-row"), {})
    record.keep(record.begin(tune, "d-10"), kept(bpm=120.0), {})
    memory = record.memory(tune, "bc-21")
    assert list(memory.pieces) == ["A bar 1", "A part"]
    bar = memory.pieces["A bar 1"]
    assert (bar.rounds, bar.clean, bar.best) == (5, 3, 72.0)
    assert (bar.first, bar.last) == (date(2026, 3, 1), date(2026, 3, 3))
    assert list(bar.mistakes.items()) == [("other-row", 2), ("missed", 1)]
    part = memory.pieces["A part"]
    assert part.best is None
    assert part.mistakes == {"other-row+other-direction": 1}


def test_a_day_is_the_player_s_own(tmp_path: Path) -> None:
    # A quarter to midnight in a zone an hour east of UTC, then a quarter past: two days there, one in UTC.
    record, _ = open_at(tmp_path / "record.sqlite3", BEGAN.replace(hour=23, minute=45))
    clock = record._clock
    tune = record.tune(ROUND, "The Net Loft", "jig")
    sitting = record.begin(tune, "bc-21")
    record.keep(sitting, kept(), {})
    clock.on(minutes=30)  # type: ignore[attr-defined]
    record.keep(sitting, kept(), {})
    assert list(record.days()) == [date(2026, 3, 1), date(2026, 3, 2)]


def test_minutes_leave_out_long_waits_and_the_stand_in(tmp_path: Path) -> None:
    record, clock = open_at(tmp_path / "record.sqlite3")
    sitting = record.begin(record.tune(ROUND, "t", "jig"), "bc-21")
    for wait, standin in ((30, False), (60, True), (30, False), (3600, False)):
        clock.on(seconds=wait)
        record.keep(sitting, kept(standin=standin), {})
    assert record.days() == {date(2026, 3, 1): pytest.approx((30 + 30 + 300) / 60)}
    clock.on(seconds=-7200)  # a clock that is set back takes nothing away
    record.keep(sitting, kept(), {})
    assert sum(record.days().values()) == pytest.approx(6.0)


def test_mistakes_live_in_bars_and_lately_counts_the_last_two_months_of_playing(tmp_path: Path) -> None:
    record, clock = open_at(tmp_path / "record.sqlite3")
    tune = record.tune(ROUND, "t", "jig")
    sitting = record.begin(tune, "bc-21")
    record.keep(sitting, kept(clean=False, n0="wrong", n3="late-turn"), {})
    for _ in range(2):
        clock.on(days=40)
        record.keep(sitting, kept(clean=False, n3="missed"), {})
    found = {
        one.bar.name: (one.asked, one.mistaken, one.lately_asked, one.lately_mistaken)
        for one in record.bars(tune, "bc-21")
    }
    assert found == {"A bar 1": (6, 1, 4, 0), "A bar 2": (6, 3, 4, 2), "B bar 1": (0,) * 4, "B bar 2": (0,) * 4}
    assert record.bars(tune, "d-10")[0].asked == 0


def test_bars_are_named_as_pieces_are() -> None:
    first = [[(62, "1/8")], [(62, "1/2"), (64, "1/2")], [(66, "1/2"), (67, "1/4")]]
    round_ = make_round([("A", 1, first), ("A", 2, first), ("B", 1, first[1:])], pickup="1/8")
    names = [bar.name for bar in bars_of(round_)]
    assert (
        names
        == ["A bar 1"] * 3 + ["A bar 2"] * 2 + ["A bar 1"] * 3 + ["A bar 2"] * 2 + ["B bar 1"] * 2 + ["B bar 2"] * 2
    )
    assert from_text(to_text(bars_of(round_))) == bars_of(round_)
    assert from_text(None) == ()
    assert Bar("A", 8, 2).name == "A bar 8, time 2"


def test_a_tune_comes_back_most_overdue_first(tmp_path: Path) -> None:
    record, clock = open_at(tmp_path / "record.sqlite3")
    first, second = record.tune(ROUND, "The Net Loft", "jig"), record.tune(OTHER, "The Ferry House", "reel")
    assert record.review(first, "bc-21", [WholeRound(0.9, False)], clock(), TABLES.memory) is None  # never clean yet
    assert record.review(first, "bc-21", [], clock(), TABLES.memory) is None
    assert record.due("bc-21", clock()) == ()
    good = record.review(first, "bc-21", CLEAN, clock(), TABLES.memory)
    easy = record.review(second, "bc-21", FAST, clock(), TABLES.memory)
    assert good is not None
    assert easy is not None
    assert (good.days, easy.days) == (2, 8)  # the first stabilities of FSRS: 2.3065 and 8.2956 days
    later = clock() + timedelta(days=5)
    assert [(one.title, one.rhythm, one.days) for one in record.due("bc-21", later)] == [
        ("The Net Loft", "jig", -3), ("The Ferry House", "reel", 3),
    ]  # fmt: skip
    assert record.due("d-10", later) == ()
    said_nothing = record.review(first, "bc-21", [WholeRound(0.6, True)], later, TABLES.memory)
    assert said_nothing is not None
    assert said_nothing.due == good.due
    assert len(record.reviews(first, "bc-21")) == 1
    forgot = record.review(first, "bc-21", [WholeRound(0.6, False)], later, TABLES.memory)
    assert forgot is not None
    assert forgot.days == 1
    record.close()
    again = open_record(tmp_path / "record.sqlite3")
    assert again.due("bc-21", later)[0].due == forgot.due
    assert again.due("bc-21", later.astimezone(UTC))[0].print == forgot.print


@settings(max_examples=40, deadline=None)
@given(lives)
def test_running_totals_are_what_counting_all_rounds_gives(life: list[Any]) -> None:
    with quick_folder() as folder:
        record, clock = open_at(Path(folder) / "record.sqlite3")
        live(record, clock, life)
        kept_up = everything(record)
        with record._change() as db:
            count_anew(db)
        assert everything(record) == kept_up
        record.close()


@settings(max_examples=15, deadline=None)
@given(lives, st.integers(0, 3))
def test_opening_again_changes_nothing(life: list[Any], split: int) -> None:
    with quick_folder() as folder:
        path = Path(folder) / "record.sqlite3"
        record, clock = open_at(path)
        live(record, clock, life[:split])
        said = everything(record)
        record.close()
        record, _ = open_at(path, clock())
        assert record.notice == ""
        assert everything(record) == said
        record.close()
