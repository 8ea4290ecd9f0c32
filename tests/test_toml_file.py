"""TOML files: every complaint has the file, the line, and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import pytest

from companion.errors import UserError
from companion.toml_file import TomlFile, line_of, read_toml

TEXT = """\
# A remark = 3
top = 1
[one]
whole = 3
part = 0.5
"two words" = "x"
list = [1, 2, # 3
  "four"]
of.two.keys = true
[one.inner]
value = nan
["a b".c]
d = 1
[[rows]]
name = "first"
[[rows]]
name = "second"
[rows.say]
a = "b"
"""


@pytest.fixture
def file(tmp_path: Path) -> TomlFile:
    path = tmp_path / "some.toml"
    path.write_text(TEXT, encoding="utf-8")
    return read_toml(path)


@pytest.mark.parametrize(
    ("where", "line", "column"),
    [
        (("top",), 2, 1),
        (("one",), 3, 1),
        (("one", "part"), 5, 1),
        (("one", "two words"), 6, 1),
        (("one", "list"), 7, 1),
        (("one", "list", 1), 7, 1),
        (("one", "list", 9), 7, 1),
        (("one", "of", "two", "keys"), 9, 1),
        (("one", "gone"), 3, 1),
        (("one", "inner", "value"), 11, 1),
        (("one", "inner", "gone"), 10, 1),
        (("a b", "c", "d"), 13, 1),
        (("rows",), 14, 1),
        (("rows", 0, "name"), 15, 1),
        (("rows", 1), 16, 1),
        (("rows", 1, "name"), 17, 1),
        (("rows", 1, "say", "a"), 19, 1),
        (("rows", 5), 14, 1),
        (("gone",), 1, 1),
        ((), 1, 1),
    ],
)
def test_where_a_value_stands(where: tuple[str | int, ...], line: int, column: int) -> None:
    assert line_of(TEXT, where) == (line, column)


def test_a_value_of_an_array_is_named_and_has_the_line_of_its_key(file: TomlFile) -> None:
    assert str(file.wrong("no", "one", "list", 1)) == f"{file.path}:7:1: value 2 of `one.list`: no"
    assert str(file.wrong("no", "rows", 1)) == f"{file.path}:16:1: no"  # a table has a line of its own
    text = "a = 1\n[[t]]\n  b = [\n1,\n]\n[[t]]\nb = 3\n"
    assert line_of(text, ("t", 0, "b", 0)) == (3, 3)
    assert line_of(text, ("t", 1, "b")) == (7, 1)


def test_values_are_read(file: TomlFile) -> None:
    assert (file.count("one", "whole"), file.number("one", "whole"), file.number("one", "part")) == (3, 3.0, 0.5)
    assert file.string("one", "two words") == "x"
    assert [file.get(*one) for one in file.each("one", "list")] == [1, 2, "four"]
    assert file.table("a b", "c") == {"d": 1}
    assert file.get("one", "gone") is None
    assert file.fraction("top", most=4) == Fraction(1)


@pytest.mark.parametrize(
    ("read", "line", "said"),
    [
        (lambda f: f.number("one", "part", least=0.6), 5, "`one.part` must be a number of at least 0.6; correct it"),
        (lambda f: f.number("one", "part", most=0.4), 5, "`one.part` must be a number of at most 0.4; correct it"),
        (lambda f: f.number("one", "part", least=1, most=2), 5, "`one.part` must be a number from 1 to 2; correct it"),
        (lambda f: f.number("one", "part", above=0.5), 5, "`one.part` must be a number greater than 0.5; correct it"),
        (lambda f: f.number("one", "inner", "value"), 11, "`one.inner.value` must be a number; correct it"),
        (lambda f: f.count("one", "part"), 5, "`one.part` must be a whole number; correct it"),
        (lambda f: f.string("one", "part"), 5, "`one.part` must be words in quotation marks; correct it"),
        (lambda f: f.table("one", "part"), 5, "`one.part` must be a table; correct it"),
        (lambda f: f.number("top", "x"), 2, "`top` must be a table; correct it"),
        (lambda f: f.each("one", "part"), 5, "`one.part` must be a list in square brackets; correct it"),
        (lambda f: f.number("one", "list", 2), 7, "value 3 of `one.list`: it must be a number; correct it"),
        (lambda f: f.fraction("one", "part", most=4), 5, '`one.part` must be a fraction such as "3/8", 4 at the most'),
        (lambda f: f.number("one", "gone"), 3, "`one.gone` is missing; add it (a number), or remove this file"),
    ],
)
def test_a_wrong_value_is_said_with_its_line(file: TomlFile, read: object, line: int, said: str) -> None:
    with pytest.raises(UserError) as caught:
        read(file)  # type: ignore[operator]
    assert str(caught.value).startswith(f"{file.path}:{line}:")
    assert said in caught.value.message


@pytest.mark.parametrize("value", ["inf", "-inf", "nan", "true", '"3"', f"1{400 * '0'}"])
def test_what_is_no_number(tmp_path: Path, value: str) -> None:
    path = tmp_path / "some.toml"
    path.write_text(f"a = {value}\n", encoding="utf-8")
    with pytest.raises(UserError, match="`a` must be a number"):
        read_toml(path).number("a")


@pytest.mark.parametrize("value", ['"0/4"', '"3/0"', '"9/2"', '"-1/4"', '"1e999999999"', '"x"', "true", "[1]"])
def test_what_is_no_fraction(tmp_path: Path, value: str) -> None:
    path = tmp_path / "some.toml"
    path.write_text(f"a = {value}\n", encoding="utf-8")
    with pytest.raises(UserError, match="`a` must be a fraction"):
        read_toml(path).fraction("a", most=4)


@dataclass(frozen=True)
class Some:
    """A section."""

    many: int
    much: float
    name: str
    is_so: bool


WHOLE = '[some]\nmany = 2\nmuch = 3\nname = "x"\nis_so = true\n'


def section(folder: Path, text: str, default: Some | None = None) -> Some:
    path = folder / "some.toml"
    path.write_text(text, encoding="utf-8")
    return read_toml(path).section(Some, "some", least=0, default=default)


def test_a_section_is_a_value(tmp_path: Path) -> None:
    found = section(tmp_path, WHOLE)
    assert found == Some(2, 3.0, "x", True)
    assert type(found.much) is float


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("many = 2", "many = 2.5", "`some.many` must be a whole number of at least 0"),
        ("many = 2", "many = -1", "`some.many` must be a whole number of at least 0"),
        ("much = 3", "much = true", "`some.much` must be a number of at least 0"),
        ('name = "x"', "name = 3", "`some.name` must be words"),
        ("is_so = true", "is_so = 1", "`some.is_so` must be true or false"),
        ("many = 2", "money = 2", "`money` is not known here; use many, much, name, is_so"),
        ("many = 2\n", "", "`some.many` is missing"),
        (WHOLE, "", "`some` is missing"),
        (WHOLE, "some = 3", "`some` must be a table"),
    ],
)
def test_a_section_that_is_not_right(tmp_path: Path, old: str, new: str, said: str) -> None:
    with pytest.raises(UserError) as caught:
        section(tmp_path, WHOLE.replace(old, new))
    assert said in caught.value.message


def test_what_a_section_leaves_out_is_as_in_the_default(tmp_path: Path) -> None:
    ours = Some(1, 1.0, "ours", False)
    assert section(tmp_path, "", ours) == ours
    assert section(tmp_path, '[some]\nname = "mine"\nof_another_program = 3\n', ours) == Some(1, 1.0, "mine", False)
    with pytest.raises(UserError, match="must be a table"):
        section(tmp_path, "some = 3", ours)


@pytest.mark.parametrize(
    ("content", "line", "said"),
    [
        (b"a = 1\nb = [\n", 2, "not valid TOML: "),
        (b"a = 1\nb = = 2\n", 2, "not valid TOML: invalid value; correct it"),
        (b"a = 1\na = 2\n", 2, "not valid TOML: cannot overwrite a value; correct it"),
        ("a = 1\nb = 'é".encode("latin-1"), 2, "not text in UTF-8"),
        (b"a = " + b"[" * 5000, 0, "nested too deeply, or a number in it is too long; correct it"),
        (b"a = 1" + b"0" * 5000, 0, "nested too deeply, or a number in it is too long; correct it"),
        (b"a = 1\nb = [", 2, "not valid TOML: "),
    ],
    ids=["open", "syntax", "twice", "latin-1", "deep", "long", "end"],
)
def test_what_is_no_toml(tmp_path: Path, content: bytes, line: int, said: str) -> None:
    path = tmp_path / "some.toml"
    path.write_bytes(content)
    with pytest.raises(UserError) as caught:
        read_toml(path)
    assert said in str(caught.value)
    assert caught.value.place is not None
    assert caught.value.place.file == path
    assert not line or caught.value.place.line == line


def test_what_is_not_there_or_no_file(tmp_path: Path) -> None:
    for path, why in ((tmp_path / "gone.toml", "no such file"), (tmp_path, "is a directory")):
        with pytest.raises(UserError, match=f"cannot be read \\({why}.*; restore it, or remove it"):
            read_toml(path)


def test_marks_and_line_ends_of_other_systems(tmp_path: Path) -> None:
    path = tmp_path / "some.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\nb = 'x'\r\n")
    file = read_toml(path)
    assert file.data == {"a": 1, "b": "x"}
    assert str(file.wrong("no", "b")).endswith("some.toml:2:1: no")
