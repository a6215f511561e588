"""Type heights: what the law asks for, against what was really set on the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from bloomless.rules.decimals import dec
from bloomless.rules.eu.net_quantity import figure_height_mm
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding
from bloomless.rules.us.net_quantity import net_height_in

__all__ = ["MM_IN_INCH", "SetType", "judge_type", "least_net_height_mm", "least_x_height_mm"]

MM_IN_INCH: Final = Decimal("25.4")


@dataclass(frozen=True, slots=True)
class SetType:
    """Heights as typeset [mm]; the rim measures them on the glyphs, not on the point size."""

    x_height_mm: float
    """Of the smallest mandatory text: lower-case x (Union), lower-case o (US)."""
    net_height_mm: float
    """Of the figures of the net quantity."""
    net_from_bottom_pct: float = 0.0
    """How far up the net quantity reaches, of the height of the panel."""
    clear_above_mm: float = 0.0
    """Clear space above the net quantity."""
    needs_words: str = ""
    """What the text needs, such as ``62 × 51 mm``."""


def least_x_height_mm(largest_surface_cm2: Decimal | None, law: Law) -> Decimal:
    """Least x-height [mm] in the Union and the UK: 1.2, or 0.9 when the largest surface is below 80 cm²."""
    small = largest_surface_cm2 is not None and largest_surface_cm2 < law.figure("eu.x_height_small_below_cm2")
    return law.figure("eu.x_height_small_mm" if small else "eu.x_height_mm")


def least_net_height_mm(
    jurisdiction: str, net_g: Decimal, law: Law, *, panel_in2: Decimal | None = None
) -> Decimal | None:
    """Least height of the net quantity [mm]; None where the US panel is not known."""
    if jurisdiction == "us":
        return net_height_in(panel_in2, law) * MM_IN_INCH if panel_in2 is not None else None
    return figure_height_mm(net_g, law)


def judge_type(
    jurisdiction: str,
    found: SetType,
    law: Law,
    *,
    net_g: Decimal | None,
    largest_surface_cm2: Decimal | None = None,
    panel_in2: Decimal | None = None,
) -> tuple[Finding, ...]:
    """Findings about the heights of a label as it was set."""
    least_net = least_net_height_mm(jurisdiction, net_g, law, panel_in2=panel_in2) if net_g is not None else None
    # a glyph's outline is known to about a hundredth of a millimetre; the last bit of a float decides nothing
    x_mm, net_mm = dec(round(found.x_height_mm, 3)), dec(round(found.net_height_mm, 3))
    facts: dict[str, Any] = {
        "x_height_mm": x_mm,
        "least_x_height_mm": least_x_height_mm(largest_surface_cm2, law),
        "net_height_mm": net_mm,
        "least_net_height_mm": least_net,
        "o_height_in": x_mm / MM_IN_INCH,
        "least_o_height_in": law.figure("us.small_type_in"),
        "net_height_in": net_mm / MM_IN_INCH,
        "least_net_height_in": least_net / MM_IN_INCH if least_net is not None else None,
        "net_shown": least_net is not None,
        "panel_in2": panel_in2,
        "net_from_bottom_pct": dec(round(found.net_from_bottom_pct, 3)),
        "net_bottom_share": law.figure("us.net_bottom_share"),
        "net_bottom_waived_in2": law.figure("us.net_bottom_waived_in2"),
        "clear_above_in": dec(round(found.clear_above_mm, 3)) / MM_IN_INCH,
        "needs_words": found.needs_words or "more room",
    }
    return law.judge(jurisdiction, "type", facts)
