"""Many frozen values, quickly.

A frozen dataclass sets each of its fields through `object.__setattr__`, which takes about four times as long as an
ordinary one does (measured on `Note`: 2.7 us against 0.7 us), and a tune has hundreds of notes. So the values are made
as instances of an ordinary class with the very same slots, and then given the class that they stand for. The result
is the frozen value, equal to one made in the usual way.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import fields, make_dataclass
from typing import TypeVar

T = TypeVar("T")


def twin(of: type[T]) -> type[T]:
    """An ordinary class with the slots of a frozen dataclass.

    An instance must be given the frozen class before anyone else sees it: ``made = twin_of_note(…)``, then
    ``made.__class__ = Note``.
    """
    made: type[T] = make_dataclass("_" + of.__name__, [f.name for f in fields(of)], slots=True)  # type: ignore[arg-type]
    return made


@contextmanager
def no_collection() -> Iterator[None]:
    """Without the collector of reference cycles, which would go over every note read so far, again and again.

    For code that makes no cycles; counting of references frees what it leaves behind.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()
