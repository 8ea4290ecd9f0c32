"""An ear: what is learnt of how one box sounds in one room, and its file.

Conventions: as in `companion.hearing.spectra`; loudness of a template is the sum of its magnitudes.
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from companion.errors import Place, UserError
from companion.hearing.spectra import Floats
from companion.whole_file import whole_file

Sound = NDArray[np.float32]
LEFT, NOISE = -1, -2  # what a template stands for, where it is not one of the pitches
_FORM = "companion.ear/1"


@dataclass(frozen=True, slots=True, eq=False)
class Ear:
    """What is known of a box in a room.

    Attributes
    ----------
    pitches : those of the right hand that were learnt, ascending.
    templates : (templates, bands) magnitudes of long windows.
    owners : (templates,) which pitch each stands for, by its number in `pitches`; `LEFT` or `NOISE`.
    short : (pitches, short bands) magnitudes of short windows, steady.
    quiet, short_quiet : (bands,), (short bands) magnitudes while nothing is played.
    loud : (pitches,) how loud each was when learnt.
    beats : (pitches,) how deep its own beating dips, in dB as `companion.hearing.again` measures.
    cents : (pitches,) how far it lies from equal temperament at A = 440 Hz.
    late : seconds from when a note begins until its template has half its height.
    misfit : the share of its own sound that its templates do not explain.
    guessed : nothing was learnt, the program's own reeds stand in.
    """

    pitches: tuple[int, ...]
    templates: Floats
    owners: NDArray[np.int16]
    short: Floats
    quiet: Floats
    short_quiet: Floats
    loud: Floats
    beats: Floats
    cents: Floats
    late: float
    misfit: float = 1.0
    guessed: bool = False


_ARRAYS = ("templates", "owners", "short", "quiet", "short_quiet", "loud", "beats", "cents")


def write_ear(path: Path | str, ear: Ear) -> None:
    """Write an ear's file, whole or not at all. Raises `UserError` where it cannot be written."""
    path = Path(path)
    data = io.BytesIO()
    arrays = {name: getattr(ear, name) for name in _ARRAYS}
    np.savez_compressed(
        data, form=_FORM, pitches=np.array(ear.pitches, np.int16), late=ear.late, misfit=ear.misfit, **arrays
    )
    with whole_file(path) as beside:
        beside.write_bytes(data.getvalue())


def read_ear(path: Path | str) -> Ear:
    """Read an ear's file. Raises `UserError` where it is not there or is no such file."""
    path = Path(path)
    try:
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise UserError("there is no such ear; make one with: companion microphone --learn", Place(path)) from error
    except OSError as error:
        raise UserError(
            f"this ear cannot be read ({(error.strerror or 'the disk fails').lower()})", Place(path)
        ) from error
    wrong = UserError("this is not an ear, or a damaged one; learn the box again", Place(path))
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as kept:
            if str(kept["form"]) != _FORM:
                raise wrong
            arrays = {name: kept[name] for name in _ARRAYS}
            ear = Ear(
                tuple(int(p) for p in kept["pitches"]), late=float(kept["late"]), misfit=float(kept["misfit"]), **arrays
            )
    except (ValueError, KeyError, OSError, EOFError, TypeError, zipfile.BadZipFile, zipfile.zlib.error) as error:  # type: ignore[attr-defined]
        raise wrong from error
    if not _fits(ear):
        raise wrong
    return ear


def _fits(ear: Ear) -> bool:
    """Whether the arrays of an ear belong together."""
    count, bands = len(ear.pitches), ear.templates.shape[-1]
    return (
        ear.templates.ndim == 2
        and count > 0
        and ear.owners.shape == (len(ear.templates),)
        and ear.quiet.shape == (bands,)
        and ear.short.shape == (count, *ear.short_quiet.shape)
        and all(array.shape == (count,) for array in (ear.loud, ear.beats, ear.cents))
        and all(bool(np.isfinite(getattr(ear, name)).all()) for name in _ARRAYS)
        and bool(((ear.owners >= NOISE) & (ear.owners < count)).all())
    )
