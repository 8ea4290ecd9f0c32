"""A wrong press is answered at once: where it was, and one sentence; and all that is kept of it says the same."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from companion.box.box_values import Bellows, Press
from companion.marking.causes import slips
from companion.marking.mark_values import Asked, Heard, Verdict
from companion.practice.player_state import IN_ORDER, IN_TIME
from companion.practice.round_plan import RoundPlan
from tests.session.fakes import Bench, exactly, play_every_round
from tests.session.mistakes import MISTAKES, Mistake, wrong_pitch

FRAME = 0.01  # seconds: a step of the bench
AT_ONCE = 0.05  # seconds within which it is said


@pytest.mark.parametrize("step", [IN_ORDER, IN_TIME])
@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake.cause)
def test_the_first_wrong_press(tmp_path: Path, mistake: Mistake, step: str) -> None:
    bench = Bench(tmp_path)
    made: list[tuple[float, int, int]] = []  # when it came, which note it was in place of, what it sounded

    def choose(plan: RoundPlan, asked: Asked) -> Heard | None:
        note = exactly(plan, asked)
        assert note is not None
        k = plan.asked.index(asked)
        if made or plan.task.step != step or not 0 < k < len(plan.asked) - 1:
            return note
        pitch = wrong_pitch(bench.course.fingering, plan.asked, k, mistake.cause)
        if pitch is None:
            return note
        made.append((note.seconds, k, pitch))
        if step == IN_ORDER:  # it waits for the right one
            bench.player.come(note.pitch, note.seconds + 0.3)
        return replace(note, pitch=pitch)

    bench.player.choose = choose
    play_every_round(bench)
    while not made:
        bench.wind(FRAME, FRAME)
        assert bench.speaker.time < 900, "no such mistake can be made in this tune"
    came, k, pitch = made[0]
    plan = bench.plan
    while bench.speaker.time < came + AT_ONCE:
        bench.wind(FRAME, FRAME)
    press = bench.course.fingering.notes[plan.asked[k].index].press
    page = bench.window.shown[-1]
    assert page.sentence.startswith(mistake.said)
    if mistake.cause == "other-direction":
        way, other = ("push", "pull") if press.bellows is Bellows.PUSH else ("pull", "push")
        assert page.sentence == f"You {other}ed. This one is a {way}."
    else:
        assert str(press.button) in page.sentence
    assert [bench.course.fingering.box.pitch(tried) for tried in page.tried] == [pitch] * len(page.tried)
    assert page.tried
    if mistake.cause in slips(bench.course.fingering.box, press):
        assert set(page.tried) <= set(slips(bench.course.fingering.box, press)[mistake.cause])
    index, before = plan.asked[k].index, len(bench.session.rounds)
    while len(bench.session.rounds) == before:
        bench.wind(FRAME, FRAME)
    kept = bench.session.rounds[before]
    note = next(note for note in kept.marks.notes if note.written == index)
    assert (note.verdict, note.cause, note.heard_pitch) == (Verdict.WRONG, mistake.cause, pitch)
    assert not any(one.verdict is Verdict.EXTRA for one in kept.marks.notes)
    mistakes = bench.record.memory(bench.tune, "bc-21").pieces[kept.piece].mistakes
    assert mistakes.get(mistake.cause, 0) >= 1


def test_the_picture_of_the_wrong_press_goes_with_the_right_note(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    play_every_round(bench)
    bench.player.choose = lambda _plan, _asked: None
    while bench.session.state.in_play == () or bench.plan.clocked:
        bench.wind(0.1)
    first = bench.plan.asked[0]
    bench.player.come(first.pitch + 1, bench.speaker.time)
    bench.wind(0.1)
    assert bench.window.shown[-1].tried
    said = bench.sentence
    bench.player.come(first.pitch, bench.speaker.time)
    bench.wind(0.1)
    assert bench.window.shown[-1].tried == ()
    assert bench.sentence == said  # it stays, to be read


def test_where_nothing_explains_it_every_press_that_sounds_it_is_shown(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    play_every_round(bench)
    bench.player.choose = lambda _plan, _asked: None
    while bench.session.state.in_play == () or bench.plan.clocked:
        bench.wind(0.1)
    bench.player.come(88, bench.speaker.time)  # an e''' : far from everything in this tune
    bench.wind(0.1)
    box = bench.course.fingering.box
    everywhere = {
        Press(row.name, n + 1, way)
        for row in box.rows
        for way, side in ((Bellows.PUSH, row.push), (Bellows.PULL, row.pull))
        for n, pitch in enumerate(side)
        if pitch == 88
    }
    assert set(bench.window.shown[-1].tried) == everywhere
    assert bench.sentence.startswith("Not that one: ")


def test_a_caution_gives_way_to_the_answer_and_comes_back(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    play_every_round(bench)
    bench.player.choose = lambda _plan, _asked: None
    while bench.session.state.in_play == () or bench.plan.clocked:
        bench.wind(0.1)
    bench.put(began=bench.speaker.time)  # the evening begins
    bench.wind(0.1)
    assert bench.window.shown[-1].caution
    bench.player.come(bench.plan.asked[0].pitch + 1, bench.speaker.time)
    bench.wind(0.1)
    assert bench.window.shown[-1].caution == ""
    bench.wind(6.5)
    assert bench.window.shown[-1].caution
