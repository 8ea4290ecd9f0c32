"""When a round is clean, and where it went wrong, at the edges of the rule in `config/marks.toml`."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.marking.mark_values import Asked, Heard, Marks, NoteMark, Verdict
from companion.marking.marking_rules import Clean, MarkingRules
from companion.marking.marks import faults, is_clean, mark, unheard, unsure
from companion.timeline import Timeline
from tests.marking.small import LINE, asked_for, played
from tests.shipped_tables import TABLES

RULES = TABLES.marks
BOUND = RULES.clean.tolerance_ms(0.5)  # at 120 a minute
RIGHT, WRONG, MISSED, EXTRA, ORNAMENT = Verdict.RIGHT, Verdict.WRONG, Verdict.MISSED, Verdict.EXTRA, Verdict.ORNAMENT
UNSURE = Verdict.UNSURE


def marked(*verdicts: Verdict, late: float | None = 0.0) -> list[NoteMark]:
    """Marks with these verdicts, one after the other."""
    notes: list[NoteMark] = []
    written = 0
    for verdict in verdicts:
        own = verdict not in (EXTRA, ORNAMENT)
        notes.append(NoteMark(written if own else None, None, verdict, 62, 62, late if verdict is RIGHT else None))
        written += own
    return notes


def late(*ms: float) -> list[NoteMark]:
    """Right notes that came so late."""
    return [NoteMark(k, k, RIGHT, 62, 62, by) for k, by in enumerate(ms)]


def with_clean(**changed: float) -> MarkingRules:
    return replace(RULES, clean=replace(RULES.clean, **changed))


@pytest.mark.parametrize(("name", "verdict"), [("wrong", WRONG), ("missed", MISSED), ("extra", EXTRA)])
def test_as_many_as_are_allowed_and_no_more(name: str, verdict: Verdict) -> None:
    for line in (LINE, None):
        assert not is_clean(marked(RIGHT, verdict), line, RULES)
        assert is_clean(marked(RIGHT, verdict, verdict), line, with_clean(**{name: 2}))
        assert not is_clean(marked(RIGHT, verdict, verdict, verdict), line, with_clean(**{name: 2}))


def test_ornaments_never_spoil_a_round() -> None:
    assert is_clean(marked(RIGHT, ORNAMENT, RIGHT, ORNAMENT, ORNAMENT), LINE, RULES)


def test_a_round_in_which_nothing_was_played_right_is_not_clean() -> None:
    for line in (LINE, None):
        assert not is_clean([], line, RULES)
        assert not is_clean(marked(MISSED, MISSED), line, with_clean(missed=9))
        assert not is_clean(marked(WRONG, ORNAMENT), line, with_clean(wrong=9))
        assert is_clean(marked(RIGHT), line, RULES)


def test_a_note_may_be_off_the_beat_by_as_much_as_the_rule_says() -> None:
    """A note early and one late, so that the middle is on the beat."""
    assert is_clean(late(0.0, BOUND, -BOUND), LINE, RULES)
    assert not is_clean(late(0.0, BOUND + 0.1, -BOUND), LINE, RULES)
    assert not is_clean(late(0.0, BOUND, -BOUND - 0.1), LINE, RULES)
    assert is_clean(late(0.0, BOUND + 0.1, -BOUND), None, RULES)


def test_one_note_in_twenty_may_lie_outside() -> None:
    assert is_clean(late(*[0.0] * 38, 200.0, 200.0), LINE, RULES)
    assert not is_clean(late(*[0.0] * 37, 200.0, 200.0, 200.0), LINE, RULES)
    assert not is_clean(late(*[0.0] * 37, 200.0, -200.0), LINE, RULES)


def test_what_the_whole_round_is_late_by_is_forgiven_to_some_extent() -> None:
    for sign in (1.0, -1.0):
        most = sign * (BOUND + RULES.clean.forgiven_ms)
        assert is_clean(late(most, most, most), LINE, RULES)
        assert not is_clean(late(*[most + sign * 0.1] * 3), LINE, RULES)
        # No more is forgiven than the middle lateness is.
        assert not is_clean(late(0.0, 0.0, 0.0, sign * (BOUND + 1.0)), LINE, RULES)


def test_one_note_in_ten_may_be_unsure() -> None:
    for line in (LINE, None):
        assert is_clean(marked(*[RIGHT] * 18, UNSURE, UNSURE), line, RULES)
        assert not is_clean(marked(*[RIGHT] * 17, UNSURE, UNSURE), line, RULES)
        assert is_clean(marked(RIGHT, UNSURE), line, with_clean(unsure_share=0.5))
        assert not is_clean(marked(UNSURE, UNSURE), line, with_clean(unsure_share=1.0))  # nothing was right


def test_a_sound_that_may_have_been_a_note_too_many_spoils_nothing() -> None:
    maybe = NoteMark(None, 3, UNSURE, None, 80, None, sure=0.3)
    assert is_clean([*marked(RIGHT, RIGHT), maybe, maybe], LINE, RULES)


def test_unsure_notes_are_no_faults_and_no_lateness() -> None:
    marks = Marks(False, 120.0, None, tuple(marked(RIGHT, UNSURE, UNSURE, RIGHT)))
    assert faults(marks, RULES) == frozenset()
    assert unsure(marks) == {1, 2}
    # What lies a little out of time is not why this round is not clean: one note in twenty may.
    notes = [*marked(*[RIGHT] * 20, late=0.0), NoteMark(20, 20, RIGHT, 62, 62, 200.0)]
    notes += [NoteMark(21 + k, None, UNSURE, 62, None, 300.0) for k in range(5)]
    assert not is_clean(notes, LINE, RULES)
    assert faults(Marks(False, 120.0, None, tuple(notes)), RULES) == frozenset()


def test_a_round_is_unheard_where_nothing_is_wrong_for_sure() -> None:
    def told(*verdicts: Verdict, clean: bool = False) -> bool:
        return unheard(Marks(clean, 120.0, None, tuple(marked(*verdicts))), RULES)

    assert told(RIGHT, UNSURE, UNSURE)
    assert told(UNSURE, UNSURE)
    for verdict in (WRONG, MISSED, EXTRA):
        assert not told(RIGHT, UNSURE, UNSURE, verdict)
    assert not told(*[RIGHT] * 20, UNSURE)  # not clean for its time: that was heard well
    assert not told(*[RIGHT] * 20, UNSURE, clean=True)


@pytest.mark.parametrize(("beat_seconds", "ms"), [(0.5, 70.0), (0.1, 60.0), (3.0, 140.0)])
def test_how_far_a_note_may_be_off(beat_seconds: float, ms: float) -> None:
    """A share of the beat (0.14), but no less than 60 ms at any tempo and no more than 140."""
    assert RULES.clean.tolerance_ms(beat_seconds) == pytest.approx(ms)
    line = Timeline(60.0 / beat_seconds, Fraction(1, 4))
    assert is_clean(late(0.0, ms - 0.1, 0.1 - ms), line, RULES)
    assert not is_clean(late(0.0, ms + 0.1, 0.1 - ms), line, RULES)


# Where it went wrong


def fault(asked: tuple[Asked, ...], heard: tuple[Heard, ...], line: Timeline | None = LINE) -> frozenset[int]:
    return faults(mark(asked, heard, timeline=line, rules=TABLES.marks), rules=TABLES.marks)


ASKED = asked_for(62, 64, 66, 67)


def test_wrong_and_missed_notes_are_faults() -> None:
    assert fault(ASKED, played((0.0, 62), (0.25, 65), (0.5, 66), (0.75, 67))) == {1}
    assert fault(ASKED, played((0.0, 62), (0.25, 64), (0.75, 67))) == {2}
    assert fault(ASKED, played((0.0, 62), (0.25, 64), (0.5, 66), (0.75, 67))) == frozenset()
    assert fault(ASKED, ()) == {0, 1, 2, 3}


def test_a_note_too_many_is_a_fault_of_the_note_it_comes_before_or_of_the_last() -> None:
    right = ((0.0, 62), (0.25, 64), (0.5, 66), (0.75, 67))
    assert fault(ASKED, played(*right[:2], (0.37, 80), *right[2:])) == {2}
    assert fault(ASKED, played(*right, (1.1, 80))) == {3}
    assert fault(ASKED, played((-0.2, 80), *right)) == {0}


def test_an_ornament_is_no_fault() -> None:
    with_cut = (*played((0.0, 62), (0.25, 64)), Heard(0.5, 71, end=0.55), *played((0.55, 66), (0.75, 67)))
    assert fault(ASKED, with_cut) == frozenset()


def test_notes_out_of_time_are_faults_where_that_is_why_the_round_is_not_clean() -> None:
    times = [0.25 * k for k in range(4)]
    late_third = played(*((at + (0.12 if k == 2 else 0.0), ASKED[k].pitch) for k, at in enumerate(times)))
    early_third = played(*((at - (0.12 if k == 2 else 0.0), ASKED[k].pitch) for k, at in enumerate(times)))
    assert fault(ASKED, late_third) == {2}
    assert fault(ASKED, early_third) == {2}
    assert fault(ASKED, late_third, None) == frozenset()
    # A wrong note comes first: what lies out of time beside it is left for later.
    wrong_too = (*late_third[:3], replace(late_third[3], pitch=70))
    assert fault(ASKED, wrong_too) == {3}


def test_a_note_at_the_bound_is_in_time() -> None:
    rules = with_clean(outside_share=0.0)
    for by, at in ((BOUND, set()), (BOUND + 0.1, {3})):
        marks = mark(
            ASKED, played(*((0.25 * k, a.pitch) for k, a in enumerate(ASKED))), timeline=LINE, rules=TABLES.marks
        )
        notes = tuple(replace(n, late_ms=by if n.written == 3 else 0.0) for n in marks.notes)
        assert faults(replace(marks, notes=notes, clean=False), rules) == at


def test_a_clean_round_has_no_faults_though_one_note_in_twenty_lay_outside() -> None:
    asked = asked_for(*[62, 64, 66, 67] * 6)
    heard = played(*((0.25 * k + (0.15 if k == 9 else 0.0), a.pitch) for k, a in enumerate(asked)))
    marks = mark(asked, heard, timeline=LINE, rules=TABLES.marks)
    assert marks.clean
    assert faults(marks, rules=TABLES.marks) == frozenset()


# What else a mark says


def test_the_marks_say_the_tempo_asked_and_the_tempo_played() -> None:
    heard = played(*((0.5 + 0.3 * k, a.pitch) for k, a in enumerate(ASKED)))
    marks = mark(ASKED, heard, timeline=None, beat=Fraction(1, 4), rules=TABLES.marks)
    assert (marks.asked_bpm, marks.played_bpm) == (None, pytest.approx(100.0))
    assert mark(ASKED, heard, timeline=None, rules=TABLES.marks).played_bpm is None
    marks = mark(ASKED, played(*((0.25 * k, a.pitch) for k, a in enumerate(ASKED))), timeline=LINE, rules=TABLES.marks)
    assert (marks.asked_bpm, marks.played_bpm) == (120.0, pytest.approx(120.0))
    assert (
        mark(ASKED, played((0.0, 62), (0.25, 64)), timeline=LINE, rules=TABLES.marks).played_bpm is None
    )  # too few notes to tell


def test_notes_that_come_in_any_order_are_taken_by_their_time() -> None:
    heard = played((0.5, 66), (0.0, 62), (0.75, 67), (0.25, 64))
    assert mark(ASKED, heard, timeline=LINE, rules=TABLES.marks).clean


def test_a_note_too_many_says_what_it_was() -> None:
    heard = played((0.0, 62), (0.25, 64), (0.37, 80), (0.5, 66), (0.75, 67), (1.1, 81))
    extra = [n for n in mark(ASKED, heard, timeline=LINE, rules=TABLES.marks).notes if n.verdict is EXTRA]
    assert [(n.heard, n.heard_pitch, n.pitch, n.late_ms) for n in extra] == [(2, 80, None, None), (5, 81, None, None)]


def test_lateness_is_told_of_wrong_notes_too_and_as_a_share_of_the_beat() -> None:
    notes = mark(ASKED, played((0.0, 62), (0.29, 65), (0.46, 66), (0.75, 67)), timeline=LINE, rules=TABLES.marks).notes
    assert [n.late_ms for n in notes] == pytest.approx([0.0, 40.0, -40.0, 0.0])
    assert [n.late_share for n in notes] == pytest.approx([0.0, 0.08, -0.08, 0.0])


@pytest.mark.parametrize(("share", "said"), [(0.349, "short"), (0.35, None), (1.35, None), (1.351, "long")])
def test_the_edges_of_too_short_and_too_long(share: float, said: str | None) -> None:
    heard = (Heard(0.0, 62, end=0.25 * share), *played((0.25, 64), (0.5, 66), (0.75, 67)))
    assert mark(ASKED, heard, timeline=LINE, rules=TABLES.marks).notes[0].held == said


def test_an_ornamented_note_is_never_too_short() -> None:
    """A cut or a roll divides it, so that its own end says nothing."""
    asked = (replace(ASKED[0], ornaments=("roll",)), *ASKED[1:])
    heard = (Heard(0.0, 62, end=0.04), *played((0.25, 64), (0.5, 66), (0.75, 67)))
    assert mark(asked, heard, timeline=LINE, rules=TABLES.marks).notes[0].held is None
    assert mark(ASKED, heard, timeline=LINE, rules=TABLES.marks).notes[0].held == "short"


def test_the_bound_of_the_rule_in_words() -> None:
    rule = Clean(0, 0, 0, 0.1, 20.0, 50.0, 0.0, 0.0, 0.0)
    assert [rule.tolerance_ms(beat) for beat in (0.1, 0.3, 0.9)] == pytest.approx([20.0, 30.0, 50.0])
