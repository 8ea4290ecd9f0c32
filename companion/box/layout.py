"""Reads a layout from its file: `config/boxes/NAME.toml`, the player's own `boxes/NAME.toml`, or any path.

A file gives `name`, `source`, `[[rows]]` from the outside in (name, offset, push and pull notes; "-" for no reed) and
`[[basses]]`. A file that names a `parent` takes everything from it and changes what it names: single reeds
(`[[reeds]]` with row, button, push and pull), the basses, the name.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, NoReturn

from companion import places
from companion.box.box_values import BassButton, Box, Row
from companion.box.pitch_names import pitch_of
from companion.errors import Place, UserError
from companion.toml_file import Key, TomlFile, read_toml

_TOP = {"name", "source", "parent", "home", "rows", "basses", "reeds"}
_ROW = {"name", "offset", "push", "pull"}
_BASS = {"kind", "push", "pull", "push_notes", "pull_notes"}
_REED = {"row", "button", "push", "pull"}
_MOST_BUTTONS = 40
_NO_REED = "-"


def box_names() -> tuple[str, ...]:
    """The names of all layouts there are: those that come with the program and the player's own."""
    folders = (places.shipped("config", "boxes"), places.own_config() / "boxes")
    return tuple(sorted({file.stem for folder in folders if folder.is_dir() for file in folder.glob("*.toml")}))


def load_box(name_or_path: str) -> Box:
    """The layout of a name ("bc-21") or of a file ("mine/bc-21-low-g.toml").

    Raises
    ------
    UserError : no such layout; or a file that is broken, with its line and what to do.
    """
    return _load(_find(name_or_path), ())


def _find(name: str) -> Path:
    called = _called(name)
    if called is not None:
        return places.table("boxes", f"{called}.toml")
    if name.endswith(".toml") or "/" in name or "\\" in name:
        path = Path(name)
        if path.is_dir():
            raise UserError("this is a folder, not a layout file; give the .toml file itself", Place(path))
        if not path.is_file():
            raise UserError(
                "there is no such layout file; give an existing one, or a name from `companion boxes`", Place(path)
            )
        return path
    raise UserError(
        f"there is no box “{name}”; choose one of {', '.join(box_names())}, or give the path of a .toml file"
    )


def _called(name: str) -> str | None:
    """The layout that a player calls so: "bc-21", but also "B/C", "c#/d" or "C♯/D 23"; without a number the first."""
    names = sorted(box_names())
    if name in names:
        return name
    plain = re.sub(r"[^a-z0-9]", "", name.lower().replace("♯", "s").replace("#", "s"))
    plain = re.sub(r"^cd", "csd", plain)  # typed without its sharp
    if name.lower().endswith(".toml") or not plain or Path(name).is_file():
        return None
    return next((one for one in names if plain in (one.replace("-", ""), one.partition("-")[0])), None)


def _load(path: Path, children: tuple[Path, ...]) -> Box:
    if path.resolve() in children:
        raise UserError("this layout is its own parent; name another", Place(path))
    return _LayoutReader(read_toml(path), children).box()


class _LayoutReader:
    """One file, being checked and turned into a `Box`. Every complaint goes through `fail`."""

    def __init__(self, file: TomlFile, children: tuple[Path, ...]) -> None:
        self.file, self.path, self.data, self.children = file, file.path, file.data, children

    def fail(self, message: str, *where: Key) -> NoReturn:
        raise self.file.wrong(message, *where)

    def box(self) -> Box:
        self._known(self.data, _TOP)
        if "parent" in self.data:
            return self._child()
        for key in ("name", "source", "rows"):
            if key not in self.data:
                self.fail(f"`{key}` is missing; add it (config/boxes/bc-21.toml shows how), or name a `parent`")
        if "reeds" in self.data:
            self.fail(
                '[[reeds]] changes the reeds of a `parent`, and none is named; add `parent = "bc-21"`', "reeds", 0
            )
        rows = self._rows()
        name, source = self._words("name"), self._words("source")
        return Box(self.path.stem, name, rows, self._basses(), source, self._home(rows, ""))

    def _child(self) -> Box:
        parent = self._words("parent")
        try:
            path = _find(parent if "/" not in parent else str(self.path.parent / parent))
        except UserError as fault:
            self.fail(f"its parent cannot be found: {fault.message}", "parent")
        if path.resolve() == self.path.resolve():
            # A player's own file of a shipped name may build on the shipped one.
            path = places.shipped("config", "boxes", path.name)
            if path.resolve() == self.path.resolve() or not path.is_file():
                self.fail("this layout is its own parent; name another", "parent")
        box = _load(path, (*self.children, self.path.resolve()))
        rows = self._rows() if "rows" in self.data else box.rows
        return Box(
            id=self.path.stem,
            name=self._words("name") if "name" in self.data else f"{box.name}, changed",
            rows=self._retuned(rows),
            basses=self._basses() if "basses" in self.data else box.basses,
            source=self._words("source") if "source" in self.data else f"changed from {box.id}: {box.source}",
            home=self._home(rows, box.home if "rows" not in self.data else ""),
        )

    def _known(self, table: Mapping[str, Any], allowed: set[str], *where: Key) -> None:
        for key in table:
            if key not in allowed:
                self.fail(f"`{key}` is not known here; use {', '.join(sorted(allowed))}", *where, key)

    def _words(self, key: str, *where: Key, table: Mapping[str, Any] | None = None) -> str:
        value = (self.data if table is None else table).get(key)
        if not isinstance(value, str) or not value.strip():
            self.fail(f"`{key}` must be words in quotation marks", *where, key)
        return value

    def _tables(self, key: str) -> list[dict[str, Any]]:
        tables = self.data.get(key, [])
        if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
            self.fail(f"`{key}` must be given as [[{key}]] tables, one for each", key)
        return tables

    def _pitch(self, value: object, *where: Key) -> int | None:
        if value == _NO_REED:
            return None
        if not isinstance(value, str):
            self.fail(f'{value!r} is no note; write notes in quotation marks, as in "C#4" ("-": no reed)', *where)
        try:
            return pitch_of(value)
        except ValueError as fault:
            self.fail(f'{fault}; write a letter, # or b where needed, and the octave ("-": no reed)', *where)

    def _notes(self, table: Mapping[str, Any], key: str, *where: Key) -> tuple[int | None, ...]:
        values = table.get(key)
        if not isinstance(values, list) or not values:
            self.fail(f'`{key}` must be a list of notes, as in {key} = ["C4", "E4"]', *where, key)
        if len(values) > _MOST_BUTTONS:
            self.fail(f"a row of {len(values)} buttons cannot be; the most is {_MOST_BUTTONS}", *where, key)
        return tuple(self._pitch(value, *where, key, index) for index, value in enumerate(values))

    def _rows(self) -> tuple[Row, ...]:
        tables = self._tables("rows")
        if not tables:
            self.fail("there are no rows; add at least one [[rows]] table", "rows")
        rows: list[Row] = []
        for index, table in enumerate(tables):
            where = ("rows", index)
            self._known(table, _ROW, *where)
            name = self._words("name", *where, table=table)
            if name in {row.name for row in rows}:
                self.fail(f"two rows are called “{name}”; give each a name of its own", *where, "name")
            offset = table.get("offset", 0.0)
            if isinstance(offset, bool) or not isinstance(offset, int | float) or not 0 <= offset <= 10 or offset % 0.5:
                self.fail("`offset` must be 0, 0.5, 1, … (how far along button 1 lies, in buttons)", *where, "offset")
            push, pull = self._notes(table, "push", *where), self._notes(table, "pull", *where)
            if len(push) != len(pull):
                self.fail(
                    f"row {name} has {len(push)} push notes and {len(pull)} pull notes; "
                    'every button needs both ("-": no reed)',
                    *where,
                    "push" if len(push) < len(pull) else "pull",
                )
            rows.append(Row(name, float(offset), push, pull))
        return tuple(rows)

    def _home(self, rows: tuple[Row, ...], inherited: str) -> str:
        """The home row, checked."""
        if "home" not in self.data:
            return inherited
        home = self._words("home")
        if home not in [row.name for row in rows]:
            self.fail(f"there is no row “{home}”; choose one of {', '.join(row.name for row in rows)}", "home")
        return home

    def _basses(self) -> tuple[BassButton, ...]:
        basses: list[BassButton] = []
        for index, table in enumerate(self._tables("basses")):
            where = ("basses", index)
            self._known(table, _BASS, *where)
            kind = self._words("kind", *where, table=table)
            if kind not in ("bass", "chord"):
                self.fail(f'`kind` is “{kind}”; it must be "bass" or "chord"', *where, "kind")
            push, pull = self._words("push", *where, table=table), self._words("pull", *where, table=table)
            sounds = [self._sounding(table, key, *where) for key in ("push_notes", "pull_notes")]
            basses.append(BassButton(push, pull, sounds[0], sounds[1], kind))
        return tuple(basses)

    def _sounding(self, table: Mapping[str, Any], key: str, *where: Key) -> tuple[int, ...]:
        return tuple(pitch for pitch in self._notes(table, key, *where) if pitch is not None)

    def _retuned(self, rows: tuple[Row, ...]) -> tuple[Row, ...]:
        """The rows with every `[[reeds]]` change made."""
        by_name = {row.name: row for row in rows}
        for index, table in enumerate(self._tables("reeds")):
            where = ("reeds", index)
            self._known(table, _REED, *where)
            name = self._words("row", *where, table=table)
            if name not in by_name:
                self.fail(f"there is no row “{name}”; its parent has {', '.join(by_name)}", *where, "row")
            row, button = by_name[name], table.get("button")
            if isinstance(button, bool) or not isinstance(button, int) or not 1 <= button <= len(row.push):
                self.fail(f"`button` must be 1 to {len(row.push)} on row {name}", *where, "button")
            if "push" not in table and "pull" not in table:
                self.fail("this changes nothing; give `push`, `pull` or both", *where, "button")
            sides = {"push": list(row.push), "pull": list(row.pull)}
            for side, notes in sides.items():
                if side in table:
                    notes[button - 1] = self._pitch(table[side], *where, side)
            by_name[name] = replace(row, push=tuple(sides["push"]), pull=tuple(sides["pull"]))
        return tuple(by_name[row.name] for row in rows)
