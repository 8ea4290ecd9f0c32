"""What is an ornament and what is a note too many, at the edges of the rule in `config/marks.toml`.

Lengths are milliseconds: no longer than 82 for a cut or a tap, than 240 for a note of a triplet; a cut lies up to five
semitones above its note, a tap up to four below.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from companion.marking.mark_values import Asked, Heard
from companion.marking.ornament_marks import ornaments
from tests.shipped_tables import TABLES

RULE = TABLES.marks.ornament
Q = Fraction(1, 8)
# Three notes a quaver apart, 0.25 s each.
ASKED = (Asked(0, 0 * Q, Q, 62), Asked(1, Q, Q, 67), Asked(2, 2 * Q, Q, 66))


def note(ms: int, pitch: int, lasts: int | None = 200) -> Heard:
    return Heard(ms / 1000, pitch, end=None if lasts is None else (ms + lasts) / 1000)


def found(*heard: Heard, pairs: dict[int, int], asked: tuple[Asked, ...] = ASKED) -> set[int]:
    """The positions of the ornaments; `pairs` says which heard note stands for which written one."""
    return set(ornaments(asked, heard, tuple(pairs.items()), RULE))


def cut(ms: int = 250, pitch: int = 71, lasts: int | None = 50, main: int = 300) -> set[int]:
    """A cut before the second of three notes."""
    heard = (note(0, 62), note(ms, pitch, lasts), note(main, 67), note(500, 66))
    return found(*heard, pairs={0: 0, 1: 2, 2: 3})


@pytest.mark.parametrize(("pitch", "fits"), [(72, True), (73, False), (63, True), (62, True), (61, False), (67, True)])
def test_how_far_above_and_below_its_note_a_cut_or_tap_lies(pitch: int, fits: bool) -> None:
    """62 is no tap of the second note, but it is one of the first, which it follows too late: so it is put off."""
    heard = (note(0, 50), note(250, pitch, 50), note(300, 67), note(500, 66))
    asked = (Asked(0, 0 * Q, Q, 50), *ASKED[1:])
    expected = fits and pitch >= 67 - RULE.below
    assert found(*heard, pairs={0: 0, 1: 2, 2: 3}, asked=asked) == ({1} if expected else set())


@pytest.mark.parametrize(("lasts", "fits"), [(82, True), (83, False), (30, True)])
def test_how_long_a_cut_lasts(lasts: int, fits: bool) -> None:
    assert cut(ms=230, lasts=lasts, main=312) == ({1} if fits else set())


@pytest.mark.parametrize(("main", "fits"), [(331, True), (333, False)])
def test_how_near_to_its_note_a_cut_comes(main: int, fits: bool) -> None:
    assert cut(ms=250, main=main) == ({1} if fits else set())


def test_a_cut_whose_end_is_not_known_ends_with_the_next_note() -> None:
    assert cut(ms=250, lasts=None, main=330) == {1}
    assert cut(ms=250, lasts=None, main=340) == set()


def test_two_cuts_before_one_note_may_come_one_after_the_other() -> None:
    heard = (note(0, 62), note(150, 71, 60), note(225, 69, 60), note(300, 67), note(500, 66))
    assert found(*heard, pairs={0: 0, 1: 3, 2: 4}) == {1, 2}


def test_a_tap_just_after_its_note_began_and_the_note_again() -> None:
    heard = (note(0, 62), note(250, 67, 60), note(310, 65, 50), note(360, 67, 100), note(500, 66))
    assert found(*heard, pairs={0: 0, 1: 1, 2: 4}) == {2, 3}


def test_a_cut_after_its_note_that_goes_on_at_once() -> None:
    """In the middle of a long note: too late for its beginning, but the note goes on after it."""
    asked = (Asked(0, 0 * Q, 3 * Q, 67), Asked(1, 3 * Q, Q, 62))
    heard = (note(0, 67, 300), note(310, 71, 60), note(380, 67, 300), note(750, 62))
    assert found(*heard, pairs={0: 0, 1: 3}, asked=asked) == {1, 2}
    # Here it does not go on at once, and nothing follows near the next note either.
    heard = (note(0, 67, 300), note(310, 71, 60), note(450, 67, 250), note(750, 62))
    assert found(*heard, pairs={0: 0, 1: 3}, asked=asked) == set()


def test_a_note_again_with_no_cut_between_is_a_note_too_many() -> None:
    heard = (note(0, 62), note(250, 67, 100), note(400, 67, 90), note(500, 66))
    assert found(*heard, pairs={0: 0, 1: 1, 2: 3}) == set()
    # And before its note likewise.
    assert found(*heard, pairs={0: 0, 1: 2, 2: 3}) == set()


def test_the_main_note_before_a_cut_belongs_to_the_ornament() -> None:
    """G, cut, G: the last G stands for the written one, the first is parted from it by the cut only."""
    heard = (note(0, 62), note(250, 67, 100), note(370, 71, 50), note(420, 67, 70), note(500, 66))
    assert found(*heard, pairs={0: 0, 1: 3, 2: 4}) == {1, 2}


def test_another_note_beside_the_cut_is_a_note_too_many() -> None:
    heard = (note(0, 62), note(100, 74, 120), note(250, 71, 50), note(300, 67), note(500, 66))
    assert found(*heard, pairs={0: 0, 1: 3, 2: 4}) == {2}
    heard = (note(0, 62), note(250, 67, 60), note(310, 65, 50), note(360, 79, 100), note(500, 66))
    assert found(*heard, pairs={0: 0, 1: 1, 2: 4}) == {2}


TRIPLET = {0: 0, 1: 3, 2: 4}
LONG = (Asked(0, 0 * Q, 2 * Q, 67), Asked(1, 2 * Q, 2 * Q, 69), Asked(2, 4 * Q, 2 * Q, 66))


@pytest.mark.parametrize(("step", "fits"), [(160, True), (240, True), (241, False)])
def test_a_triplet_on_a_note_is_as_quick_as_the_rule_says(step: int, fits: bool) -> None:
    heard = (
        note(0, 67, 100),
        note(step, 67, 100),
        note(2 * step, 67, 100),
        note(3 * step, 69),
        note(3 * step + 700, 66),
    )
    assert found(*heard, pairs=TRIPLET, asked=LONG) == ({1, 2} if fits else set())


def test_a_triplet_is_quicker_than_the_tune() -> None:
    """Where the written notes come every 200 ms, three even ones of 200 ms are notes too many."""
    asked = tuple(Asked(k, k * Q, Q, pitch) for k, pitch in enumerate((67, 69, 66, 64)))
    heard = (
        note(0, 67, 90),
        note(200, 67, 90),
        note(400, 67, 90),
        note(600, 69, 90),
        note(800, 66, 90),
        note(1000, 64),
    )
    assert found(*heard, pairs={0: 0, 1: 3, 2: 4, 3: 5}, asked=asked) == set()


def test_a_triplet_is_near_its_note_all_of_it() -> None:
    heard = (note(0, 67, 100), note(160, 67, 100), note(320, 79, 100), note(480, 69), note(1180, 66))
    assert found(*heard, pairs=TRIPLET, asked=LONG) == set()


def test_one_note_more_is_no_triplet() -> None:
    heard = (note(0, 67, 100), note(160, 69, 100), note(320, 69), note(1000, 66))
    assert found(*heard, pairs={0: 0, 1: 2, 2: 3}, asked=LONG) == set()
    # Where the tune itself has an ornament there, it is taken for that.
    written = (Asked(0, 0 * Q, 2 * Q, 67, ornaments=("roll",)), *LONG[1:])
    assert found(*heard, pairs={0: 0, 1: 2, 2: 3}, asked=written) == {1}


def test_a_written_grace_note_may_be_longer_than_a_cut_and_of_any_pitch() -> None:
    written = (ASKED[0], Asked(1, Q, Q, 67, grace=(79,)), ASKED[2])
    heard = (note(0, 62), note(230, 79, 120), note(300, 67), note(500, 66))
    assert found(*heard, pairs={0: 0, 1: 2, 2: 3}, asked=written) == {1}
    assert found(*heard, pairs={0: 0, 1: 2, 2: 3}) == set()
    early = (heard[0], note(150, 79, 120), *heard[2:])  # it belongs near its note
    assert found(*early, pairs={0: 0, 1: 2, 2: 3}, asked=written) == set()


def test_before_the_first_note_and_after_the_last() -> None:
    heard = (note(-60, 66, 50), note(0, 62), note(250, 67), note(500, 66, 60), note(560, 69, 60))
    assert found(*heard, pairs={0: 1, 1: 2, 2: 3}) == {0, 4}
    lost = (note(-600, 66, 50), *heard[1:4], note(900, 69, 60))
    assert found(*lost, pairs={0: 1, 1: 2, 2: 3}) == set()


def test_where_nothing_was_matched_nothing_is_an_ornament() -> None:
    assert found(note(0, 62, 50), note(60, 64, 50), pairs={}) == set()
    assert found(pairs={}) == set()
