"""A page for each take of a class: what went well, what went wrong and where, and what to practise next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from companion.cli.ready_tune import Opened
from companion.cli.show import note_name
from companion.errors import Place, UserError
from companion.marking.cause_table import CAUSES
from companion.marking.mark_values import Asked, Marks, Verdict
from companion.marking.summary import (
    Steadiness,
    Tally,
    as_far_as_played,
    by_bar,
    by_button,
    by_join,
    evenness,
    is_another,
    steadiness,
)
from companion.marking.take_marks import TakeMarks
from companion.tune.beat_names import beat_name
from companion.tune.part_bars import bars_of
from companion.tune.tune_values import OnceThrough
from companion.whole_file import whole_file

# Notes that stray so far (ms) from a take's own beat are not late: the player stopped, or began again.
_STOPPED = 500.0
# Notes that lie so far (ms) from where the others do are told of by themselves (ours).
_FAR = 80.0
_NOTHING = 10.0  # ms that nobody needs to be told of (ours)
_NO_TREND = 0.5  # per cent, likewise
_GUESSED = (
    "How this box sounds is a guess, so some of this may be wrong. `companion help microphone` says how it is learnt."
)

# Its name, its marks, what to work on, and whether its box's sound was a guess.
Take = tuple[str, TakeMarks | None, Sequence[str], bool]


def write_pages(folder: Path, opened: Opened, asked: Sequence[Asked], takes: Sequence[Take]) -> None:
    """Write a page, plain text, for each take that could be marked: `anna.mid` has `anna.txt`, or `anna.mid.txt` where
    there is an `anna.m4a` too.

    Raises
    ------
    UserError
        Where the folder cannot be made or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(f"this folder cannot be made ({error.strerror}); name another", Place(folder)) from error
    stems = Counter(Path(name).stem for name, *_ in takes)
    for name, found, work, guessed in takes:
        if found is not None:
            stem = Path(name).stem
            with whole_file(folder / f"{stem if stems[stem] == 1 else name}.txt") as beside:
                beside.write_text(page(name, found, work, opened, asked, guessed=guessed), encoding="utf-8")


def page(
    name: str,
    found: TakeMarks,
    work: Sequence[str],
    opened: Opened,
    asked: Sequence[Asked],
    *,
    guessed: bool = False,
) -> str:
    """The page of one take; `guessed` : it is a recording of a box that was not learnt."""
    marks = found.marks
    lines = [f"{opened.tune.title} - {Path(name).stem}", ""]
    lines += [_GUESSED, ""] if guessed else []
    if is_another(marks, opened.round):
        return "\n".join([*lines, another_tune(marks, opened)]) + "\n"
    clean = "Clean" if marks.clean else "Not clean yet"
    lines.append(f"{clean}: {_counted(marks)}.")
    lines += _unsure(marks)
    if found.shift:
        way, steps = "higher" if found.shift > 0 else "lower", _times(abs(found.shift), "semitone")
        lines.append(f"It sounds {steps} {way} than written, which counts as right.")
    if marks.played_bpm is not None:
        lines.append(f"Played at {marks.played_bpm:.0f} {beat_name(opened.target[1])}s a minute.")
    steady = steadiness(marks, asked, found.timeline.whole) if found.timeline is not None else None
    stopped = steady is not None and steady.spread_ms > _STOPPED
    if found.timeline is not None:
        lines += _steady(steady, marks, asked)
        held = [note.held for note in marks.notes]
        for what, code in (("Let go too soon", "short"), ("Held too long", "long")):
            if code in held:
                lines.append(f"{what}: {_times(held.count(code), 'note')}.")
    marks, played = as_far_as_played(marks, opened.round)
    lines += [how_far(played, opened.round)] if played else []
    if work:
        lines += ["", "What to work on:", *(f"  {n}. {sentence}" for n, sentence in enumerate(work, 1))]
    lines += _wrong(marks, opened)
    fingering = opened.fingering
    if fingering.playable:
        bars = {bar.name: tally for bar, tally in by_bar(marks, bars_of(opened.round)).items()}
        buttons = {
            f"{press.row} row, button {press.button}, {press.bellows.value}": tally
            for press, tally in by_button(marks, fingering).items()
        }
        timed = not stopped
        lines += _table("By bar", bars, timed)
        # Of joins and buttons there are many: those that go well are not told.
        lines += _table("By join", {name: t for name, t in by_join(marks, opened.pieces).items() if t.at_fault}, timed)
        lines += _table("By button", {name: tally for name, tally in buttons.items() if tally.at_fault}, timed)
    return "\n".join(lines) + "\n"


def another_tune(marks: Marks, opened: Opened) -> str:
    """What is said of a take that does not sound like the tune."""
    seen, _ = as_far_as_played(marks, opened.round)
    right = sum(note.verdict is Verdict.RIGHT for note in seen.notes)
    asked = sum(note.written is not None and note.verdict is not Verdict.UNSURE for note in seen.notes)
    return (
        f"This does not sound like {opened.tune.title}: {right} of {_times(asked, 'note')} match. "
        "If it is another tune, name that one with --tune."
    )


def _steady(steady: Steadiness | None, marks: Marks, asked: Sequence[Asked]) -> list[str]:
    """How a take kept time: against the tempo that was asked for, else against its own."""
    if steady is None:
        return []
    if steady.spread_ms > _STOPPED:
        return ["It stops on the way, so how early or late the notes came is left out."]
    off = _far_off(marks, steady)
    even = evenness(marks, asked)
    late = round(abs(steady.late_ms)) if marks.asked_bpm is not None else 0
    on_beat = steady.spread_ms < _NOTHING and late < _NOTHING
    within = "On the beat" if on_beat else f"Within {steady.spread_ms:.0f} ms of your own beat"
    if even is not None:
        within += ", and even" if even < _NOTHING else f", {even:.0f} ms uneven from one note to the next"
    lines = [f"{within}."]
    if marks.asked_bpm is not None:
        side, trend = "late" if steady.late_ms >= 0 else "early", "faster" if steady.trend < 0 else "slower"
        drift = abs(100 * steady.trend)
        lines += [f"{late} ms {side} on the whole."] if late >= _NOTHING else []
        lines += [f"{drift:.1f} % {trend} by the end."] if drift >= _NO_TREND else []
    return [*lines, off] if off else lines


def _far_off(marks: Marks, steady: Steadiness) -> str:
    """How many right notes lie far from the others, which the spread of the middle half does not tell; "" for none."""
    judged = (note for note in marks.notes if note.verdict is not Verdict.UNSURE)
    late = [note.late_ms - steady.late_ms for note in judged if note.late_ms is not None]
    far = [ms for ms in late if abs(ms) > max(_FAR, 3 * steady.spread_ms)]
    if not far:
        return ""
    number, worst = len(far), max(far, key=abs)
    side = "late" if worst > 0 else "early"
    verb = "is" if number == 1 else "are"
    return f"But {number} of {len(late)} notes {verb} further off, up to {abs(worst):.0f} ms {side}."


def _counted(marks: Marks) -> str:
    """How many notes were right, and what the others were."""
    count = {verdict: sum(note.verdict is verdict for note in marks.notes) for verdict in Verdict}
    asked = count[Verdict.RIGHT] + count[Verdict.WRONG] + count[Verdict.MISSED]
    other = [
        f"{count[verdict]} {word}"
        for verdict, word in ((Verdict.WRONG, "wrong"), (Verdict.MISSED, "missed"), (Verdict.EXTRA, "extra"))
        if count[verdict]
    ]
    return ", ".join([f"{count[Verdict.RIGHT]} of {_times(asked, 'note')} right", *other])


def _unsure(marks: Marks) -> list[str]:
    """How many notes could not be judged, where that is some."""
    number = sum(note.verdict is Verdict.UNSURE for note in marks.notes)
    if not number:
        return []
    count = "counts" if number == 1 else "count"
    return [f"{_times(number, 'note')} could not be heard well enough to judge, and {count} neither way."]


def _times(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _wrong(marks: Marks, opened: Opened) -> list[str]:
    """Each note that went wrong, with what came instead and why; what was left out in one bar is one line."""
    round_ = opened.round
    which = _bar_names(round_)
    lines: list[tuple[str, str, str]] = []  # the place, the notes, what went wrong
    for note in marks.notes:
        if note.written is None or note.verdict not in (Verdict.WRONG, Verdict.MISSED) or note.pitch is None:
            continue
        place = which[note.written]
        came = (
            f"you played {note_name(note.heard_pitch, round_.signature)}" if note.heard_pitch is not None else "missed"
        )
        why = " or ".join(CAUSES[code].means for code in note.cause.split("+")) if note.cause else ""
        said = (place, note_name(note.pitch, round_.signature), f"{came} ({why})" if why else came)
        if lines and said[2] == lines[-1][2] == "missed" and said[0] == lines[-1][0]:
            said = (place, f"{lines.pop()[1]} {said[1]}", said[2])
        lines.append(said)
    return (
        ["", "Notes that went wrong:", *(f"  {place}, note {notes}: {what}" for place, notes, what in lines)]
        if lines
        else []
    )


def how_far(played: tuple[int, int], round_: OnceThrough) -> str:
    """Which bars a take holds, from its first and its last note of the round."""
    which = _bar_names(round_)
    first, last = (which[index] for index in played)
    return f"You played from {first} to {last}, so only that is marked. (--piece marks a piece by itself.)"


def _bar_names(round_: OnceThrough) -> list[str]:
    """What the bar of each note is called, and which time through its part it is where that comes again."""
    again = {note.part for note in round_.notes if note.turn > 1}
    return [
        bar.name if bar.time > 1 or note.part not in again else f"{bar.name}, time {note.turn}"
        for bar, note in zip(bars_of(round_), round_.notes, strict=True)
    ]


def _table(title: str, tallies: Mapping[str, Tally], timed: bool) -> list[str]:
    """Counts of right notes, and of what went wrong, a line each; with how late they came where that is `timed`."""
    if not tallies:
        return []
    width = max(len(name) for name in tallies)
    lines = ["", f"{title}:"]
    for name, tally in tallies.items():
        late = f"  {tally.late_ms:+5.0f} ms" if timed and tally.late_ms is not None else ""
        wrong = f"  {tally.wrong} wrong" if tally.wrong else ""
        missed = f"  {tally.missed} missed" if tally.missed else ""
        unsure = f"  {tally.unsure} unsure" if tally.unsure else ""
        lines.append(f"  {name:{width}}  {tally.right:3} of {tally.notes} right{late}{wrong}{missed}{unsure}")
    return lines
