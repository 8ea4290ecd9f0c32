"""What the page between two pieces says was gained."""

from __future__ import annotations

from dataclasses import replace

from companion.lesson.lesson_values import Kind, Piece
from companion.marking.mark_values import Marks, NoteMark, Verdict
from companion.pages.bars_known import tune_map
from companion.pages.break_page import break_page, gained, sitting_gains
from companion.practice.machine import go_on
from companion.practice.player_state import MoveKnown, PlayerState, start
from companion.screen.page_values import BarProgress
from companion.screen.words import load_words
from companion.store.record import RoundKept
from tests.session.fakes import a_tune_in_hand
from tests.shipped_tables import TABLES

COURSE, STEPS = a_tune_in_hand(1)
WORDS, RULES = load_words(), TABLES.lesson


def a_round(bpm: float | None, late: float = 20.0, wrong: int | None = None) -> RoundKept:
    pitches = [note.pitch for note in COURSE.round.notes[:3]]
    verdicts = [Verdict.WRONG if n == wrong else Verdict.RIGHT for n in range(3)]
    notes = tuple(
        NoteMark(n, n, verdict, pitch, pitch, late if bpm is not None else None)
        for n, (verdict, pitch) in enumerate(zip(verdicts, pitches, strict=True))
    )
    return RoundKept("A bar 1", "in time" if bpm else "in order", bpm, False, Marks(wrong is None, bpm, bpm, notes))


def said(*rounds: RoundKept) -> tuple[str, ...]:
    return gained(rounds, COURSE, RULES, WORDS)


def test_the_tempo_that_was_gained() -> None:
    assert said(*[a_round(56)] * 3, *[a_round(67)] * 3) == ("Clean, and up from 56 to 67 crotchets a minute.",)
    assert said(a_round(56, wrong=1), *[a_round(56)] * 3)[0] == "3 clean rounds in a row at 56 crotchets a minute."


def test_notes_that_went_wrong_and_now_come() -> None:
    found = said(a_round(56, wrong=1), a_round(56, wrong=1), a_round(56, wrong=2), *[a_round(56)] * 3)
    assert found[1].startswith("A bar 1, note ")
    assert found[1].endswith("wrong 2 times, now right.")
    still = said(a_round(56, wrong=1), a_round(56, wrong=1), a_round(56), a_round(56, wrong=1))
    assert not any("now right" in one for one in still)


def test_nearer_to_the_click() -> None:
    assert "Steadier: 12 ms off the click, down from 60." in said(a_round(56, -60), a_round(56, 30), a_round(56, 12))
    assert not any("Steadier" in one for one in said(a_round(56, 20), a_round(56, 12)))


def test_without_a_clock() -> None:
    assert said(a_round(None)) == ("You have the right notes, in order.",)
    assert said() == ()


def test_the_page() -> None:
    state = go_on(start(STEPS, RULES))
    page = break_page(COURSE, STEPS.pieces[0], state, [a_round(56)] * 3, RULES, WORDS)
    assert (page.title, page.piece, page.next_piece) == (COURSE.title, "A bar 1", "A bar 2")
    assert page.tune_map is not None
    assert page.tune_map.here == COURSE.spans[COURSE.bars[STEPS.pieces[1].first]]
    assert page.next_step == "listen first"
    assert page.bpm > 0


def test_the_map_says_of_each_bar_how_far_it_is() -> None:
    state = start(STEPS, RULES)
    count, rung = STEPS.count, RULES.top_rung(Kind.BAR)
    bars = {bar.name: span for bar, span in COURSE.spans.items()}

    def heard(name: str, known: MoveKnown, state: PlayerState) -> PlayerState:
        first, last = bars[name]
        moves = {STEPS.moves[k] for k in range(max(first, 1), last + 1)}
        return replace(state, known=tuple(known if k in moves else one for k, one in enumerate(state.known)))

    whole = Piece("round", Kind.ROUND, 0, count - 1, None, 0.0)
    assert {bar.progress for part in tune_map(COURSE, state, whole, 0, RULES).parts for bar in part.bars} == {
        BarProgress.NEW
    }
    state = heard("A bar 2", MoveKnown(right=1, rung=0), state)
    state = heard("A bar 4", MoveKnown(right=RULES.known_needed, rung=rung), state)
    state = heard("B bar 3", MoveKnown(wrong=2), state)
    page = tune_map(COURSE, state, whole, count - 1, RULES)
    found = {f"{part.name} bar {bar.number}": bar.progress for part in page.parts for bar in part.bars}
    assert found["A bar 2"] is BarProgress.BEGUN
    assert found["A bar 4"] is BarProgress.KNOWN
    assert found["B bar 3"] is BarProgress.FAILING
    assert page.here == (0, max(last for _, last in bars.values()))
    # The last note is in the second time through B, and on the map where that bar stands first.
    assert page.at == bars[COURSE.bars[-1].name][1]


def test_a_sitting_without_a_clean_round_does_not_count_none_as_a_gain() -> None:
    state = start(STEPS, RULES)
    one, three = [a_round(None, wrong=1)], [a_round(None, wrong=1)] * 3
    assert sitting_gains(COURSE, state, state, one, WORDS) == ("1 round played.",)
    assert sitting_gains(COURSE, state, state, three, WORDS) == ("3 rounds played.",)
    assert sitting_gains(COURSE, state, state, [*three, a_round(None)], WORDS) == ("1 of 4 rounds clean.",)
