"""The house: data flows one way through the rooms, no modules import each other in a circle, and a name is one thing's.

What DEVELOPERS.md says of it is read here: the map, the glossary, the files it names.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import companion

# What is lower down the list may import what is higher up, never the other way.
ROOMS = (
    "errors", "places", "timeline", "whole_file", "toml_file", "kept_values", "tune", "notation", "box", "lesson",
    "marking", "practice", "sound", "hearing", "input", "tables", "engraving", "screen", "store", "playback", "pages",
    "session", "cli",
)  # fmt: skip
HOME = Path(companion.__file__).parent
MAP = HOME.parent / "DEVELOPERS.md"
MODULES = {
    ".".join(("companion", *path.relative_to(HOME).with_suffix("").parts)).removesuffix(".__init__"): path
    for path in HOME.rglob("*.py")
}


@cache
def imported(module: str) -> set[str]:
    """The modules of ours that a module imports, wherever in it; what is only there for the types is left out."""
    tree = ast.parse(MODULES[module].read_text(encoding="utf-8"))
    for_types = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and getattr(node.test, "id", "") == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    found = set()
    for node in ast.walk(tree):
        if not isinstance(node, ast.ImportFrom) or id(node) in for_types or node.module is None:
            continue
        if node.module.split(".")[0] == "companion":
            names = (f"{node.module}.{alias.name}" for alias in node.names)
            found |= {name if name in MODULES else node.module for name in names}
    return found


def room(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


@pytest.mark.parametrize("module", sorted(m for m in MODULES if room(m) in ROOMS))
def test_nothing_imports_a_room_further_down(module: str) -> None:
    here = ROOMS.index(room(module))
    further = {other for other in imported(module) if room(other) in ROOMS and ROOMS.index(room(other)) > here}
    assert not further


def test_there_are_no_circles() -> None:
    graph = {module: imported(module) - {module} for module in MODULES}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as circle:
        raise AssertionError(" imports ".join(reversed(circle.args[1]))) from None


def drawn() -> dict[str, set[str]]:
    """What each room imports of the others, as DEVELOPERS.md draws it."""
    rows = re.findall(r"^\| `(\w+)` \|([^|]*)\|$", MAP.read_text(encoding="utf-8"), re.MULTILINE)
    return {name: set(re.findall(r"`(\w+)`", others)) for name, others in rows}


def test_the_map_shows_what_is_there() -> None:
    shown = drawn()
    there: dict[str, set[str]] = {name: set() for name in shown}
    for module in MODULES:
        if room(module) in shown:
            there[room(module)] |= {room(other) for other in imported(module)} & set(shown) - {room(module)}
    assert shown == there
    assert {name for name in ROOMS if (HOME / name).is_dir()} == set(shown)


def test_every_room_is_known() -> None:
    assert {room(module) for module in MODULES} - {"", "__main__"} == set(ROOMS)


CORE = ("tune", "notation", "box", "lesson", "marking", "practice")
FINDER = "companion.box.layout"  # of a box by its name, in two folders
LISTER = "companion.notation.tune_index"  # of large books: keeps what it has read
OPENING = {"read_toml", "open", "read_text", "read_bytes"}


def opens(call: ast.Call) -> str | None:
    """What a call is named that opens a file; a member of an archive in memory is none."""
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    return name if name in OPENING and ast.unparse(call.func) != "archive.open" else None


def takes_a_path(function: ast.AST) -> bool:
    return isinstance(function, ast.FunctionDef) and any(
        one.annotation is not None and ast.unparse(one.annotation) in ("Path", "Path | None")
        for one in (*function.args.args, *function.args.kwonlyargs)
    )


@pytest.mark.parametrize("module", sorted(m for m in MODULES if room(m) in CORE and m != FINDER))
def test_the_core_opens_only_a_file_whose_path_it_is_given(module: str) -> None:
    """The tables are read at the edge (`companion.tables`) and handed in: none is looked for, none is kept."""
    assert imported(module) & {"companion.places", "companion.tables"} == set()
    assert "companion.kept_values" not in imported(module) or module == LISTER
    tree = ast.parse(MODULES[module].read_text(encoding="utf-8"))
    given = {id(inner) for function in ast.walk(tree) if takes_a_path(function) for inner in ast.walk(function)}
    elsewhere = [
        node for node in ast.walk(tree) if isinstance(node, ast.Call) and opens(node) and id(node) not in given
    ]
    assert [f"{opens(call)} in line {call.lineno}" for call in elsewhere] == []


def names_from(module: str) -> set[str]:
    """The names that a module imports from others of ours."""
    tree = ast.parse(MODULES[module].read_text(encoding="utf-8"))
    froms = (node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom))
    return {alias.name for node in froms if (node.module or "").startswith("companion") for alias in node.names}


def test_each_table_of_the_core_is_read_in_one_place() -> None:
    readers = {name for name in names_from("companion.tables") if name.startswith("read_")}
    assert len(readers) == 9
    assert {module for module in MODULES if names_from(module) & readers} == {"companion.tables"}


def classes() -> list[str]:
    """Every class of the program, its leading underscore aside."""
    trees = (ast.parse(path.read_text(encoding="utf-8")) for path in MODULES.values())
    return [node.name.lstrip("_") for tree in trees for node in ast.walk(tree) if isinstance(node, ast.ClassDef)]


def twice(names: list[str]) -> list[str]:
    return [name for name, times in Counter(names).items() if times > 1]


def test_no_two_classes_and_no_two_files_have_one_name() -> None:
    assert len(classes()) > 200
    assert twice(classes()) == []
    assert twice([path.name for path in MODULES.values() if path.name != "__init__.py"]) == []


def test_every_class_in_the_glossary_exists() -> None:
    glossary = MAP.read_text(encoding="utf-8").split("## Glossary")[1].split("\n## ")[0]
    rows = [line.split("|")[1:-1] for line in glossary.splitlines() if line.startswith("|")][2:]
    assert len(rows) > 40
    assert twice([word for row in rows for word in row[0].strip().split(", ")]) == []
    named = {name for row in rows for name in re.findall(r"`(\w+)`", row[2])}
    assert named - set(classes()) == set()


@pytest.mark.parametrize("page", ["DEVELOPERS.md", "tests/README.md", "benchmarks/README.md", "CHANGELOG.md"])
def test_every_file_that_contributors_are_told_of_exists(page: str) -> None:
    home = HOME.parent
    told = set(re.findall(r"`([\w./-]+\.(?:py|toml|md|json|sf2|txt))`", (home / page).read_text(encoding="utf-8")))
    assert told
    here = (home, (home / page).parent)
    names = {path.name for folder in ("companion", "tests", "benchmarks") for path in (home / folder).rglob("*.*")}
    for name in told:
        if "NAME" not in name:
            assert any((folder / name).exists() for folder in here) or ("/" not in name and name in names), name
