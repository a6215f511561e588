"""What moves the cost of a piece, as a picture: a bar to the left for less, to the right for more, the widest first."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from html import escape
from typing import Final

from bloomless.costing import Swing

__all__ = ["sensitivity_svg"]

MOST_BARS: Final = 9
ROW: Final = 46
BAR: Final = 18
WIDE: Final = 440
MARGIN: Final = 48
# The screen sets these colours; on paper and in a file they are the blue and the orange of the Okabe–Ito set, which
# every common kind of colour vision tells apart. Place (left, right) and the numbers say the same without colour.
LESS: Final = "var(--solid,#0072B2)"
MORE: Final = "var(--unstable,#D55E00)"
INK: Final = "var(--ink,#222)"
QUIET: Final = "var(--quiet,#666)"
LINE: Final = "var(--line,#bbb)"
_THEME: Final = re.compile(r"var\(--\w+,(#\w+)\)")


def _plain_number(value: float, digits: int) -> str:
    return f"{value:.{digits}f}"


def sensitivity_svg(
    found: Sequence[Swing],
    *,
    change_share: float = 0.2,
    say: Callable[[str], str] = str,
    number: Callable[[float, int], str] = _plain_number,
    themed: bool = False,
) -> str:
    """Draw the widest swings.

    Parameters
    ----------
    found
        As ``costing.swings`` gives them, the widest first.
    change_share
        By which each was moved; stands in the heading.
    say, number
        Words and numbers in a language.
    themed
        True in a page, which sets the colours; a file of its own carries them.

    Returns
    -------
    str
        An SVG element that may stand in a page or in a file of its own.
    """
    shown = [swing for swing in found if swing.width.amount > 0][:MOST_BARS]
    if not shown:
        return ""
    now = float((shown[0].less.amount + shown[0].more.amount) / 2)
    widest = max(max(abs(float(s.more.amount) - now), abs(float(s.less.amount) - now)) for s in shown)
    half = (WIDE - 2 * MARGIN) / 2
    middle, per_unit = MARGIN + half, half / widest
    height = 58 + ROW * len(shown) + 8
    currency = shown[0].less.currency
    title = say("Cost of a unit if one thing is 20 % less, or 20 % more").replace("20", f"{100 * change_share:.0f}")
    rows = [_row(n, swing, now, middle, per_unit, say, number) for n, swing in enumerate(shown)]
    ends = [(say(s.what), float(s.less.amount), float(s.more.amount)) for s in shown]
    words = "; ".join(f"{what}: {number(less, 2)}–{number(more, 2)}" for what, less, more in ends)
    made = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {height}" role="img" class="swings" '
        f'font-family="sans-serif" font-size="16" fill="{INK}"><title>{escape(title)}</title>'
        f"<desc>{escape(words)} {currency}</desc>"
        f'<g font-weight="700"><text x="{middle - 12}" y="22" text-anchor="end" fill="{LESS}">◀ {escape(say("less"))}'
        f'</text><text x="{middle + 12}" y="22" fill="{MORE}">{escape(say("more"))} ▶</text></g>'
        f'<text x="{middle}" y="46" text-anchor="middle" font-weight="700">{number(now, 2)} {currency}</text>'
        f'<path d="M{middle} 54V{height - 4}" stroke="{LINE}" stroke-width="2"/>{"".join(rows)}</svg>'
    )
    return made if themed else _THEME.sub(r"\1", made)


def _row(
    n: int, swing: Swing, now: float, middle: float, per_unit: float, say: Callable[[str], str],
    number: Callable[[float, int], str],
) -> str:  # fmt: skip
    y = 58 + ROW * n
    less, more = float(swing.less.amount), float(swing.more.amount)
    to_left, to_right = per_unit * (now - less), per_unit * (more - now)
    at = y + 21
    own = ' data-own=""' if swing.kind == "packaging" else ""  # named by a person, in no language of ours
    return (
        f'<text x="0" y="{y + 15}"{own}>{escape(say(swing.what)[:44])}</text>'
        f'<rect x="{middle - to_left:.1f}" y="{at}" width="{max(to_left, 1):.1f}" height="{BAR}" fill="{LESS}"/>'
        f'<rect x="{middle:.1f}" y="{at}" width="{max(to_right, 1):.1f}" height="{BAR}" fill="{MORE}"/>'
        f'<text x="{middle - to_left - 6:.1f}" y="{at + 15}" text-anchor="end" font-size="15" fill="{QUIET}">'
        f"{number(less, 2)}</text>"
        f'<text x="{middle + to_right + 6:.1f}" y="{at + 15}" font-size="15" fill="{QUIET}">{number(more, 2)}</text>'
    )
