"""The tutor's hand in a lesson: what the file beside a book says goes before what is worked out."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.errors import UserError
from companion.lesson.learning_order import lesson_of
from companion.lesson.lesson_values import Lesson
from companion.lesson.pieces import cut
from companion.lesson.tutor import Tutor, check_names, lesson_beside, load_tutor
from companion.practice.machine import after_round
from companion.practice.player_state import Outcome, start, task
from companion.tune.tune_values import OnceThrough
from tests.melody import make_round
from tests.shipped_tables import TABLES

RULES = TABLES.lesson


def six_bars() -> OnceThrough:
    """One part of six different bars."""
    return make_round([("A", 1, [[(60 + 3 * bar + step, "1/8") for step in range(4)] for bar in range(6)])])


def told(folder: Path, text: str, number: int = 1) -> Tutor:
    path = folder / "tunes.lesson.toml"
    path.write_text(text, encoding="utf-8")
    return load_tutor(path, number, six_bars())


def lesson(tutor: Tutor) -> Lesson:
    round_ = six_bars()
    return lesson_of(round_, (), cut(round_, (), phrases=tutor.phrases, rules=TABLES.lesson), tutor)


def test_it_lies_beside_the_book() -> None:
    assert lesson_beside(Path("a/reels.abc")) == Path("a/reels.lesson.toml")


def test_phrases_begin_where_the_tutor_says(tmp_path: Path) -> None:
    tutor = told(tmp_path, "[[lesson]]\nphrases = { A = [1, 4] }\n")
    pieces = {piece.name: piece for piece in lesson(tutor).pieces}
    assert (pieces["A phrase 1"].first, pieces["A phrase 1"].last) == (0, 11)
    assert "A phrase 3" not in pieces
    assert (pieces["A phrase 1 into 2"].first, pieces["A phrase 1 into 2"].last) == (8, 15)


def test_the_order_is_the_tutors_and_nothing_else_is_learnt(tmp_path: Path) -> None:
    tutor = told(tmp_path, '[[lesson]]\norder = ["A bar 4", "a bars 2 to 4", "round"]\n')
    made = lesson(tutor)
    assert [piece.name for piece in made.pieces] == ["A bar 4", "A bars 2 to 4", "round"]
    assert (made.pieces[1].first, made.pieces[1].last) == (4, 15)
    state = start(made, RULES)
    seen = []
    while not state.finished:
        seen.append(state.piece.name)
        state, _ = after_round(state, Outcome(task(state, RULES), True), RULES)
    assert list(dict.fromkeys(seen)) == ["A bar 4", "A bars 2 to 4", "round"]


def test_target_and_sentences(tmp_path: Path) -> None:
    text = '[[lesson]]\ntarget = 84\n[lesson.say]\n"a BAR 2" = "change finger while the bellows turn"\n'
    made = lesson(told(tmp_path, text))
    assert made.target == 84.0
    assert made.sentences == {"A bar 2": "change finger while the bellows turn"}


def test_what_is_said_of_one_tune_goes_before_what_is_said_of_all(tmp_path: Path) -> None:
    text = "[[lesson]]\ntune = 2\ntarget = 70\n[[lesson]]\ntarget = 90\nphrases = { A = [1, 4] }\n"
    assert told(tmp_path, text, 2).target == 70.0
    assert told(tmp_path, text, 2).phrases == {"A": (1, 4)}
    assert told(tmp_path, text, 1).target == 90.0


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        ("[[lesson]]\ntempo = 3\n", "2:1", "`tempo` is not known"),
        ("[[lesson]]\ntarget = 1000\n", "2:1", "beats a minute, 20 to 400"),
        ("[[lesson]]\ntarget = true\n", "2:1", "beats a minute"),
        ("[[lesson]]\ntune = 0\n", "", "number in its book"),
        ("[[lesson]]\nphrases = { Z = [1] }\n", "2:1", "no part Z; it has A"),
        ("[[lesson]]\nphrases = { A = [1, 9] }\n", "2:1", "from 1 to 6"),
        ("[[lesson]]\nphrases = { A = [3, 2] }\n", "2:1", "rise"),
        ("[[lesson]]\nphrases = 3\n", "2:1", "must name parts"),
        ('[[lesson]]\norder = "A bar 1"\n', "2:1", "list of pieces"),
        ('[[lesson]]\norder = ["A bar 1",\n  "A bar 77"]\n', "2:1", "no piece “A bar 77”"),
        ('[[lesson]]\n[lesson.say]\n"A bar 77" = "x"\n', "3:1", "no piece “A bar 77”"),
        ("[[lesson]]\nsay = { a = 3 }\n", "2:1", "sentences by pieces"),
        ("[lesson]\ntarget = 90\n", "1", "two brackets"),
        ("[[lessons]]\n", "1:1", "`lessons` is not known"),
        ("[[lesson]\n", "", "not valid TOML"),
    ],
)
def test_what_cannot_be_is_said_with_its_place(tmp_path: Path, text: str, where: str, what: str) -> None:
    def read() -> None:
        check_names(told(tmp_path, text, 0 if "tune = 0" in text else 1), cut(six_bars(), (), rules=TABLES.lesson))

    with pytest.raises(UserError, match=what) as caught:
        read()
    assert f"tunes.lesson.toml:{where}" in str(caught.value) if where else "tunes.lesson.toml" in str(caught.value)
