"""A whole session on devices that are wound by hand: minutes of practice in a second, and every one the same."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from companion.input.events import PortNews
from companion.marking.mark_values import Asked, Heard, Marks, NoteMark, Verdict
from companion.practice.player_state import IN_ORDER, IN_TIME, LISTEN
from companion.practice.round_plan import RoundPlan
from companion.screen.actions import Action
from companion.session.session_state import Wish
from tests.session.fakes import Bench, exactly, play_every_round


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


def wrong_once_in(step: str) -> object:
    """A player whose first note in the first round of a step is a semitone too high."""
    done: list[int] = []

    def choose(going: RoundPlan, asked: Asked) -> Heard | None:
        note = exactly(going, asked)
        assert note is not None
        if going.task.step == step and asked is going.asked[0] and not done:
            done.append(1)
            return replace(note, pitch=note.pitch + 1)
        return note

    return choose


def test_it_begins_with_a_count_in_and_the_piece_played_to_the_player(bench: Bench) -> None:
    bench.wind(0.1)
    glance = bench.window.shown[-1]
    assert glance.step == LISTEN
    assert glance.count == "1"
    assert glance.now < 0
    assert glance.current == 0
    bar = 60 / (bench.course.target * bench.rules.rungs[0]) * 2
    bench.wind(bar)
    assert bench.window.shown[-1].now > 0
    assert bench.window.shown[-1].count == ""
    assert not bench.session.rounds


def test_what_takes_long_the_first_time_is_drawn_before_anything_sounds(bench: Bench) -> None:
    """With its cautions and without them, since the window is then laid out in other sizes."""
    bench.session.run(0.0)
    assert len({shown.caution for shown in bench.window.shown}) == 2
    assert "" in {shown.caution for shown in bench.window.shown}
    assert bench.speaker.queued == []


def test_then_the_right_notes_in_order_then_in_time_then_faster(bench: Bench) -> None:
    bench.wind(45)
    steps = [(one.piece, one.step, one.bpm) for one in bench.session.rounds]
    slow, faster = (bench.course.target * rung for rung in bench.rules.rungs[:: bench.rules.stride][:2])
    assert steps[:3] == [("A bar 1", IN_ORDER, None)] * 3
    assert steps[3:6] == [("A bar 1", IN_TIME, pytest.approx(slow))] * 3
    assert steps[6] == ("A bar 1", IN_TIME, pytest.approx(faster))
    assert all(one.marks.clean and one.standin for one in bench.session.rounds)
    assert len(bench.player.learnt) == len(bench.session.rounds)
    assert ("A phrase 1", IN_ORDER, None) in steps


def test_the_tempo_rises_at_the_very_seam_after_the_third_clean_round(bench: Bench) -> None:
    bench.wind(45)
    in_time = [one for one in bench.session.rounds if one.step == IN_TIME and one.piece == "A bar 1"]
    assert [round(one.bpm or 0, 1) for one in in_time].count(round(bench.course.target * bench.rules.rungs[0], 1)) == 3


def test_rounds_follow_each_other_without_a_gap_of_a_single_frame(bench: Bench) -> None:
    bench.wind(30)
    runs = list(zip(bench.speaker.queued, bench.speaker.queued[1:], strict=False))
    seamless = [after[0] == before[0] + before[1] for before, after in runs]
    # The only break is the step with no clock, in which nothing sounds.
    assert seamless.count(False) == 1
    assert len(seamless) > 4


def test_a_wrong_note_is_said_shown_and_kept_and_the_count_begins_again(bench: Bench) -> None:
    bench.player.choose = wrong_once_in(IN_TIME)  # type: ignore[assignment]
    bench.wind(30)
    first = next(one for one in bench.session.rounds if one.step == IN_TIME)
    assert not first.marks.clean
    assert first.marks.notes[0].verdict is Verdict.WRONG
    said = [glance.sentence for glance in bench.window.shown]
    assert any(sentence.startswith("A bar 1") and "note A" in sentence for sentence in said)
    shown = [glance.notes[0].verdict for glance in bench.window.shown if glance.step == IN_TIME]
    assert Verdict.WRONG in shown
    slow = [one for one in bench.session.rounds if one.step == IN_TIME and one.bpm == first.bpm]
    assert len(slow) == 4


def test_the_next_session_goes_on_where_this_one_stopped(bench: Bench, tmp_path: Path) -> None:
    bench.wind(20)
    before = bench.standing
    assert before.standing.step == 2
    bench.session.finish()
    bench.record.close()
    again = Bench(tmp_path)
    assert again.standing == before
    again.wind(0.1)
    assert again.window.shown[-1].step == IN_TIME


def test_a_session_that_is_torn_away_has_every_marked_round_in_its_record(bench: Bench, tmp_path: Path) -> None:
    bench.wind(20)
    marked = len(bench.session.rounds)
    again = Bench(tmp_path)  # nothing was finished or closed
    assert again.record.rounds(again.tune) == marked
    assert again.standing == bench.standing


def test_pause_is_silence_and_going_on_counts_in_again(bench: Bench) -> None:
    bench.wind(16)
    bench.window.wanted = [Action.PAUSE]
    bench.wind(3)
    assert bench.window.shown[-1].paused
    cuts, queued = bench.speaker.cuts, len(bench.speaker.queued)
    assert cuts == 1
    bench.wind(3)
    assert len(bench.speaker.queued) == queued
    bench.window.wanted = [Action.PAUSE]
    bench.wind(0.2)
    assert not bench.window.shown[-1].paused
    assert bench.window.shown[-1].count == "1"


def test_an_instrument_that_goes_in_mid_round_costs_no_mistake(bench: Bench) -> None:
    bench.wind(19)
    bench.player.standin_on = False
    bench.wind(0.5)
    marked = len(bench.session.rounds)
    bench.player.tidings = [PortNews(bench.speaker.time, False)]
    bench.wind(0.1)
    assert bench.speaker.cuts == 1
    assert bench.window.shown[-1].count == "1"
    bench.wind(6)
    assert all(one.marks.clean for one in bench.session.rounds[marked:])


def test_an_instrument_that_goes_and_comes_fifty_times_costs_nothing(bench: Bench) -> None:
    """Each time in the middle of a round, with notes half played: nothing is recorded, and the piece begins again."""
    bench.wind(19)
    bench.player.standin_on = False
    bench.wind(0.5)
    before = bench.session.rounds
    for turn in range(50):
        bench.player.tidings = [PortNews(bench.speaker.time, turn % 2 == 1)]
        cuts = bench.speaker.cuts
        bench.wind(0.1)
        assert bench.speaker.cuts == cuts + 1
        assert bench.window.shown[-1].count == "1"
        now = bench.speaker.time
        bench.player._due += [Heard(now + 0.1 * k, 30 + k, end=now + 0.1 * k + 0.05) for k in range(4)]
        bench.wind(0.9)
    bench.player.tidings = [PortNews(bench.speaker.time, True)]
    bench.wind(0.1)
    assert bench.session.rounds == before


def test_the_help_page_pauses_and_goes_away_again(bench: Bench) -> None:
    bench.wind(1)
    bench.window.wanted = [Action.HELP]
    bench.wind(1)
    assert bench.window.helped > 10
    assert bench.speaker.cuts == 1
    helped = bench.window.helped
    bench.window.wanted = [Action.HELP]
    bench.wind(0.2)
    assert bench.window.helped == helped
    assert not bench.window.shown[-1].paused
    assert bench.window.shown[-1].count == "1"


def test_the_players_wishes_are_done_and_kept(bench: Bench, tmp_path: Path) -> None:
    bench.wind(0.5)
    bench.window.wanted = [Action.ON]
    bench.wind(0.2)
    assert bench.window.shown[-1].piece == "A bar 2"
    bench.window.wanted = [Action.FASTER]
    bench.wind(0.2)
    assert bench.window.shown[-1].bpm == pytest.approx(bench.course.target * bench.rules.rungs[1])
    assert Bench(tmp_path).standing == bench.standing
    bench.window.wanted = [Action.BACK]
    bench.wind(0.2)
    assert bench.window.shown[-1].piece == "A bar 1"
    bench.window.wanted = [Action.QUIT, Action.QUIT]  # leaving is asked once
    bench.wind(0.2)
    assert bench.session.over


def test_with_nobody_to_hear_the_piece_is_played_on(bench: Bench) -> None:
    bench.player.standin_on = False
    bench.player.can_hear = False  # type: ignore[misc]
    bench.wind(20)
    assert not bench.session.rounds
    assert bench.window.shown[-1].step == IN_TIME
    assert len(bench.speaker.queued) > 5


def test_silence_is_no_mistake(bench: Bench) -> None:
    bench.player.choose = lambda going, asked: None if going.clocked else exactly(going, asked)
    bench.wind(30)
    assert {one.step for one in bench.session.rounds} == {IN_ORDER}
    assert bench.standing.standing.failed == 0
    assert any("Nothing heard" in glance.sentence for glance in bench.window.shown)


def test_a_pick_up_is_counted_into(tmp_path: Path) -> None:
    bench = Bench(tmp_path, number=2)
    bench.wind(0.1)
    counts = []
    while not counts or bench.window.shown[-1].now < 0.1:
        glance = bench.window.shown[-1]
        if glance.count and (not counts or counts[-1] != glance.count):
            counts.append(glance.count)
        bench.wind(0.02)
    assert counts == ["1", "2"]


def test_a_session_that_is_paused_draws_less_often(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted on a clock that only goes on while the session sleeps."""
    from companion.session import session

    now = [0.0]

    def sleep(seconds: float) -> None:
        now[0] += seconds

    monkeypatch.setattr(session.time, "monotonic", lambda: now[0])
    monkeypatch.setattr(session.time, "sleep", sleep)
    bench.session.run(2.0)
    playing = len(bench.window.shown)
    bench.session.tell(Wish(Action.PAUSE))
    bench.session.run(2.0)
    assert playing > 100
    assert len(bench.window.shown) - playing < 30


def test_what_was_played_on_another_page_belongs_to_no_round(bench: Bench) -> None:
    play_every_round(bench)
    bench.wind(6)
    assert bench.session.rounds[-1].step == IN_ORDER
    bench.window.wanted = [Action.HELP]
    bench.wind(1)
    for pitch in (75, 77, 80):
        bench.player.come(pitch, bench.speaker.time)
    bench.wind(1)
    bench.window.wanted = [Action.HELP]
    had = len(bench.session.rounds)
    bench.wind(4)
    rounds = bench.session.rounds[had:]
    assert rounds
    assert all(one.marks.clean for one in rounds)


def test_a_note_in_the_count_in_is_neither_an_early_first_note_nor_one_too_many(bench: Bench) -> None:
    play_every_round(bench)
    bench.wind(20)
    assert bench.session.rounds[-1].step == IN_TIME
    bench.window.wanted = [Action.AGAIN]  # with a count-in
    first: list[RoundPlan] = []

    def counted(going: RoundPlan, asked: Asked) -> Heard | None:
        """Of the round after the count-in the first note comes a beat too soon, and not in its place."""
        if not first:
            first.append(going)
        note = exactly(going, asked)
        if note is None or going is not first[0] or asked is not going.asked[0]:
            return note
        return replace(note, seconds=note.seconds - float(going.timeline.beat) * going.timeline.whole)

    bench.player.choose = counted
    had = len(bench.session.rounds)
    bench.wind(12)
    marked = bench.session.rounds[had].marks
    assert [note.verdict for note in marks_of(marked, first[0])] == [Verdict.MISSED]
    assert not [note for note in marked.notes if note.verdict is Verdict.EXTRA]


def marks_of(marked: Marks, going: RoundPlan) -> list[NoteMark]:
    """What the first note of a round was given."""
    return [note for note in marked.notes if note.written == going.laid.notes[0].index]
