"""A page for each take of a class: what went well, what went wrong and where, and what to practise next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from companion.box.pitch_names import name_of
from companion.cli.opening import Opened
from companion.errors import Place, UserError
from companion.hearing.causes import CAUSES
from companion.hearing.model import Asked, Marks, Verdict
from companion.hearing.summary import Tally, by_bar, by_button, by_join, evenness, steadiness
from companion.hearing.take_marks import TakeMarks
from companion.tune.part_bars import bars_of
from companion.whole_file import whole_file

Take = tuple[str, TakeMarks | None, Sequence[str]]


def write_pages(folder: Path, opened: Opened, asked: Sequence[Asked], takes: Sequence[Take]) -> None:
    """Write a page, plain text, for each take that could be marked: `anna.mid` has `anna.txt`.

    Raises
    ------
    UserError
        Where the folder cannot be made or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(f"The folder cannot be made: {error.strerror}; choose another place.", Place(folder)) from error
    for name, found, work in takes:
        if found is not None:
            with whole_file(folder / f"{Path(name).stem}.txt") as beside:
                beside.write_text(page(name, found, work, opened, asked), encoding="utf-8")


def page(name: str, found: TakeMarks, work: Sequence[str], opened: Opened, asked: Sequence[Asked]) -> str:
    """The page of one take."""
    marks = found.marks
    lines = [f"{opened.tune.title} - {Path(name).stem}", ""]
    lines.append("A clean round." if marks.clean else "Not a clean round yet.")
    if marks.played_bpm is not None:
        lines.append(f"Played at {marks.played_bpm:.0f} beats a minute.")
    if found.timeline is not None:
        steady = steadiness(marks, asked, found.timeline.whole)
        if steady is not None:
            side = "late" if steady.late_ms >= 0 else "early"
            trend = "faster" if steady.trend < 0 else "slower"
            lines.append(
                f"On the whole {abs(steady.late_ms):.0f} ms {side}, within {steady.spread_ms:.0f} ms of its own beat; "
                f"{abs(100 * steady.trend):.1f} % {trend} at the end."
            )
        even = evenness(marks, asked)
        if even is not None:
            lines.append(f"From one note to the next, {even:.0f} ms uneven.")
        held = [note.held for note in marks.notes]
        if any(held):
            lines.append(f"Let go too soon: {held.count('short')} notes; held too long: {held.count('long')}.")
    if work:
        lines += ["", "What to work on:", *(f"  {n}. {sentence}" for n, sentence in enumerate(work, 1))]
    lines += _wrong(marks, opened)
    fingering = opened.fingering
    if fingering.playable:
        bars = {bar.name: tally for bar, tally in by_bar(marks, bars_of(opened.round)).items()}
        buttons = {
            f"{press.row} {press.button}, {press.bellows.value}": tally
            for press, tally in by_button(marks, fingering).items()
        }
        lines += _table("By bar", bars)
        lines += _table("By join", {name: t for name, t in by_join(marks, opened.pieces).items() if t.notes})
        lines += _table("By button", buttons)
    return "\n".join(lines) + "\n"


def _wrong(marks: Marks, opened: Opened) -> list[str]:
    """Each note that went wrong, with what came instead and why."""
    lines = []
    bars = bars_of(opened.round)
    for note in marks.notes:
        if note.written is None or note.verdict not in (Verdict.WRONG, Verdict.MISSED) or note.pitch is None:
            continue
        written = opened.round.notes[note.written]
        instead = (
            f"{name_of(note.heard_pitch, signature=opened.round.signature)} came"
            if note.heard_pitch is not None
            else "left out"
        )
        why = " or ".join(CAUSES[code] for code in note.cause.split("+")) if note.cause else ""
        place = f"{bars[note.written].name}, time {written.turn}"
        lines.append(
            f"  {place}: {name_of(note.pitch, signature=opened.round.signature)}, {instead}"
            + (f" ({why})" if why else "")
        )
    return ["", "Notes that went wrong:", *lines] if lines else []


def _table(title: str, tallies: Mapping[str, Tally]) -> list[str]:
    """Counts of right notes, and of what went wrong, a line each."""
    if not tallies:
        return []
    width = max(len(name) for name in tallies)
    lines = ["", f"{title}:"]
    for name, tally in tallies.items():
        late = f"  {tally.late_ms:+5.0f} ms" if tally.late_ms is not None else ""
        wrong = f"  {tally.wrong} wrong" if tally.wrong else ""
        missed = f"  {tally.missed} left out" if tally.missed else ""
        lines.append(f"  {name:{width}}  {tally.right:3} of {tally.notes} right{late}{wrong}{missed}")
    return lines
