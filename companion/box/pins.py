"""What a tutor wants of single notes: pins, written in the tune (`!2!`) or in a small file beside it.

A file of pins holds one `[[pins]]` table for each note: its `bar` and which `note` of that bar, both as written and
counted from 1 (a pick-up is bar 0), and what is wanted: `row`, `button`, `bellows` ("push" or "pull"), `finger`.
`tune` is the tune's number in its book (of several tunes 3 the second: "3.2"); without it, the pin is for every tune
that the file is used with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from companion.box.box_values import Bellows
from companion.box.costs import HandState
from companion.errors import UserError
from companion.toml_file import TomlFile, read_toml
from companion.tune.names import Asked, is_meant
from companion.tune.tune_values import Note

_KEYS = {"tune", "bar", "note", "row", "button", "bellows", "finger"}


@dataclass(frozen=True, slots=True)
class Pin:
    """What a tutor wants of one written note (`written` is its index in the tune); None leaves it open."""

    written: int
    row: str | None = None
    button: int | None = None
    bellows: Bellows | None = None
    finger: int | None = None

    def allows(self, state: HandState) -> bool:
        """Whether a way to play the note is as the pin asks."""
        return (
            self.row in (None, state.press.row)
            and self.button in (None, state.press.button)
            and self.bellows in (None, state.press.bellows)
            and self.finger in (None, state.finger)
        )

    def words(self) -> str:
        """The pin in words: "row C, button 5, pull, finger 2"."""
        parts = [
            f"row {self.row}" if self.row is not None else "",
            f"button {self.button}" if self.button is not None else "",
            self.bellows.value if self.bellows is not None else "",
            f"finger {self.finger}" if self.finger is not None else "",
        ]
        return ", ".join(part for part in parts if part)


def pins_beside(book: Path) -> Path:
    """Where the pins for a book lie: `reels.abc` has them in `reels.pins.toml`."""
    return book.with_suffix(".pins.toml")


def load_pins(path: Path, notes: Sequence[Note], name: Asked | None = None) -> tuple[Pin, ...]:
    """The pins of a file for one tune.

    Parameters
    ----------
    path : the file.
    notes : the tune's notes as written.
    name : the tune's name in its book (`companion.tune.names`); pins for other tunes are passed over.

    Raises
    ------
    UserError : the file is broken, or pins a note that the tune does not have; with its line and what to do.
    """
    file = read_toml(path)
    for key in file.data:
        if key != "pins":
            raise file.wrong("a file of pins holds [[pins]] tables and nothing else; correct it", key)
    return pins_in(file, notes, name)


def pins_in(file: TomlFile, notes: Sequence[Note], name: Asked | None = None) -> tuple[Pin, ...]:
    """The `[[pins]]` tables of a file that has been read, which may hold more; as :func:`load_pins`."""
    tables = file.data.get("pins", [])
    if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        raise file.wrong("write [[pins]], with two brackets: one for each note", "pins")
    pins: dict[int, Pin] = {}
    for index, table in enumerate(tables):
        pin = _pin(file, index, table, notes, name)
        if pin is not None and pin.written in pins:
            raise file.wrong("this note is pinned twice; keep one of the two", "pins", index)
        if pin is not None:
            pins[pin.written] = pin
    return tuple(pins.values())


def _pin(file: TomlFile, index: int, table: dict[str, Any], notes: Sequence[Note], name: Asked | None) -> Pin | None:
    """One table as a pin; None where it is for another tune."""

    def fail(message: str, *key: str) -> UserError:
        return file.wrong(message, "pins", index, *key)

    for key in table:
        if key not in _KEYS:
            raise fail(f"`{key}` is not known here; use {', '.join(sorted(_KEYS))}", key)
    for key in ("bar", "note", "button", "finger"):
        value = table.get(key)
        if value is not None and (isinstance(value, bool) or not isinstance(value, int) or value < 0):
            raise fail(f"`{key}` must be a whole number", key)
    try:
        if table.get("tune") is not None and not is_meant(table["tune"], table["tune"] if name is None else name):
            return None
    except ValueError as why:
        raise fail(str(why), "tune") from None
    if "bar" not in table or "note" not in table:
        raise fail("a pin needs `bar` and `note`; add them (the third note of bar 2: bar = 2, note = 3)")
    if not {"row", "button", "bellows", "finger"} & set(table):
        raise fail("this pins nothing; give `row`, `button`, `bellows` or `finger`")
    if table.get("bellows") not in (None, "push", "pull"):
        raise fail('`bellows` must be "push" or "pull"', "bellows")
    if not isinstance(table.get("row", ""), str):
        raise fail('`row` must be the name of a row, as in "C"', "row")
    in_bar = [written for written, note in enumerate(notes) if note.bar == table["bar"]]
    if not 1 <= table["note"] <= len(in_bar):
        has = f"bar {table['bar']} has {len(in_bar)} notes" if in_bar else f"there is no bar {table['bar']} with notes"
        raise fail(f"{has} in this tune; choose another note", "note")
    return Pin(
        in_bar[table["note"] - 1],
        table.get("row"),
        table.get("button"),
        Bellows(table["bellows"]) if "bellows" in table else None,
        table.get("finger"),
    )
