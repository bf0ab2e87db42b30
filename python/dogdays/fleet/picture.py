"""The sites of a fleet in one picture: how many starts are safe, and where forced cooling is needed."""

from __future__ import annotations

from pathlib import Path

from .summary import Site, Summary

#: Sites in one picture; more can't be read.
MOST_SITES = 60

# Told apart by form too, and by anyone's eyes: dark teal and orange differ in lightness.
_SAFE = "#00616b"
_COOLED = "#d9640f"
_COOLED_WORDS = "#a3470a"
_BAR = "#d5dde0"
_INK = "#1f2a2e"
_FAINT = "#6b777b"


def draw(summary: Summary, path: Path) -> None:
    """Writes a picture (by the ending of its name: SVG, PNG, PDF), the least safe site on top.

    Each mark is one machine, material and arrangement of a site over all its years; the bar is the site's own share.
    """
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    all_sites = summary.sites()
    sites = all_sites[:MOST_SITES]
    height_in = 1.7 + 0.27 * max(len(sites), 3)
    figure = Figure(figsize=(9.0, height_in), facecolor="white")
    FigureCanvasAgg(figure)
    label_in = min(0.35 + 0.085 * max((len(site.name) for site in sites), default=4), 3.2)
    axes = figure.add_axes((label_in / 9.0, 0.62 / height_in, 1 - (label_in + 2.5) / 9.0, 1 - 1.62 / height_in))
    for k, site in enumerate(sites):
        _site(axes, k, site)
    axes.set_ylim(max(len(sites), 3) - 0.4, -0.6)
    axes.set_xlim(-2, 102)
    axes.set_xticks(range(0, 101, 20))
    axes.set_yticks(range(len(sites)), [_short(site.name) for site in sites], color=_INK, fontsize=9)
    axes.set_xlabel("starts that hold, % (bar: the whole site)", color=_INK, fontsize=9)
    axes.tick_params(length=0, colors=_INK, labelsize=9)
    axes.grid(axis="x", color="#e9edee", linewidth=0.8)
    axes.set_axisbelow(True)
    for side in axes.spines.values():
        side.set_visible(False)
    computed = summary.seasons - summary.failed
    title = f"{summary.plan}: {computed:,} seasons" + (f", {summary.failed:,} more failed" if summary.failed else "")
    if len(all_sites) > len(sites):
        title += f"; the {len(sites)} least safe of {len(all_sites):,} sites"
    figure.text(0.012, 1 - 0.30 / height_in, title, fontsize=12, fontweight="bold", color=_INK, va="center")
    _legend(figure, height_in)
    with matplotlib.rc_context({"svg.hashsalt": "dogdays", "svg.fonttype": "path"}):
        # No date: the same results draw the same picture.
        dated = {"Date": None} if path.suffix == ".svg" else {"CreationDate": None} if path.suffix == ".pdf" else {}
        figure.savefig(path, dpi=150, metadata=dated)


def _site(axes: object, k: int, site: Site) -> None:
    from matplotlib.axes import Axes

    assert isinstance(axes, Axes)
    share = site.safe_share
    beside = 104.0
    if share is None:
        axes.text(beside, k, f"nothing computed: {site.failed:,} failed", color=_FAINT, va="center", fontsize=9)
        return
    axes.barh(k, 100 * share, height=0.62, color=_BAR, zorder=1)
    known = [row for row in site.rows if row.safe_share is not None]
    for needs, mark, colour, filled, size in ((False, "o", _SAFE, True, 26), (True, "^", _COOLED, False, 30)):
        each = [100 * (row.safe_share or 0.0) for row in known if (row.years_forced_cooling > 0) == needs]
        axes.scatter(
            each,
            [k] * len(each),
            marker=mark,
            s=size,
            facecolors=colour if filled else "white",
            edgecolors=colour,
            linewidths=1.3,
            zorder=3,
            clip_on=False,
        )
    cooled = site.needs_forced_cooling
    words = f"{cooled:,} of {len(known):,} need cooling" if cooled else f"none of {len(known):,} needs cooling"
    if site.failed:
        words += f"; {site.failed:,} failed"
    axes.text(beside, k, words, color=_COOLED_WORDS if cooled else _SAFE, va="center", fontsize=9, clip_on=False)


def _legend(figure: object, height_in: float) -> None:
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

    assert isinstance(figure, Figure)
    common = {"linestyle": "none", "markersize": 6.0}
    marks = [
        Line2D([], [], marker="o", color=_SAFE, label="every start of every year holds", **common),  # type: ignore[arg-type]
        Line2D(
            [], [], marker="^", color=_COOLED, markerfacecolor="white", label="forced cooling needed in some year", **common  # type: ignore[arg-type]
        ),
    ]
    figure.legend(
        handles=marks,
        loc="center left",
        bbox_to_anchor=(0.002, 1 - 0.68 / height_in),
        ncols=2,
        frameon=False,
        fontsize=9,
        labelcolor=_INK,
        handletextpad=0.2,
        columnspacing=1.4,
    )


def _short(name: str) -> str:
    name = name or "(no site)"
    return name if len(name) <= 34 else name[:33] + "\N{HORIZONTAL ELLIPSIS}"
