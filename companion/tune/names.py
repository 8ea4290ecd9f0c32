"""What a tune is called by within its book: its number, "3"; where several tunes have that number, "3.2" is the second.

A number that only one tune has names it for good. Of several with one number, the name follows the order in which they
stand: "3.1" is still right after the others have gone, or after more are pasted in behind; it is another tune's once
these tunes change places. Nothing that the record keeps hangs on it: that knows a tune by its notes.
"""

from __future__ import annotations

import re

_NAME = re.compile(r"(-?\d{1,18})(?:\.([1-9]\d{0,8}))?")

Asked = int | str
"""A number alone, or a name as above."""


def name_of(number: int, nth: int) -> str:
    """The name of a tune: `nth` of several with that number, 0 where it is the only one."""
    return f"{number}.{nth}" if nth else str(number)


def parts_of(asked: Asked) -> tuple[int, int] | None:
    """The number and which of several is meant (0: not said); None where it is no name of this kind."""
    found = _NAME.fullmatch(str(asked).strip())
    return (int(found[1]), int(found[2] or 0)) if found is not None else None


def is_meant(asked: object, tune: Asked, least: int = 0) -> bool:
    """Whether a tune is the one that a table asks for; `tune` is its own name, `least` the least number there may be.

    Raises
    ------
    ValueError : that cannot be told, with what to write instead.
    """
    wanted = parts_of(asked) if isinstance(asked, Asked) and not isinstance(asked, bool) else None
    own = parts_of(tune)
    if wanted is None or wanted[0] < least:
        raise ValueError('`tune` must be the tune\'s number in its book (tune = 3), or which of several (tune = "3.2")')
    if own is None or wanted[0] != own[0]:
        return False
    if own[1] and not wanted[1]:
        names = f'tune = "{name_of(own[0], 1)}" for the first, tune = "{name_of(own[0], 2)}" for the second'
        raise ValueError(f"several tunes of the book have the number {own[0]}; write {names} …")
    return (wanted[1] or 1) == (own[1] or 1)
