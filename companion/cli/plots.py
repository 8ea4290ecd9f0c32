"""The plots of `companion progress`: tempo over time, where mistakes live on the tune, days practised, what is due.

Drawn with matplotlib, which is imported here and nowhere else: it takes its time. The colours are those of
`config/themes.toml`; in an SVG the text stays text.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from companion.pages.practised import Detail, PracticeReport, due_in_words, weeks
from companion.places import own_cache
from companion.screen.contrast import Colour, mixed
from companion.screen.theme import Theme, load_theme
from companion.store.practice_history import ROUND, BarMemory, TuneMemory
from companion.whole_file import whole_file

WIDTH = 10.0  # inches; at 150 dots an inch a PNG is 1,500 pixels wide
DPI = 150
MOST_WEEKS, LEAST_WEEKS = 53, 16  # shown of the days practised
MOST_DUE = 16  # tunes shown of those in review
FURTHEST = 60  # days, beyond which a due date is drawn at the edge

os.environ.setdefault("MPLCONFIGDIR", str(own_cache() / "plots"))

from matplotlib import font_manager, rc_context  # noqa: E402 - it looks for its folder when it is imported
from matplotlib.dates import AutoDateLocator, ConciseDateFormatter  # noqa: E402
from matplotlib.figure import Figure  # noqa: E402
from matplotlib.layout_engine import ConstrainedLayoutEngine  # noqa: E402
from matplotlib.ticker import MaxNLocator  # noqa: E402

_FONTS = Path(__file__).parents[1] / "screen" / "fonts"


def write(found: PracticeReport, out: Path, theme: str = "light") -> None:
    """Write the plot of one tune, or of all, as a PNG or SVG file.

    Raises
    ------
    UserError
        Where there is no such theme or the file cannot be written.
    """
    colours = load_theme(theme)
    for file in _FONTS.glob("*.otf"):
        font_manager.fontManager.addfont(file)
    with rc_context(_look(colours)):
        figure = _of_tune(found.details[0], found, colours) if found.details else _of_all(found, colours)
        with whole_file(out) as beside:
            kind = out.suffix.lower().removeprefix(".")
            figure.savefig(beside, format=kind, dpi=DPI, metadata={"Date": None} if kind == "svg" else None)


def _look(colours: Theme) -> dict[str, Any]:
    ink, soft, rule = (_hex(colour) for colour in (colours.ink, colours.soft, colours.rule))
    return {
        "font.family": ["Inter", "DejaVu Sans", "sans-serif"],  # the second for signs that the first has not
        "font.size": 10.0,
        "svg.fonttype": "none",
        "svg.hashsalt": "box-companion",
        "figure.facecolor": _hex(colours.ground),
        "savefig.facecolor": _hex(colours.ground),
        "axes.facecolor": _hex(colours.ground),
        "axes.edgecolor": rule,
        "axes.labelcolor": soft,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.axisbelow": True,
        "text.color": ink,
        "xtick.color": rule,
        "ytick.color": rule,
        "xtick.labelcolor": soft,
        "ytick.labelcolor": soft,
        "grid.color": _hex(colours.hair),
        "grid.linewidth": 0.8,
        "legend.frameon": False,
        "legend.labelcolor": soft,
        "legend.fontsize": 9.0,
    }


def _of_tune(one: Detail, found: PracticeReport, colours: Theme) -> Figure:
    figure = Figure(figsize=(WIDTH, 9.2), layout=_layout())
    tempo, bars, days = figure.subplots(3, 1, height_ratios=(3.2, 2.6, 1.9))
    _title(figure, one.tune.title, f"on {found.box}, {found.now:%Y-%m-%d}", colours)
    _tempo(tempo, one, colours)
    _bars(bars, one.bars, colours)
    _days(days, one.days, found.now.date(), colours)
    return figure


def _of_all(found: PracticeReport, colours: Theme) -> Figure:
    in_review = [one for one in found.tunes if one.due is not None][:MOST_DUE]
    figure = Figure(figsize=(WIDTH, 5.4 + 0.3 * max(len(in_review), 2)), layout=_layout())
    days, minutes, due = figure.subplots(3, 1, height_ratios=(1.9, 2.4, 0.9 + 0.3 * max(len(in_review), 2)))
    _title(figure, "Practised", f"on {found.box}, {found.now:%Y-%m-%d}", colours)
    _days(days, found.days, found.now.date(), colours)
    _minutes(minutes, found.days, found.now.date(), colours)
    _due(due, in_review, colours)
    return figure


def _title(figure: Figure, title: str, more: str, colours: Theme) -> None:
    figure.suptitle(title, x=0.012, ha="left", fontsize=17, fontweight="bold", parse_math=False)
    figure.text(0.988, 0.985, more, ha="right", va="top", color=_hex(colours.soft), parse_math=False)


def _layout() -> ConstrainedLayoutEngine:
    return ConstrainedLayoutEngine(h_pad=0.12, w_pad=0.2, hspace=0.04)


def _heading(axes: Any, text: str) -> None:
    axes.set_title(text, loc="left", fontsize=11, fontweight="bold", pad=10)


def _tempo(axes: Any, one: Detail, colours: Theme) -> None:
    """Each day's best clean tempo: of the pieces as dots, of the whole tune as a line."""
    _heading(axes, "Best clean tempo, beats a minute")
    axes.grid(axis="y")
    pieces = [(day.day, day.best) for day in one.history if day.best is not None and day.piece != ROUND]
    whole = [(day.day, day.best) for day in one.history if day.best is not None and day.piece == ROUND]
    soft, strong = mixed(colours.push, colours.ground, 0.55), colours.push
    if pieces:
        axes.plot(*zip(*pieces, strict=True), "o", color=_hex(soft), ms=4.5, mew=0, label="pieces")
    if whole:
        axes.plot(*zip(*whole, strict=True), "-o", color=_hex(strong), lw=2, ms=6, label="the whole tune")
    if one.tune.target is not None:
        axes.axhline(one.tune.target, color=_hex(colours.pull), lw=1.5, ls=(0, (5, 3)), label="target")
    if not pieces and not whole:
        _nothing(axes, "no clean round in time yet", colours)
        return
    axes.margins(x=0.03, y=0.12)
    _dates(axes, min(day for day, _ in (*pieces, *whole)), max(day for day, _ in (*pieces, *whole)))
    axes.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=3, borderaxespad=0)


def _dates(axes: Any, first: date, last: date) -> None:
    if last - first < timedelta(days=6):
        middle = first + (last - first) / 2
        axes.set_xlim(middle - timedelta(days=3.5), middle + timedelta(days=3.5))
    locator = AutoDateLocator(minticks=3, maxticks=9)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator, show_offset=last - first < timedelta(days=300)))
    axes.yaxis.set_major_locator(MaxNLocator(6, integer=True, steps=[1, 2, 5, 10]))


def _bars(axes: Any, bars: Sequence[BarMemory], colours: Theme) -> None:
    """Mistakes of each bar in a hundred notes, ever and lately."""
    _heading(axes, "Mistakes per 100 notes")
    if not any(bar.asked for bar in bars):
        _nothing(axes, "practise this tune again to see its bars", colours)
        return
    axes.grid(axis="y")
    places, labels, at = [], [], 0.0
    for before, bar in zip([None, *bars], bars, strict=False):
        at += 1.0 if before is None or before.bar.part == bar.bar.part else 1.8
        places.append(at)
        labels.append(f"{bar.bar.part} {bar.bar.number}" + (f"\ntime {bar.bar.time}" if bar.bar.time > 1 else ""))
    ever = [100 * bar.mistaken / max(bar.asked, 1) for bar in bars]
    lately = [100 * bar.lately_mistaken / max(bar.lately_asked, 1) for bar in bars]
    soft = mixed(colours.wrong, colours.ground, 0.62)
    axes.bar(places, ever, 0.8, color=_hex(soft), label="all time")
    axes.bar(places, lately, 0.4, color=_hex(colours.wrong), label="last two months you played it")
    axes.set_xticks(places, labels, fontsize=9 if len(bars) <= 24 else 7)
    axes.tick_params(axis="x", length=0)
    axes.set_xlim(places[0] - 0.8, places[-1] + 0.8)
    axes.set_ylim(0, max(*ever, *lately, 1.0) * 1.12)
    axes.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10]))
    axes.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=2, borderaxespad=0)


def _days(axes: Any, days: Mapping[date, float], today: date, colours: Theme) -> None:
    """A square a day, a column a week; the longer practised, the stronger."""
    _heading(axes, "Days practised")
    first, last, count = _shown_weeks(days, today)
    most = max((minutes for day, minutes in days.items() if day >= first), default=0.0)
    for week in range(count):
        for weekday in range(7):
            day = first + timedelta(days=7 * week + weekday)
            if day <= last:
                axes.add_patch(_square(week, weekday, _shade(days.get(day), most, colours)))
    axes.set_xlim(-0.6, max(count, 34) - 0.4)
    axes.set_ylim(6.6, -0.6)
    axes.set_aspect("equal", anchor="W")
    axes.set_yticks([0, 2, 4, 6], ["Mon", "Wed", "Fri", "Sun"])
    months = [week for week in range(count) if (first + timedelta(weeks=week)).day <= 7]
    axes.set_xticks(months, [f"{first + timedelta(weeks=week):%b}" for week in months])
    axes.tick_params(length=0)
    axes.spines[:].set_visible(False)
    shown = [minutes for day, minutes in days.items() if day >= first]
    if shown:
        said = f"{len(shown)} day{'' if len(shown) == 1 else 's'}, {sum(shown):.0f} minutes; most on a day: {most:.0f}"
        said += "" if last >= today else f"; the year up to {last}"
        axes.set_title(said, loc="right", fontsize=9, color=_hex(colours.soft), pad=10)


def _shown_weeks(days: Mapping[date, float], today: date) -> tuple[date, date, int]:
    """The first Monday, the last day and the number of weeks: a year at most, up to today where it has practice."""
    latest = max(days, default=today)
    last = max(today, latest) if today - latest < timedelta(weeks=MOST_WEEKS - 1) else latest
    monday = last - timedelta(days=last.weekday())
    count = min(max((monday - min(days, default=last)).days // 7 + 2, LEAST_WEEKS), MOST_WEEKS)
    return monday - timedelta(weeks=count - 1), last, count


def _square(week: int, weekday: int, colour: str) -> Any:
    from matplotlib.patches import Rectangle

    return Rectangle((week - 0.42, weekday - 0.42), 0.84, 0.84, facecolor=colour, linewidth=0)


def _shade(minutes: float | None, most: float, colours: Theme) -> str:
    """Four shades and none."""
    if minutes is None:
        return _hex(colours.board)
    step = min(int(4 * minutes / most), 3) if most else 3
    return _hex(mixed(colours.right, colours.ground, (0.6, 0.4, 0.2, 0.0)[step]))


def _minutes(axes: Any, days: Mapping[date, float], today: date, colours: Theme) -> None:
    _heading(axes, "Minutes a week")
    first, last, _ = _shown_weeks(days, today)
    shown = weeks({first: 0.0, last: 0.0} | {day: minutes for day, minutes in days.items() if day >= first})
    axes.grid(axis="y")
    axes.bar(
        [week.monday for week in shown], [week.minutes for week in shown], 5.6, align="edge", color=_hex(colours.push)
    )
    axes.margins(x=0.02)
    _dates(axes, shown[0].monday, shown[-1].monday + timedelta(days=7))


def _due(axes: Any, tunes: Sequence[TuneMemory], colours: Theme) -> None:
    """Tunes in review on a line of days: those due before today to the left."""
    _heading(axes, "When tunes come back")
    if not tunes:
        _nothing(axes, "no tune is in review yet", colours)
        return
    axes.axvline(0, color=_hex(colours.rule), lw=1.2)
    axes.grid(axis="x")
    for place, one in enumerate(tunes):
        assert one.due is not None
        days = max(-FURTHEST, min(one.due.days, FURTHEST))
        colour = _hex(colours.wrong if one.due.days < 0 else colours.pull if one.due.days == 0 else colours.push)
        axes.plot([0, days], [place, place], color=colour, lw=2, solid_capstyle="round")
        end = "o" if days == one.due.days else "<" if days < 0 else ">"  # an arrow where it lies beyond the plot
        axes.plot([days], [place], end, color=colour, ms=7)
        side, way = ("right", -1) if days < 0 else ("left", 1)
        axes.annotate(
            due_in_words(one.due),
            (days, place),
            (way * 9, 0),
            textcoords="offset points",
            ha=side,
            va="center",
            fontsize=9,
        )
    axes.set_yticks(range(len(tunes)), [_shortened(one.title) for one in tunes], color=_hex(colours.ink))
    axes.set_ylim(len(tunes) - 0.4, -0.6)
    shown = [max(-FURTHEST, min(one.due.days, FURTHEST)) for one in tunes if one.due is not None]
    spread = max(max([*shown, 0]) - min([*shown, 0]), 7)
    axes.set_xlim(min([*shown, 0]) - 0.2 * spread, max([*shown, 0]) + 0.2 * spread)
    axes.xaxis.set_major_locator(MaxNLocator(7, integer=True))
    axes.set_xlabel("days from today")
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)


def _shortened(title: str) -> str:
    """A title that fits beside the plot; `$` would begin a formula."""
    short = title if len(title) <= 30 else title[:29].rstrip() + "…"
    return short.replace("$", r"\$")


def _nothing(axes: Any, why: str, colours: Theme) -> None:
    axes.set_axis_off()
    axes.text(0, 0.6, why[0].upper() + why[1:] + ".", transform=axes.transAxes, color=_hex(colours.soft))


def _hex(colour: Colour) -> str:
    red, green, blue = colour
    return f"#{red:02x}{green:02x}{blue:02x}"
