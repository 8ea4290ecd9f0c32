"""What was gained, in the window: the same figures as `companion progress`, reached and left like every page."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from companion.cli.main import main
from companion.lesson.review import WholeRound
from companion.marking.cause_table import CAUSES
from companion.marking.mark_values import Verdict
from companion.pages.books_at_hand import demo_book
from companion.pages.choosing import NextTune
from companion.pages.practised import PracticeReport, report_of
from companion.pages.progress_page import Progress
from companion.pages.shelf import Shelf
from companion.places import own_data
from companion.screen.actions import Action, Asked, Nav, Picked
from companion.screen.list_values import DiaryLine, GainedPage, Gains, TuneGain, TunesPage
from companion.screen.words import load_words
from companion.store.record import here, open_record
from tests.session.fakes import Bench
from tests.shipped_tables import TABLES
from tests.store.made import BEGAN, OTHER, ROUND, kept, open_at
from tests.store.test_from_before import put

WORDS = load_words()


def views(report: PracticeReport) -> tuple[GainedPage, GainedPage, GainedPage]:
    """The three views, turned with the arrow key."""
    progress = Progress(report, WORDS)
    found = [progress.glance]
    for _ in range(2):
        progress.take(Nav.RIGHT)
        found.append(progress.glance)
    progress.take(Nav.RIGHT)
    assert progress.glance == found[0]
    progress.take(Nav.LEFT)
    assert progress.glance == found[2]
    return found[0], found[1], found[2]


def test_it_says_the_same_as_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """On the record of the version before, figure by figure."""
    put(own_data())
    assert main(["progress", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert main(["progress", "lamp", "--json"]) == 0
    (of_tune,) = json.loads(capsys.readouterr().out)["tunes"]
    record = open_record()
    tunes, days, diary = views(report_of(record, told["box"], here()))
    record.close()
    (row,), (tune,) = tunes.rows, told["tunes"]
    assert isinstance(row, TuneGain)
    assert (row.title, row.id) == (tune["title"], tune["print"])
    assert row.bars == (tune["bars"]["known"], tune["bars"]["begun"], tune["bars"]["all"])
    assert row.bars[1:] == (16, 16)
    most, times = max(tune["mistakes"].items(), key=lambda one: one[1])
    assert row.wrong == f"{WORDS(f'cause.{most}')}: {times} times" == "button too high: 8 times"
    assert row.tempo == ("no tempo yet" if tune["best"] is None else f"{tune['best']:.0f} of {tune['target']:.0f}")
    assert (row.due == "") == (tune["due"] is None)
    assert [sum(minutes > 0 for minutes in week.minutes) for week in days.weeks] == [w["days"] for w in told["weeks"]]
    assert [round(sum(week.minutes), 1) for week in days.weeks] == [week["minutes"] for week in told["weeks"]]
    (line,) = diary.rows
    assert isinstance(line, DiaryLine)
    rounds, clean = (sum(day[name] for day in of_tune["by_day"]) for name in ("rounds", "clean"))
    assert line.rounds == f"{clean} of {rounds} rounds clean"
    assert line.tempo == f"up to {max(day['best'] or 0 for day in of_tune['by_day']):.0f}"


def test_tunes_days_and_diary(tmp_path: Path) -> None:
    record, clock = open_at(tmp_path / "record.sqlite3")
    first = record.tune(ROUND, "The Net Loft", "jig", target=112.0)
    other = record.tune(OTHER, "The Ferry House", "reel")
    for day, tune in enumerate((first, other, first)):
        sitting = record.begin(tune, "bc-21")
        clock.on(minutes=4)
        record.keep(sitting, kept("round", bpm=60.0 + day), {})
        record.keep(sitting, kept("A part", clean=False, n1="other-row+next-note"), {})
        clock.on(days=1, minutes=-4)
    record.review(first, "bc-21", [WholeRound(0.9, True)], BEGAN, TABLES.memory)
    tunes, days, diary = views(report_of(record, "bc-21", BEGAN + timedelta(days=3)))
    record.close()
    net, ferry = tunes.rows
    assert isinstance(net, TuneGain)
    assert isinstance(ferry, TuneGain)
    assert (net.bars, net.tempo, net.now, net.due) == ((2, 2, 4), "62 of 112", True, "due since yesterday")
    assert net.wrong == "other row or next note too soon: 2 times"
    assert (ferry.bars, ferry.tempo, ferry.due) == ((2, 2, 2), "61", "")
    assert ferry.wrong.endswith(": once")
    assert tunes.said == "2 tunes, 1 in review, 1 due now"
    first_week, second_week = days.weeks
    assert (first_week.monday, first_week.said) == ("23 Feb", "1 day, 4 min")
    assert second_week.minutes == (4.0, 4.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    assert days.said == "3 days practised, 12 min in all"
    assert [(line.day, line.title, line.tempo) for line in diary.rows if isinstance(line, DiaryLine)] == [
        ("Tue 3 Mar", "The Net Loft", "up to 62"),
        ("Mon 2 Mar", "The Ferry House", "up to 61"),
        ("Sun 1 Mar", "The Net Loft", "up to 60"),
    ]


def test_every_cause_has_a_word() -> None:
    for cause in (*CAUSES, *(one.value for one in Verdict if one not in (Verdict.RIGHT, Verdict.UNSURE))):
        assert WORDS(f"cause.{cause}")


def test_a_cause_of_a_later_version_is_shown_as_it_is_called(tmp_path: Path) -> None:
    record, _ = open_at(tmp_path / "record.sqlite3")
    record.keep(record.begin(record.tune(OTHER, "The Ferry House", "reel"), "bc-21"), kept(n1="too-loud"), {})
    (row,) = views(report_of(record, "bc-21", BEGAN))[0].rows
    record.close()
    assert isinstance(row, TuneGain)
    assert row.wrong == "too loud: once"


def test_nothing_practised_is_said() -> None:
    for page in views(PracticeReport("bc-21", here(), {}, ())):
        assert page.said == "Nothing practised on this box yet. It starts with your first round."
    progress = Progress(PracticeReport("bc-21", here(), {}, ()), WORDS)
    for asked in (Nav.UP, Nav.DOWN, Nav.ENTER, Picked(0), Picked(-1, "diary"), Nav.UP):
        progress.take(asked)
    assert progress.glance.view is Gains.DIARY


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A bench on which the tune in hand has been practised, and lies in a book at hand."""
    bench = Bench(tmp_path)
    pages = bench.pages
    pages.shelf = Shelf([demo_book()], "bc-21")
    pages._practised = lambda: report_of(bench.record, "bc-21", here())
    yield bench
    pages.shelf.close()


def press(bench: Bench, *asked: Asked) -> None:
    for one in asked:
        bench.window.wanted = [one]
        bench.wind(0.1)


@pytest.mark.parametrize("before", [[], [Nav.LEAVE], [Action.TUNES], [Action.TUNES, Action.HELP, Nav.LEAVE]])
def test_it_is_reached_by_its_key_and_left_by_esc(bench: Bench, before: list[Asked]) -> None:
    bench.wind(1)
    press(bench, *before)
    open_before = bench.pages.open
    press(bench, Action.PROGRESS)
    assert isinstance(bench.window.pages[-1], GainedPage)
    press(bench, Action.HELP, Nav.LEAVE)
    assert isinstance(bench.pages.shown(bench.speaker.time), GainedPage)
    press(bench, Nav.LEAVE)
    assert bench.pages.open is open_before
    press(bench, Action.PROGRESS, Action.PROGRESS)
    assert bench.pages.open is open_before


def test_pages_do_not_pile_up(bench: Bench) -> None:
    press(bench, *[Action.TUNES, Action.PROGRESS] * 5)
    press(bench, Nav.LEAVE)
    assert isinstance(bench.window.pages[-1], TunesPage)
    press(bench, Nav.LEAVE)
    assert not bench.pages.open


def test_a_tune_is_practised_from_there(bench: Bench) -> None:
    bench.player.standin_on = False
    bench.record.keep(bench.record.begin(bench.tune, "bc-21"), kept(), {})
    press(bench, Action.PROGRESS, Nav.ENTER)
    page = bench.window.pages[-1]
    assert isinstance(page, GainedPage)
    assert "is in none of the books" in page.notice  # its notes are not known yet
    assert bench.pages.shelf is not None
    from companion.notation import read_tune
    from companion.tune.unfold import unfold

    tune = read_tune(demo_book(), 1)
    bench.pages.shelf.learn(demo_book(), tune, unfold(tune))
    bench.pages.shelf._looked = 0.0
    press(bench, Picked(0))
    assert bench.pages.wanted == NextTune(demo_book(), "1", "bc-21")
