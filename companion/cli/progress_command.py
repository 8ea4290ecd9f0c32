"""`companion progress`: what was practised, what it came to, what goes wrong where, and what is due; also as plots."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Sequence
from contextlib import closing
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from companion.cli.show import as_json, as_table, line
from companion.errors import UserError
from companion.lesson.learning_order import AROUND
from companion.pages.practised import (
    Detail,
    PracticeReport,
    cause_in_words,
    days_in_words,
    due_in_words,
    minutes_in_words,
    mistakes_in_words,
    practised_in_words,
    report_of,
    some_in_words,
    tempo_in_words,
    tunes_in_words,
    weeks,
)
from companion.places import own_data
from companion.screen.words import spoken_piece
from companion.store.practice_history import PieceMemory, TuneMemory
from companion.store.record import FILE, Record, here, open_record

SCHEMA = "companion.progress/1"
WEEKS = 8  # weeks in the table
WORST = 6  # bars in the table of mistakes
ENDINGS = (".png", ".svg")


def run(given: argparse.Namespace) -> None:
    """Print the tables or the JSON, and write the plots."""
    out = Path(given.out) if given.out is not None else None
    if out is not None and out.suffix.lower() not in ENDINGS:
        raise UserError(f"“{out.name}” should end in .png or .svg")
    found = _found(given, here())
    if out is not None:
        _plot(found, given, out)
    if given.json:
        as_json(report(found))
    elif out is None:
        _show(found, given.tune is not None)


def _found(given: argparse.Namespace, now: datetime) -> PracticeReport:
    """What the record says. Raises `UserError` where a tune is asked for that is not in it."""
    if not (own_data() / FILE).exists():
        if given.tune is not None:
            raise UserError("you have not practised yet; start with `companion practise`")
        return PracticeReport(given.box or "", now, {}, ())
    with closing(open_record()) as record:
        if record.notice:
            line(record.notice)
        box = _box(record, given.box)
        found = report_of(record, box, now)
        if given.tune is None:
            return found
        chosen = _chosen(found.tunes, given.tune, box)
        return replace(found, tunes=chosen, details=tuple(_detail(record, one, box) for one in chosen))


def _box(record: Record, named: str | None) -> str:
    """The box that is asked for; the one practised on last where none is."""
    known = record.boxes()
    if named is None:
        return known[0] if known else ""
    if named in known:
        return named
    from companion.box.layout import load_box

    return load_box(named).id


def _chosen(tunes: Sequence[TuneMemory], asked: str, box: str) -> tuple[TuneMemory, ...]:
    """The tunes of that title, else those with these words in it; or the one with this print."""
    from companion.notation import tune_index

    wanted = tune_index.plain(asked)
    for answers in (
        [one for one in tunes if tune_index.plain(one.title) == wanted],
        [one for one in tunes if set(wanted.split()) <= set(tune_index.plain(one.title).split())],
        [one for one in tunes if len(asked) >= 6 and one.print.startswith(asked.lower())],
    ):
        if answers and wanted:
            return tuple(answers)
    raise UserError(f"no tune practised on {box or 'any box'} matches “{asked[:60]}”; `companion progress` lists them")


def _detail(record: Record, tune: TuneMemory, box: str) -> Detail:
    pieces = tuple(record.memory(tune.tune, box).pieces.values())
    return Detail(
        tune, pieces, record.bars(tune.tune, box), record.history(tune.tune, box), record.days(box, tune.tune)
    )


def _plot(found: PracticeReport, given: argparse.Namespace, out: Path) -> None:
    if not found.tunes:
        raise UserError("you have not practised yet, so there is nothing to plot; start with `companion practise`")
    if len(found.details) > 1:
        titles = ", ".join(f"“{one.tune.title}”" for one in found.details[:4])
        raise UserError(f"several tunes match ({titles}); name one of them for a plot")
    from companion.cli import plots

    plots.write(found, out, given.theme)
    if not given.json:
        line(f"{out}: {found.details[0].tune.title if found.details else 'what was practised'}, as a plot.")


# As tables


def _show(found: PracticeReport, asked: bool) -> None:
    if not found.tunes:
        line(f"Nothing practised yet{f' on {found.box}' if found.box else ''}. Start with `companion practise`.")
        return
    if len(found.details) == 1:
        _show_tune(found.details[0], found.box)
        return
    rows = [
        (
            one.title, some_in_words(*one.bars), f"{one.learnt} of {one.pieces}", tempo_in_words(one.best, one.target),
            mistakes_in_words(one.mistakes, 1), some_in_words(one.known, one.bars[1]), one.days, due_in_words(one.due),
        )
        for one in found.tunes
    ]  # fmt: skip
    columns = ("tune", "bars", "pieces", "tempo", "goes wrong", "known", "days", "due")
    as_table(f"On {found.box}", columns, rows, right=(1, 2, 3, 5, 6))
    line("bars: those you have begun; pieces: those you once played clean in time, of those you have begun.")
    line("known: the bars you once played clean in time.")
    if asked:
        line("Name one to see its pieces.")
        return
    line(f"{tunes_in_words(found.tunes)}\n")
    recent = weeks(found.days)[-WEEKS:]
    as_table(
        "By week", ("week of", "days", "minutes"), [(w.monday, w.days, f"{w.minutes:.0f}") for w in recent], (1, 2)
    )
    line(practised_in_words(found.days))


def _show_tune(one: Detail, box: str) -> None:
    tune = one.tune
    rows = [
        (
            spoken_piece(piece.name),
            piece.rounds,
            piece.clean,
            tempo_in_words(piece.best),
            piece.first,
            piece.last,
            mistakes_in_words(piece.mistakes, 1),
        )
        for piece in _folded(one.pieces)
    ]
    columns = ("piece", "rounds", "clean", "tempo", "first", "last", "goes wrong")
    as_table(f"{tune.title}, on {box}", columns, rows, right=(1, 2, 3))
    _show_bars(one)
    if tune.mistakes:
        causes = [(cause_in_words(code), times) for code, times in tune.mistakes.items()]
        as_table("Mistakes by cause", ("cause", "times"), causes, right=(1,))
    tempo = tempo_in_words(tune.best, tune.target)
    best = f"; best clean tempo of the whole tune: {tempo}" if tempo else ""
    bars = f"{some_in_words(*tune.bars)} bars begun. " if tune.bars[1] else ""
    line(f"{bars}{tune.pieces} pieces begun, {tune.learnt} of them once clean in time{best}.")
    long = f"{days_in_words(tune.days)}, {minutes_in_words(tune.minutes)}"
    line(f"Practised on {long}, from {tune.first} to {tune.last}.")
    if tune.due is None:
        line("Not in review yet: that starts once you play the whole tune clean, near its target tempo.")
    else:
        line(f"Review: {due_in_words(tune.due)} ({tune.due.due.astimezone():%Y-%m-%d}).")


def _folded(pieces: Sequence[PieceMemory]) -> list[PieceMemory]:
    """The pieces, the few notes taken out of a bar here and there as one: each by itself they would fill the table."""
    found: dict[str, list[PieceMemory]] = {}
    for piece in pieces:
        bar, few, _ = piece.name.partition(AROUND)
        found.setdefault(f"{bar}{few}", []).append(piece)
    return [group[0] if len(group) == 1 else _together(group) for group in found.values()]


def _together(pieces: Sequence[PieceMemory]) -> PieceMemory:
    mistakes: Counter[str] = Counter()
    for piece in pieces:
        mistakes.update(piece.mistakes)
    return PieceMemory(
        name=f"{pieces[0].name.partition(AROUND)[0]}, {len(pieces)} places in it",
        rounds=sum(piece.rounds for piece in pieces),
        clean=sum(piece.clean for piece in pieces),
        best=max((piece.best for piece in pieces if piece.best is not None), default=None),
        first=min(piece.first for piece in pieces),
        last=max(piece.last for piece in pieces),
        mistakes=dict(mistakes.most_common()),
    )


def _show_bars(one: Detail) -> None:
    wrong = sorted((bar for bar in one.bars if bar.mistaken), key=lambda bar: -bar.mistaken / bar.asked)[:WORST]
    if not wrong:
        return
    rows = [
        (bar.bar.name, bar.mistaken, bar.asked, f"{_share(bar.mistaken, bar.asked):.1f}",
         f"{_share(bar.lately_mistaken, bar.lately_asked):.1f}")
        for bar in wrong
    ]  # fmt: skip
    as_table("Where it goes wrong", ("bar", "mistakes", "notes", "per 100", "lately"), rows, right=(1, 2, 3, 4))


def _share(some: int, all_: int) -> float:
    """In a hundred."""
    return 100 * some / all_ if all_ else 0.0


# As JSON


def report(found: PracticeReport) -> dict[str, Any]:
    """The JSON of what was practised."""
    details = {one.tune.tune: one for one in found.details}
    return {
        "schema": SCHEMA,
        "box": found.box,
        "today": found.now.date().isoformat(),
        "weeks": [
            {"monday": one.monday.isoformat(), "days": one.days, "minutes": round(one.minutes, 1)}
            for one in weeks(found.days)
        ],
        "tunes": [_tune(one) | (_closely(details[one.tune]) if one.tune in details else {}) for one in found.tunes],
    }


def _tune(one: TuneMemory) -> dict[str, Any]:
    due = one.due
    return {
        "title": one.title,
        "rhythm": one.rhythm,
        "print": one.print,
        "target": one.target,
        "pieces": {"practised": one.pieces, "learnt": one.learnt},
        "bars": {"begun": one.bars[0], "known": one.known, "all": one.bars[1]},
        "best": one.best,
        "mistakes": dict(one.mistakes),
        "days": one.days,
        "minutes": round(one.minutes, 1),
        "first": one.first.isoformat(),
        "last": one.last.isoformat(),
        "due": None if due is None else {"at": due.due.isoformat(), "days": due.days},
    }


def _closely(one: Detail) -> dict[str, Any]:
    return {
        "by_piece": [
            {
                "name": piece.name,
                "rounds": piece.rounds,
                "clean": piece.clean,
                "best": piece.best,
                "first": piece.first.isoformat(),
                "last": piece.last.isoformat(),
                "mistakes": dict(piece.mistakes),
            }
            for piece in one.pieces
        ],
        "by_bar": [
            {
                "name": bar.bar.name,
                "asked": bar.asked,
                "mistaken": bar.mistaken,
                "lately_asked": bar.lately_asked,
                "lately_mistaken": bar.lately_mistaken,
            }
            for bar in one.bars
        ],
        "by_day": [
            {
                "day": day.day.isoformat(),
                "piece": day.piece,
                "rounds": day.rounds,
                "clean": day.clean,
                "best": day.best,
            }
            for day in one.history
        ],
    }
