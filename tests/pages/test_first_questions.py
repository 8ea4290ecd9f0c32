"""The questions of the first evening: what they offer, what an answer changes, which instrument is found, live."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.box.layout import box_names, load_box
from companion.errors import UserError
from companion.input.events import Event, EventKind
from companion.pages.first_questions import FirstQuestions, Question
from companion.pages.player_choices import PlayerChoices
from companion.screen.actions import Action, Dropped, Nav, Picked
from companion.screen.list_values import QuestionPage
from companion.screen.page_values import HelpPage
from companion.screen.words import load_words
from tests.session.fakes import Bench

WORDS = load_words()


class MidiIn:
    """An instrument may be found; it is remembered which was listened to."""

    def __init__(self, fault: str = "") -> None:
        self.instrument: MidiIn | None = None
        self.microphone: MidiIn | None = None
        self.fault = fault
        self.name = ""
        self.alive = True

    def listen_to(self, port: str) -> None:
        if self.fault:
            raise UserError(self.fault)
        self.instrument, self.name = self, port

    def listen_through(self, microphone: str) -> None:
        if self.fault:
            raise UserError(self.fault)
        self.instrument = self.microphone = self if microphone else None
        self.name = microphone


def asked(
    *asking: Question, ear: MidiIn | None = None, inputs: list[str] | None = None, microphones: tuple[str, ...] = ()
) -> FirstQuestions:
    there = inputs if inputs is not None else []
    return FirstQuestions(
        PlayerChoices(),
        asking,
        ear or MidiIn(),
        WORDS,
        lambda: there,
        lambda: microphones,  # type: ignore[arg-type]
    )


def test_every_layout_is_drawn_to_choose_from() -> None:
    questions = asked(Question.BOX)
    assert [one.box for one in questions.glance.answers] == [load_box(name) for name in box_names()]
    assert questions.glance.at == list(box_names()).index("bc-21")
    questions.take(Nav.DOWN)
    questions.take(Nav.RIGHT)
    questions.take(Nav.ENTER)
    assert questions.over
    assert questions.own.box == "csd-23"


def test_a_broken_layout_of_the_players_own_is_left_out(own_folders: Path) -> None:
    folder = own_folders / "config" / "boxes"
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text("name = 3\n", encoding="utf-8")
    assert "mine" in box_names()
    assert len(asked(Question.BOX).glance.answers) == len(box_names()) - 1


def test_the_instrument_is_found_as_soon_as_it_is_plugged_in(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("companion.pages.first_questions.AGAIN", -1.0)
    ear, there = MidiIn(), []
    questions = asked(Question.HEARD, ear=ear, inputs=there)
    questions.step([])
    assert questions.glance.answers[0].said == "Nothing found yet: plug it in and switch it on"
    there.append("Reed box:Reed box MIDI 1 24:0")
    questions.step([])
    assert questions.glance.answers[0].said.startswith("Found: Reed box")
    assert ear.name == there[0]
    questions.step([Event(0.0, EventKind.ON, 62, 80)])
    assert questions.glance.answers[0].said.endswith("you played D4")
    ear.alive = False
    questions.step([])
    assert questions.glance.answers[0].said == "Nothing found yet: plug it in and switch it on"


def test_an_instrument_that_does_not_open_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("companion.pages.first_questions.AGAIN", -1.0)
    questions = asked(Question.HEARD, ear=MidiIn("It is taken."), inputs=["Reed box"])
    questions.step([])
    assert questions.glance.notice == "It is taken."


@pytest.mark.parametrize(("at", "by_ear"), [(0, False), (2, True)])
def test_by_ear_is_a_choice(at: int, by_ear: bool) -> None:
    questions = asked(Question.HEARD)
    questions.take(Picked(at))
    assert questions.own.by_ear is by_ear


def test_a_microphone_is_a_choice() -> None:
    ear = MidiIn()
    questions = asked(Question.HEARD, ear=ear, microphones=("Lid", "Desk"))
    questions.take(Picked(1))
    assert (questions.over, ear.name, questions.own.by_ear) == (True, "Lid", False)


def test_where_there_is_no_microphone_it_is_said_and_asked_again() -> None:
    questions = asked(Question.HEARD)
    questions.take(Picked(1))
    assert not questions.over
    assert questions.glance.notice == "No microphone found. Plug one in and come back."
    taken = asked(Question.HEARD, ear=MidiIn("It is taken."), microphones=("Lid",))
    taken.take(Picked(1))
    assert taken.glance.notice == "It is taken."


def test_whoever_plays_by_ear_is_not_listened_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("companion.pages.first_questions.AGAIN", -1.0)
    ear = MidiIn()
    ear.listen_through("Lid")
    questions = asked(Question.HEARD, ear=ear, microphones=("Lid",))
    questions.step([])
    assert questions.glance.answers[0].said == "Nothing found yet: plug it in and switch it on"
    assert questions.glance.answers[1].said == "It hears your box: nothing leaves this machine"
    questions.take(Picked(2))
    assert ear.microphone is None


@pytest.mark.parametrize(
    ("at", "left_handed", "facing"),
    [(0, False, "player"), (1, False, "mirrored"), (2, True, "player"), (3, True, "mirrored")],
)
def test_how_it_is_held(at: int, left_handed: bool, facing: str) -> None:
    questions = asked(Question.HELD)
    look = questions.glance.answers[at].look
    questions.take(Picked(at))
    assert (questions.own.left_handed, questions.own.facing) == (left_handed, facing)
    assert questions.own.look == look


def test_the_box_that_was_chosen_is_the_one_that_is_held() -> None:
    questions = asked(Question.BOX, Question.HELD)
    questions.take(Picked(list(box_names()).index("d-10")))
    assert questions.glance.answers[0].box == load_box("d-10")
    assert (questions.glance.number, questions.glance.count) == (2, 2)


def test_the_arrows_stay_among_the_answers() -> None:
    questions = asked(Question.HELD)
    for nav in (Nav.UP, Nav.LEFT, Nav.RIGHT, Nav.DOWN, Nav.DOWN, Nav.RIGHT, Nav.RIGHT):
        questions.take(nav)
    assert questions.glance.at == 3
    questions.take(Picked(9))
    assert not questions.over


def test_over_a_session_they_are_a_page_like_the_others(tmp_path: Path) -> None:
    from companion.pages.books_at_hand import demo_book
    from companion.pages.shelf import Shelf

    bench = Bench(tmp_path)
    bench.pages.shelf = Shelf([demo_book()], "bc-21")
    bench.pages.ask(asked(Question.BOX, Question.HELD))

    def press(one: object) -> object:
        bench.window.wanted = [one]  # type: ignore[list-item]
        bench.wind(0.1)
        return bench.pages.shown(bench.speaker.time)

    page = press(Action.FASTER)
    assert isinstance(page, QuestionPage)
    assert isinstance(press(Action.HELP), HelpPage)
    assert isinstance(press(Nav.LEAVE), QuestionPage)
    page = press(Dropped(str(tmp_path / "gone.abc")))
    assert isinstance(page, QuestionPage)
    assert "no such file" in page.notice
    book = tmp_path / "own.abc"
    book.write_text("X:1\nT:Mine\nM:4/4\nL:1/4\nK:D\nDFAF|\n", encoding="utf-8")
    page = press(Dropped(str(book)))
    assert isinstance(page, QuestionPage)
    assert page.notice == "On your list now: own.abc"
    assert isinstance(press(Nav.LEAVE), QuestionPage)
    assert press(Nav.LEAVE) is None
    bench.pages.shelf.close()
