"""What the record says of a tune, its bars and its days, for the window and the terminal alike."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from companion.pages.practised import report_of
from companion.store.record import here
from tests.store.made import BEGAN, OTHER, ROUND, kept, open_at
from tests.store.test_from_before import put


def test_a_bar_is_known_once_it_was_played_through_clean_in_time(tmp_path: Path) -> None:
    """The tune has four bars of two notes; the rounds are of its first four notes."""
    record, _ = open_at(tmp_path / "record.sqlite3")
    tune = record.tune(ROUND, "The Net Loft", "jig")
    sitting = record.begin(tune, "bc-21")

    def known() -> tuple[tuple[int, int], int]:
        (one,) = record.tunes("bc-21", BEGAN)
        return one.bars, one.known

    for not_yet in (kept(clean=False), kept(bpm=None)):
        record.keep(sitting, not_yet, {})
        assert known() == ((2, 4), 0)
    record.keep(sitting, kept(standin=True), {})
    assert known() == ((2, 4), 0)
    record.keep(sitting, kept(), {})
    record.keep(sitting, kept(clean=False), {})
    assert known() == ((2, 4), 2)
    assert record.tunes("d-10", BEGAN) == ()
    record.close()


def test_the_diary_has_each_day_tune_by_tune_the_last_day_first(tmp_path: Path) -> None:
    record, clock = open_at(tmp_path / "record.sqlite3")
    first, other = record.tune(ROUND, "The Net Loft", "jig"), record.tune(OTHER, "The Ferry House", "reel")
    for tunes in ((first,), (other, first, first)):
        for number, tune in enumerate(tunes):
            sitting = record.begin(tune, "bc-21")
            clock.on(seconds=60)
            record.keep(sitting, kept(clean=number != 1, bpm=60.0 + 10 * number), {})
        clock.on(days=1)
    found = [(one.day, one.title, one.rounds, one.clean, one.best, round(one.minutes)) for one in record.diary("bc-21")]
    day = BEGAN.date()
    assert found == [
        (day + timedelta(days=1), "The Net Loft", 2, 1, 80.0, 2),
        (day + timedelta(days=1), "The Ferry House", 1, 1, 60.0, 1),
        (day, "The Net Loft", 1, 1, 60.0, 1),
    ]
    assert record.diary("d-10") == ()
    record.close()


def test_a_record_of_the_version_before_has_a_diary_too(tmp_path: Path) -> None:
    from companion.store.record import open_record

    record = open_record(put(tmp_path))
    found = report_of(record, "bc-21", here())
    record.close()
    assert {one.day for one in found.diary} == set(found.days) == {date(2026, 11, 29)}
    assert sum(one.rounds for one in found.diary) > 0
    assert sum(one.minutes for one in found.diary) == sum(found.days.values())
