"""What the player chooses: any run of notes, round and round, at any tempo, until they say otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.marking.mark_values import Asked, Heard
from companion.practice.player_state import FRESH, IN_ORDER, IN_TIME, LISTEN, task
from companion.practice.round_plan import RoundPlan
from companion.screen.actions import Action, ChosenBar, ChosenNotes, ChosenTempo
from companion.screen.actions import Asked as Wanted
from companion.session.session_state import Mode
from tests.session.fakes import Bench, exactly, play_every_round


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    found = Bench(tmp_path)
    play_every_round(found)
    found.wind(0.5)
    return found


def ask(bench: Bench, *wanted: Wanted) -> None:
    bench.window.wanted = list(wanted)
    bench.wind(0.1)


def rounds_of(bench: Bench, piece: str) -> int:
    return sum(kept.piece == piece for kept in bench.session.rounds)


def test_bar_5_round_and_round_at_60_per_cent_in_two_inputs_and_nothing_moves_on(bench: Bench) -> None:
    lesson = bench.standing
    ask(bench, ChosenBar(5), ChosenTempo(60))
    bench.wind(120)
    assert {(kept.piece, kept.step) for kept in bench.session.rounds} == {("A bar 5", IN_TIME)}
    assert {kept.bpm for kept in bench.session.rounds} == {0.6 * bench.course.target}
    assert rounds_of(bench, "A bar 5") > 20  # clean ones: three in a row and more change nothing
    assert all(kept.marks.clean for kept in bench.session.rounds)
    assert bench.window.shown[-1].own
    assert (bench.standing.current, bench.standing.standings) == (lesson.current, lesson.standings)
    # The pulse goes on from round to round.
    ends = [first + frames for first, frames in bench.speaker.queued[-8:]]
    assert [first for first, _ in bench.speaker.queued[-7:]] == ends[:-1]


def test_one_key_leads_back_to_the_lesson_where_it_was_and_what_was_played_counts(bench: Bench) -> None:
    asked = task(bench.standing, bench.rules)
    ask(bench, ChosenBar(3))
    bench.wind(30)
    count = rounds_of(bench, "A bar 3")
    assert count > 2
    memory = bench.record.memory(bench.tune, "bc-21")
    assert memory.pieces["A bar 3"].clean == count
    first, last = bench.plan.task.piece.first, bench.plan.task.piece.last
    moves = [bench.standing.lesson.moves[k] for k in range(first + 1, last + 1)]
    assert all(bench.standing.known[move].right >= count for move in moves)
    ask(bench, Action.LESSON)
    assert bench.plan.task == asked
    assert not bench.window.shown[-1].own


@pytest.mark.parametrize(
    ("wanted", "piece"),
    [
        (ChosenNotes(0, 2), "A bar 1"),
        (ChosenNotes(5, 3), "A bar 2"),
        (ChosenNotes(0, 9), "A bars 1 to 3"),
        (ChosenNotes(1, 2), "A bar 1, notes 2 to 3"),
        (ChosenNotes(1, 4), "A bar 1 note 2 to bar 2 note 2"),
        (Action.WHOLE, "round"),
    ],
)
def test_any_run_of_notes_has_a_name_and_loops(bench: Bench, wanted: Wanted, piece: str) -> None:
    ask(bench, wanted)
    assert bench.plan.task.piece.name == piece
    number = bench.plan.number
    bench.wind(bench.plan.ends - bench.speaker.time + 0.5)
    assert (bench.plan.task.piece.name, bench.plan.number) == (piece, number + 1)


def test_a_join_goes_round_the_end_of_the_tune(bench: Bench) -> None:
    join = next(piece for piece in bench.standing.course if piece.first > piece.last)
    ask(bench, ChosenNotes(join.first, join.last))
    assert bench.plan.task.piece == join


def test_a_tempo_below_the_ladder_still_tells_which_moves_were_right(bench: Bench) -> None:
    ask(bench, ChosenBar(2), ChosenTempo(30))
    bench.wind(bench.plan.ends - bench.speaker.time + 1)
    assert bench.session.rounds[0].marks.clean
    first, last = bench.plan.task.piece.first, bench.plan.task.piece.last
    known = [bench.standing.known[bench.standing.lesson.moves[k]] for k in range(first + 1, last + 1)]
    assert all((one.right, one.rung) == (1, FRESH) for one in known)


def test_from_here_to_here(bench: Bench) -> None:
    ask(bench, Action.WHOLE, Action.COUNT_IN)
    notes = bench.plan.asked
    bench.wind(bench.plan.timeline.seconds(notes[4].at) - bench.speaker.time + 0.05)
    ask(bench, Action.FROM_HERE)
    assert bench.plan.task.piece.name == "round"  # it goes on until it is told where to end
    bench.wind(bench.plan.timeline.seconds(notes[8].at) - bench.speaker.time + 0.05)
    ask(bench, Action.TO_HERE)
    assert (bench.plan.task.piece.first, bench.plan.task.piece.last) == (4, 8)


def test_the_bar_that_sounds_is_looped_and_the_next_one_is_a_key_away(bench: Bench) -> None:
    ask(bench, Action.WHOLE)
    sixth = next(k for k, bar in enumerate(bench.course.bars) if bar.name == "A bar 6")
    bench.wind(bench.plan.timeline.seconds(bench.plan.asked[sixth].at) - bench.speaker.time + 0.05)
    ask(bench, Action.LOOP)
    assert bench.plan.task.piece.name == "A bar 6"
    ask(bench, Action.ON)
    assert bench.plan.task.piece.name == "A bar 7"
    ask(bench, Action.BACK, Action.BACK)
    assert bench.plan.task.piece.name == "A bar 5"


def test_the_same_figure_again_is_the_bar_of_the_next_part(bench: Bench) -> None:
    ask(bench, ChosenBar(5))
    assert bench.plan.task.piece.name == "A bar 5"
    ask(bench, ChosenBar(5))
    assert bench.plan.task.piece.name == "B bar 5"
    ask(bench, ChosenBar(5))
    assert bench.plan.task.piece.name == "A bar 5"


def test_a_bar_that_is_not_there_is_said_and_changes_nothing(bench: Bench) -> None:
    before = bench.plan
    ask(bench, ChosenBar(77))
    assert bench.sentence == "There is no bar 77 in this tune."
    assert bench.plan is before


def test_it_goes_faster_by_itself_only_where_that_is_wanted(bench: Bench) -> None:
    ask(bench, ChosenBar(2), ChosenTempo(60), Action.CLIMB)
    bench.wind(60)
    tempi = [round(100 * kept.bpm / bench.course.target) for kept in bench.session.rounds if kept.bpm is not None]
    assert tempi[:3] == [60, 60, 60]
    assert max(tempi) > 70
    assert sorted(tempi) == tempi
    assert all(tempi.count(tempo) >= bench.rules.clean_needed for tempo in set(tempi[:-3]))


def test_it_plays_and_then_leaves_room(bench: Bench) -> None:
    ask(bench, ChosenBar(2), Action.ANSWER)
    steps = []
    for _ in range(600):
        bench.wind(0.05)
        if bench.session.state.in_play and (not steps or steps[-1][0] != bench.plan.number):
            steps.append((bench.plan.number, bench.plan.task.step))
    told = [step for _, step in steps]
    assert told[:4] == [LISTEN, IN_TIME, LISTEN, IN_TIME]
    assert all(kept.step == IN_TIME for kept in bench.session.rounds)


def test_unmarked_rounds_count_as_practised_and_as_nothing_else(bench: Bench) -> None:
    ask(bench, Action.WHOLE, Action.MARKS)
    before = bench.session.practised
    bench.wind(bench.plan.ends - bench.speaker.time + 1)
    assert bench.session.rounds == ()
    assert bench.session.practised > before + 10


def test_where_nothing_is_to_be_marked_nothing_is_said_or_shown_of_a_wrong_note(bench: Bench) -> None:
    bench.player.choose = lambda plan, asked: Heard(plan.timeline.seconds(asked.at), asked.pitch + 1)
    ask(bench, ChosenBar(2), Action.MARKS)
    said = bench.sentence
    bench.wind(bench.plan.ends - bench.speaker.time - 0.1)
    page = bench.window.shown[-1]
    assert (page.sentence, page.tried) == (said, ())
    assert all(note.verdict is None for note in page.notes)


@pytest.mark.parametrize(("tempi", "kept"), [((60, 90), 60), ((90, 60), 60)])
def test_a_round_in_two_tempi_counts_for_the_slower_one(bench: Bench, tempi: tuple[int, int], kept: int) -> None:
    ask(bench, ChosenNotes(0, 12), ChosenTempo(tempi[0]))
    bench.wind(bench.plan.timeline.seconds(0) + 0.4 - bench.speaker.time)
    bench.player.stop()
    ask(bench, ChosenTempo(tempi[1]))
    bench.player.play(bench.plan, 0.0)
    bench.wind(bench.plan.ends - bench.speaker.time + 1)
    assert bench.session.rounds[0].bpm == kept / 100 * bench.course.target
    rungs = {known.rung for known in bench.standing.known}
    assert max(rungs) <= bench.rules.rungs.index(kept / 100)


def test_a_tapped_tempo(bench: Bench) -> None:
    ask(bench, ChosenBar(2))
    for _ in range(4):
        bench.window.wanted = [Action.TAP]
        bench.wind(0.75)
    assert bench.plan.timeline.bpm == pytest.approx(80, rel=0.03)


def test_a_tempo_chosen_in_the_lesson_is_kept_after_the_notes_are_right_in_order(bench: Bench) -> None:
    ask(bench, ChosenTempo(70))
    while not any(kept.step == IN_TIME for kept in bench.session.rounds):
        bench.wind(0.5)
    first = next(kept for kept in bench.session.rounds if kept.step == IN_TIME)
    assert first.bpm == pytest.approx(0.7 * bench.course.target)


def test_free_play_shows_what_is_pressed_and_asks_nothing(bench: Bench) -> None:
    ask(bench, Action.FREE)
    bench.player.come(62, bench.speaker.time)
    bench.wind(0.1)
    page = bench.window.shown[-1]
    assert page.notes == ()
    assert page.sentence == "D: 3 pull, C row"
    assert [bench.course.fingering.box.pitch(press) for press in page.pressed] == [62]
    assert page.tried == ()  # nothing is wrong
    bench.wind(30)
    assert bench.session.state.in_play == ()
    assert bench.session.rounds == ()
    ask(bench, Action.LESSON)
    assert bench.session.state.in_play


def test_the_pause_keeps_what_was_chosen(bench: Bench) -> None:
    ask(bench, ChosenBar(4), Action.PAUSE)
    assert bench.session.state.mode is Mode.PAUSED
    ask(bench, Action.PAUSE)
    assert bench.plan.task.piece.name == "A bar 4"


def test_a_wrong_note_in_own_rounds_is_told_and_the_lesson_hears_of_the_move(bench: Bench) -> None:
    def choose(plan: RoundPlan, asked: Asked) -> Heard | None:
        note = exactly(plan, asked)
        assert note is not None
        return Heard(note.seconds, note.pitch + 1, end=note.end) if asked is plan.asked[1] else note

    bench.player.choose = choose
    ask(bench, ChosenBar(2))
    bench.wind(20)
    assert not any(kept.marks.clean for kept in bench.session.rounds)
    move = bench.standing.lesson.moves[bench.plan.asked[1].index]
    assert bench.standing.known[move].wrong >= 2


def test_own_rounds_with_no_beat_wait_for_each_right_note(bench: Bench) -> None:
    ask(bench, ChosenBar(2), Action.BEAT)
    assert not bench.plan.clocked
    bench.wind(30)
    assert {(kept.piece, kept.step, kept.bpm) for kept in bench.session.rounds} == {("A bar 2", IN_ORDER, None)}
    assert len(bench.session.rounds) > 3
