"""Panels of a label as the template wants them: Nutrition Facts in its formats, the table of the Union and the UK."""

from __future__ import annotations

from typing import Any

from bloomless.rules.common.review import LabelText
from bloomless.rules.common.words import phrase
from bloomless.rules.law import Law
from bloomless.rules.us.nutrition import PanelLine, UsPanel

__all__ = ["panel_data"]

SMALL_AREA_mm2 = 40 * 25.4**2
"""Forty square inches, below which tabular and linear formats are allowed, 21 CFR 101.9(j)(13)(ii)."""


WIDTH_mm = {"vertical": 52.0, "tabular": 122.0, "linear": 0.0}
DUAL_WIDTH_mm = 76.0
"""Widths at which no line of the panel breaks in the label's font."""


def _line(line: PanelLine) -> dict[str, Any]:
    short = {"added_sugars": "Incl. Added Sugars"}.get(line.nutrient, line.label)
    return {"label": line.label, "short": short, "amount": line.amount, "percent": line.percent, "indent": line.indent}


def _us_format(wanted: str, width_mm: float, height_mm: float, *, dual: bool) -> str:
    if wanted in {"vertical", "tabular", "linear"}:
        return wanted
    if dual or height_mm >= 118.0 or width_mm * height_mm > SMALL_AREA_mm2:
        return "vertical"
    return "tabular" if width_mm >= WIDTH_mm["tabular"] + 4.0 else "linear"


def _us(label: LabelText, panel: UsPanel, law: Law, wanted: str, width_mm: float, height_mm: float) -> dict[str, Any]:
    portion, second = label.serving, label.us_pack_panel
    form = _us_format(wanted, width_mm, height_mm, dual=second is not None)
    column = "standard" if form == "vertical" else "small"
    points = {row["what"]: float(row[column]) for row in law.rows("us.panel_type")}
    count = portion.servings if portion else "1"
    return points | {
        "format": form,
        "heading": points["heading"] + (4 if second is not None and form == "vertical" else 0),
        "width_mm": DUAL_WIDTH_mm if second is not None else WIDTH_mm[form],
        "servings_words": f"{count} serving{'' if count == '1' else 's'} per container",
        "serving": portion.words if portion else "",
        "count": panel.calories,
        "lines": [_line(line) for line in panel.lines],
        "vitamins": [_line(line) for line in panel.vitamins],
        "dual": [_line(line) for line in second.lines] if second else [],
        "dual_count": second.calories if second else "",
        "dual_vitamins": [_line(line) for line in second.vitamins] if second else [],
    }


def panel_data(label: LabelText, law: Law, wanted: str, width_mm: float, height_mm: float) -> dict[str, Any] | None:
    """Data of the panel, or None where the label has none.

    ``wanted`` is ``auto`` or a format; ``auto`` takes the vertical or table form where it has room.
    """
    if label.us_panel is not None:
        return _us(label, label.us_panel, law, wanted, width_mm, height_mm)
    if not label.eu_lines:
        return None
    tongue = label.language
    piece = label.eu_lines[0].per_piece != ""
    room = width_mm >= 80.0 or height_mm >= 90.0
    return {
        "format": wanted if wanted in {"table", "linear"} else "table" if room else "linear",
        "title": phrase("nutrition", tongue),
        "per_100g": phrase("per_100g", tongue),
        "piece_head": phrase("per_piece", tongue, g=label.piece_g) if piece else "",
        "intake": phrase("intake", tongue),
        "lines": [
            {
                "label": phrase(line.nutrient, tongue),
                "per_100g": line.per_100g,
                "per_piece": line.per_piece,
                "intake": line.intake,
                "indent": line.indent,
            }
            for line in label.eu_lines
        ],
    }
