"""Records for the tests of the store: a clock that they wind, rounds by hand and by hypothesis."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from companion.lesson.review import WholeRound
from companion.marking.cause_table import CAUSES
from companion.marking.mark_values import Marks, NoteMark, Verdict
from companion.store.record import Record, RoundKept, open_record
from tests.melody import make_round
from tests.shipped_tables import TABLES

PART = [[(62, "1/4"), (64, "1/4")], [(66, "1/4"), (67, "1/4")]]
SECOND = [[(62, "1/4"), (64, "1/4")], [(66, "1/4"), (69, "1/4")]]
ROUND = make_round([("A", 1, PART), ("B", 1, SECOND)])
OTHER = make_round([("A", 1, SECOND)])
TUNES = ((ROUND, "The Net Loft", "jig"), (OTHER, "The Ferry House — “old”", "reel"))
BEGAN = datetime(2026, 3, 1, 19, 0, tzinfo=timezone(timedelta(hours=1)))


@dataclass
class WoundClock:
    """A clock that goes on when the test says so."""

    now: datetime = BEGAN

    def __call__(self) -> datetime:
        return self.now

    def on(self, **by: float) -> None:
        self.now += timedelta(**by)


def quick_folder() -> tempfile.TemporaryDirectory[str]:
    """A folder for many records, in memory where the system has a place for it: each change waits for the disk."""
    memory = Path("/dev/shm")
    return tempfile.TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None)


def open_at(path: Path, now: datetime = BEGAN) -> tuple[Record, WoundClock]:
    """A record with a clock of its own."""
    clock = WoundClock(now)
    return open_record(path, clock), clock


def kept(
    piece: str = "A bar 1", clean: bool = True, bpm: float | None = 60.0, standin: bool = False, **wrong: str
) -> RoundKept:
    """A round of the four first notes; `n2="other-row"` gives note 2 that cause, "missed" or "wrong" that verdict."""
    notes = []
    for index in range(4):
        said = wrong.get(f"n{index}")
        verdict = Verdict(said) if said in ("wrong", "missed") else Verdict.WRONG if said else Verdict.RIGHT
        cause = said if said not in (None, "wrong", "missed") else None
        notes.append(NoteMark(index, index, verdict, 62, 62, 4.5, cause))
    return RoundKept(piece, "in time", bpm, standin, Marks(clean, bpm, bpm, tuple(notes)))


_floats = st.floats(-1e6, 1e6, allow_nan=False)
_notes = st.builds(
    NoteMark,
    st.none() | st.integers(0, 7),
    st.none(),
    st.sampled_from(list(Verdict)),
    st.none() | st.integers(0, 127),
    st.none() | st.integers(0, 127),
    st.none() | _floats,
    st.none() | st.sampled_from([*CAUSES, "other-row+other-direction"]),
)
_marks = st.builds(Marks, st.booleans(), st.none(), st.none(), st.lists(_notes, max_size=5).map(tuple))
_texts = st.text(st.characters(exclude_categories=("Cs",)), max_size=8)
_rounds = st.builds(
    RoundKept,
    st.sampled_from(["A bar 1", "A part", "round"]) | _texts,
    st.sampled_from(["in order", "in time"]),
    st.none() | st.floats(20, 300),
    st.booleans(),
    _marks,
)
_states = st.dictionaries(_texts, st.none() | st.integers(0, 9) | _floats | _texts, max_size=3)
_tries = st.lists(st.builds(WholeRound, st.sampled_from([0.6, 0.9, 1.0]), st.booleans()), max_size=3)
_sittings = st.tuples(
    st.sampled_from([0, 1]),
    st.sampled_from(["bc-21", "d-10"]),
    st.lists(st.tuples(st.integers(0, 400_000), _rounds, _states), max_size=4),
    st.booleans(),
    st.none() | _tries,
    st.integers(0, 3 * 86_400_000),
)
lives = st.lists(_sittings, max_size=5)
"""What a player does: sittings with their rounds, whether each is ended, how it is reviewed, and the time between."""


def live(record: Record, clock: WoundClock, life: list[Any]) -> None:
    """Let a player do all that."""
    for tune_number, box, rounds, ends, tries, pause in life:
        tune = record.tune(*TUNES[tune_number])
        sitting = record.begin(tune, box)
        for wait, one, state in rounds:
            clock.on(milliseconds=wait)
            record.keep(sitting, one, state)
        if ends:
            record.end(sitting)
        if tries is not None:
            record.review(tune, box, tries, clock().astimezone(UTC), TABLES.memory)
        clock.on(milliseconds=pause)


def everything(record: Record) -> dict[str, Any]:
    """All that a record says of a player, for comparing two of them: totals by the print of the tune."""
    now = datetime(2026, 6, 1, tzinfo=UTC)
    said: dict[str, Any] = {"boxes": record.boxes(), "days": record.days()}
    for box in ("bc-21", "d-10"):
        for one in record.tunes(box, now):
            memory = record.memory(one.tune, box)
            said[f"{box} {one.print}"] = (
                memory.pieces, record.history(one.tune, box), record.bars(one.tune, box), record.days(box, one.tune),
                one.best, one.minutes, one.mistakes, one.due.due if one.due is not None else None,
            )  # fmt: skip
        for tune, (round_, title, rhythm) in enumerate(TUNES):
            number = record.tune(round_, title, rhythm)
            said[f"{box} {tune}"] = (
                record.state(number, box, False), record.state(number, box, True), record.reviews(number, box),
            )  # fmt: skip
    return said
