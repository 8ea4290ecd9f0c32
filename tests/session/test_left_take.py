"""A session's take, read back with its marks: each round found in it, as late as it was, and heard beside the tune."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import mido
import pytest

from companion.cli.main import main
from companion.errors import UserError
from companion.input.take_file import read_take, write_take
from companion.lesson.pieces import cut, piece_named
from companion.marking.asking import asked_of
from companion.marking.mark_values import Asked, Heard
from companion.marking.take_in_tune import again
from companion.places import shipped
from companion.practice.machine import IN_TIME
from companion.practice.round_plan import RoundPlan
from companion.session.read_session import beat_of, rounds_left
from companion.session.session_files import write_marks
from companion.session.session_folders import MARKS, TAKE
from tests.session.fakes import Bench, exactly
from tests.shipped_tables import TABLES

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
LATE = 0.03  # seconds: how late this player always is


def late(going: RoundPlan, asked: Asked) -> Heard | None:
    note = exactly(going, asked)
    assert note is not None
    later = LATE if going.clocked else 0.0
    return replace(note, seconds=note.seconds + later, end=(note.end or 0.0) + later)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """What a session of a minute leaves; its player is a little late."""
    bench = Bench(tmp_path)
    bench.player.choose = late
    bench.wind(60)
    left = tmp_path / "left"
    write_take(left / TAKE, bench.player.taken)
    write_marks(left / MARKS, bench.course.title, "bc-21", bench.course.beat, bench.session.rounds)
    assert len({one.piece for one in bench.session.rounds}) > 1
    return left


def test_every_round_is_found_and_as_late_as_it_was(folder: Path, tmp_path: Path) -> None:
    course = Bench(tmp_path / "other").course
    pieces = cut(course.round, course.fingering.notes, rules=TABLES.lesson)
    heard = read_take(folder / TAKE)
    found = rounds_left(folder / MARKS, course.title, heard)
    written = json.loads((folder / MARKS).read_text(encoding="utf-8"))["rounds"]
    assert [(one.piece, one.step) for one in found] == [(one["piece"], one["step"]) for one in written]
    in_time = [one for one in found if one.step == IN_TIME]
    assert in_time
    for one in in_time:
        asked = asked_of(course.laid(piece_named(pieces, one.piece)))
        timeline = beat_of(one, asked, heard, course.beat)
        assert timeline is not None
        assert timeline.bpm == one.bpm
        kept = again(asked, heard, one.marks, timeline)
        assert [note.near for note in kept] == [note.index for note in asked]
        # Always late is no other tempo and no other beat: it is heard.
        assert [note.off * timeline.whole for note in kept] == pytest.approx([LATE] * len(kept), abs=0.002)
    assert beat_of(replace(found[0], bpm=None), asked, heard, course.beat) is None


def test_it_is_heard_by_piece(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The folder or the take in it; a piece of which the session played only a part is heard as far as it goes."""
    out = tmp_path / "o.mid"
    for name in (folder, folder / TAKE):
        for piece in ("A bar 1", "A bar 2"):
            assert main(["render", BOOK, "--take", str(name), "--piece", piece, "-o", str(out)]) == 0
            tracks = {track.name: track for track in mido.MidiFile(out).tracks}
            melody, mine = (
                [m.note for m in tracks[voice] if m.type == "note_on" and m.velocity] for voice in ("melody", "take")
            )
            assert mine == melody
            assert f"rounds in “{piece}”" in capsys.readouterr().out
    # A bar of the very same notes has what was played of the first of the two.
    assert main(["render", BOOK, "--take", str(folder), "--piece", "A bar 5", "-o", str(out)]) == 0
    tracks = {track.name: track for track in mido.MidiFile(out).tracks}
    melody, mine = (
        [m.note for m in tracks[voice] if m.type == "note_on" and m.velocity] for voice in ("melody", "take")
    )
    assert mine == melody
    assert "rounds in “A bar 5”" in capsys.readouterr().out
    assert main(["render", BOOK, "--take", str(folder), "--piece", "B bar 3", "-o", str(out)]) == 2
    assert "nothing of “B bar 3”" in capsys.readouterr().err


def test_marks_that_are_none_are_left_aside_and_broken_ones_refused(folder: Path) -> None:
    heard = read_take(folder / TAKE)
    whole = json.loads((folder / MARKS).read_text(encoding="utf-8"))
    title = whole["title"]
    assert rounds_left(folder / MARKS, "Another Tune", heard) == ()
    for text in ("", "[]", "{", '{"schema": "something/1"}'):
        (folder / MARKS).write_text(text, encoding="utf-8")
        assert rounds_left(folder / MARKS, title, heard) == ()
    del whole["rounds"][0]["notes"][0]["verdict"]
    for broken in (whole, whole | {"rounds": 3}):
        (folder / MARKS).write_text(json.dumps(broken), encoding="utf-8")
        with pytest.raises(UserError, match="not as they were written"):
            rounds_left(folder / MARKS, title, heard)
