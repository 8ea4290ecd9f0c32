"""How hard the tunes of a book are, for `companion choose`: what is known from before, the rest by all processors."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from functools import partial
from pathlib import Path

from companion.box.layout import load_box
from companion.notation.book import read_bytes
from companion.pages.difficulty_cache import TuneDifficulty, key_of, known
from companion.pages.rating_process import weighed

FEW = 60  # tunes: so many are weighed before another process has begun
MOST = 8  # processes
LOOK = 0.25  # seconds between two looks at what the others have found


def weights_of(book: Path, voice: str | None, box: str, names: Sequence[str]) -> dict[str, TuneDifficulty]:
    """How hard each of the named tunes is, by its name; `box` is a layout's name or file.

    Raises
    ------
    UserError : the book or a table cannot be read.
    """
    layout = load_box(box)
    key = key_of(read_bytes(book), layout, voice)
    found = known(key)
    missing = [name for name in names if name not in found]
    if not missing:
        return found
    with _bar(len(missing)) as tell:
        if len(missing) > FEW:
            _beside(book, voice, box, missing, lambda: tell(lambda: len(known(key).keys() & set(missing))))
            found = known(key)
        # All of them where no process could be had; and what could not be kept.
        rest = {name for name in missing if name not in found}
        for count, one in enumerate(weighed(book, layout, voice, rest) if rest else (), len(missing) - len(rest)):
            found[one.tune] = one
            tell(partial(int, count))
    return found


def _beside(book: Path, voice: str | None, box: str, names: Sequence[str], tell: Callable[[], None]) -> None:
    """Let processes weigh the tunes, each its share, and wait for them; they are stopped with whatever stops this."""
    count = min(MOST, _processors(), -(-len(names) // FEW))
    command = [sys.executable, "-m", "companion.pages.rating_process", "--named"]
    command += [f"--voice={voice}"] if voice is not None else []
    with ExitStack() as ending, suppress(OSError):
        begun = []
        for share in range(count if count > 1 else 0):
            process = subprocess.Popen(
                [*command, "--", box, str(book)],
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,  # Ctrl-C is ours
            )
            ending.callback(_stop, process)
            begun.append(process)
            assert process.stdin is not None
            process.stdin.write("\n".join(names[share::count]).encode())
            process.stdin.close()
        for process in begun:
            while not _ended(process):
                tell()


def _ended(process: subprocess.Popen[bytes]) -> bool:
    """Whether a process has ended; waits a little for it."""
    try:
        process.wait(LOOK)
    except subprocess.TimeoutExpired:
        return False
    return True


def _stop(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def _bar(count: int) -> Iterator[Callable[[Callable[[], int]], None]]:
    """A bar on the standard error, where that is a terminal; gives what is to be told how many are done."""
    if count <= FEW or not sys.stderr.isatty():
        yield lambda _done: None  # nobody looks: it is not even counted
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task(f"Weighing {count} tunes", total=count)
        yield lambda done: progress.update(task, completed=done())
