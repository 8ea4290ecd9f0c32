"""`companion buttons --learn`: a tutor's own hand, from tunes that the tutor has fingered."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from pathlib import Path

from companion.box.box_values import Box
from companion.box.choices import table_of
from companion.box.hand_costs import PLAIN, Hand
from companion.box.layout import load_box
from companion.box.learn_hand import FITTED, Corrected, LearntHand, learn_hand
from companion.cli.ready_tune import pins_of
from companion.cli.show import line
from companion.errors import UserError
from companion.notation import read_book
from companion.places import own_config
from companion.tables import HANDS, hand_names, load_hand, read_tables
from companion.tune.unfold import unfold
from companion.whole_file import whole_file

# What more of a cost makes a hand do less of.
_LESS = {
    "further": "you move far at once",
    "lean": "your fingers lean out of their places",
    "stretch": "two fingers stretch",
    "little": "your little finger plays",
    "little_ornament": "your little finger plays ornaments",
    "untapped": "your index finger plays rolls",
    "ring": "your ring finger plays",
    "change": "you change fingers on a button",
    "carried": "you move the hand by changing fingers on a button",
    "again": "one finger plays a note again",
    "turn": "you turn the bellows",
    "row": "you change rows",
    "side": "you leave the home row",
}


def run_learning(given: argparse.Namespace) -> None:
    """Learn a hand, say what it does otherwise, and keep it."""
    box = load_box(given.box)
    tables = read_tables(given.hand or PLAIN)
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,30}", given.name) or (
        given.name in hand_names() and not (own_config() / HANDS / f"{given.name}.toml").is_file()
    ):
        raise UserError(
            f"“{given.name[:40]}” cannot be the name of your hand; take another, in small letters: --name ann"
        )
    corrected = [one for file in given.learn for one in _corrected(Path(file), box, tables.hand, given.voice)]
    if not corrected:
        raise UserError(
            "no tune of these books says how it is to be fingered; write fingers in it (!2! before a note), or pins"
            " beside it"
        )
    line(f"Learning from {len(corrected)} {'tune' if len(corrected) == 1 else 'tunes'}; this takes a minute.")
    learnt = learn_hand(corrected, box, tables)
    if learnt.before == 1.0:
        line(f"Our {given.hand or PLAIN} hand does all of this already, so there is nothing to learn.")
        return
    if not learnt.fits:
        raise UserError(
            "these corrections do not fit together: what some of them teach makes the others worse; nothing was changed"
        )
    path = _kept(given.name, given.hand or PLAIN, tables.hand, learnt)
    for sentence in _changes(tables.hand, learnt.hand, given.hand or PLAIN):
        line(sentence)
    line(
        f"It fingers {learnt.after:.0%} of your notes as you do; before, {learnt.before:.0%}. On notes that it had not "
        f"seen: {learnt.unseen:.0%}; before, {learnt.unseen_before:.0%}."
    )
    line(f"Kept as the hand “{given.name}” ({path}). Use it with --hand {given.name}, or choose it in the settings.")


def _corrected(file: Path, box: Box, hand: Hand, voice: str | None) -> Iterator[Corrected]:
    """The tunes of a book that say how they are to be fingered and that the box can play."""
    has = table_of(box, hand).states.keys()
    for tune in read_book(file, voice, ornaments=read_tables().ornaments.names).tunes:
        pins = pins_of(str(file), tune)
        round_ = unfold(tune)
        if (pins or any(note.finger is not None for note in round_.notes)) and {n.pitch for n in round_.notes} <= has:
            yield Corrected(round_, pins)


def _changes(before: Hand, after: Hand, name: str) -> Iterator[str]:
    """A sentence for each cost that has changed, the greatest change first."""
    changed = [n for n in FITTED if getattr(after, n) != getattr(before, n)]
    for cost in sorted(changed, key=lambda n: -abs(getattr(after, n) - getattr(before, n))):
        was, now = getattr(before, cost), getattr(after, cost)
        often = "less" if now > was else "more"
        what = _LESS[cost]
        yield f"{what[:1].upper()}{what[1:]} {often} than with our {name} hand ({cost} {was:g}, now {now:g})."


def _kept(name: str, parent: str, before: Hand, learnt: LearntHand) -> Path:
    """Write the hand among the player's own tables."""
    path = own_config() / HANDS / f"{name}.toml"
    path.parent.mkdir(parents=True, exist_ok=True)
    if parent == name:
        parent, before = PLAIN, load_hand(PLAIN)
    lines = ["# A hand learnt from a tutor's fingerings.", f'parent = "{parent}"', "", "[costs]"]
    lines += [
        f"{cost}.value = {getattr(learnt.hand, cost):g}"
        for cost in FITTED
        if getattr(learnt.hand, cost) != getattr(before, cost)
    ]
    with whole_file(path) as beside:
        beside.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
