"""Wrong notes before the right one: the note is wrong, by the first of them, and they are its tries."""

from __future__ import annotations

import pytest

from companion.marking.mark_values import Asked, Heard, Marks, Verdict
from companion.marking.marks import faults, mark
from tests.marking.small import LINE, asked_for, fingered
from tests.shipped_tables import TABLES

# D4 is button 3 of the inner row on the pull; the same button gives C4 on the push (published chart of the layout).
ASKED = asked_for(69, 62, 78, 69)
RIGHT, OTHER_WAY, BUTTON_ABOVE, FAR_OFF = 62, 60, 65, 90


def marked(came: list[tuple[float, int]], *, clock: bool = False, waits: bool = True) -> Marks:
    heard = [Heard(seconds, pitch) for seconds, pitch in came]
    line = LINE if clock else None
    return mark(ASKED, heard, timeline=line, fingering=fingered(ASKED), rules=TABLES.marks, waits=waits)


def around(*second: tuple[float, int]) -> list[tuple[float, int]]:
    """The tune as it is written, but for what comes in place of its second note, so many seconds after it is due."""
    due = [LINE.seconds(note.at) for note in ASKED]
    came = [(due[0], 69), *((due[1] + late, pitch) for late, pitch in second), (due[2], 78), (due[3], 69)]
    return sorted(came)


@pytest.mark.parametrize("clock", [False, True])
@pytest.mark.parametrize(("pitch", "cause"), [(OTHER_WAY, "other-direction"), (BUTTON_ABOVE, "button-above")])
def test_a_slip_that_is_put_right_is_a_wrong_note_with_its_cause(clock: bool, pitch: int, cause: str) -> None:
    marks = marked(around((0.0, pitch), (0.15, RIGHT)), clock=clock, waits=not clock)
    assert [note.verdict for note in marks.notes] == [Verdict.RIGHT, Verdict.WRONG, Verdict.RIGHT, Verdict.RIGHT]
    note = marks.notes[1]
    assert (note.pitch, note.heard_pitch, note.heard, note.tries, note.cause) == (RIGHT, pitch, 2, (1,), cause)
    assert faults(marks, TABLES.marks) == {1}
    assert not marks.clean


def test_several_tries_are_kept_and_the_first_says_why() -> None:
    marks = marked(
        [(0.0, 69), (1.0, OTHER_WAY), (2.0, FAR_OFF), (3.0, BUTTON_ABOVE), (5.0, RIGHT), (6.0, 78), (7.0, 69)]
    )
    assert (marks.notes[1].tries, marks.notes[1].cause) == ((1, 2, 3), "other-direction")
    assert len(marks.notes) == len(ASKED)


def test_where_the_round_waited_anything_before_the_note_was_meant_for_it() -> None:
    assert marked([(0.0, 69), (1.0, FAR_OFF), (2.0, RIGHT), (3.0, 78), (4.0, 69)]).notes[1].tries == (1,)
    free = marked([(0.0, 69), (0.5, FAR_OFF), (1.0, RIGHT), (2.0, 78), (3.0, 69)], waits=False)
    assert [note.verdict for note in free.notes].count(Verdict.EXTRA) == 1


def test_a_note_more_between_two_right_ones_in_time_is_no_try() -> None:
    """It came before the next note was due, and that came when it was."""
    due = [LINE.seconds(note.at) for note in ASKED]
    came = [(due[0], 69), ((due[0] + 2 * due[1]) / 3, OTHER_WAY), (due[1], RIGHT), (due[2], 78), (due[3], 69)]
    marks = marked(came, clock=True, waits=False)
    assert [note.verdict for note in marks.notes].count(Verdict.EXTRA) == 1
    assert all(note.tries == () for note in marks.notes)


def test_what_sounds_with_the_right_note_was_not_played_in_its_place() -> None:
    marks = marked([(0.0, 69), (1.0, OTHER_WAY), (1.01, RIGHT), (2.0, 78), (3.0, 69)])
    assert [note.verdict for note in marks.notes].count(Verdict.RIGHT) == len(ASKED)
    assert all(note.tries == () for note in marks.notes)


def test_a_phrase_begun_again_is_nobodys_try() -> None:
    asked: tuple[Asked, ...] = asked_for(60, 62, 64, 65, 67, 69, 71, 72)
    pitches = [60, 62, 64, 65, 60, 62, 64, 65, 67, 69, 71, 72]
    heard = [Heard(0.4 * n + (1.5 if n > 3 else 0.0), pitch) for n, pitch in enumerate(pitches)]
    marks = mark(asked, heard, timeline=None, fingering=fingered(asked), rules=TABLES.marks, waits=True)
    assert all(note.tries == () for note in marks.notes)
    assert sum(note.verdict is Verdict.EXTRA for note in marks.notes) == 4
