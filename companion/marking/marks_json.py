"""Marks as plain values, as other programs get them."""

from __future__ import annotations

from typing import Any

from companion.marking.mark_values import NoteMark


def note_report(note: NoteMark) -> dict[str, Any]:
    """One mark, as `companion mark --json` gives it."""
    return {
        "written": note.written,
        "heard": note.heard,
        "verdict": note.verdict.value,
        "pitch": note.pitch,
        "heard_pitch": note.heard_pitch,
        "late_ms": note.late_ms,
        "late_share": note.late_share,
        "held": note.held,
        "cause": note.cause,
        "tries": list(note.tries),
        "sure": round(note.sure, 3),
    }
