"""The batch sheet on paper: one page where it fits, 12 points, black and white, works when every screen is dark."""

from __future__ import annotations

from typing import Any

from bloomless.bench.batch_sheet import BatchSheet
from bloomless.sheets.paper import PageSize, code_svg, pdf, pictures, template

__all__ = ["batch_sheet_pdf", "batch_sheet_pictures"]


def _data(sheet: BatchSheet, paper: PageSize) -> dict[str, Any]:
    return {
        "paper": paper,
        "title": sheet.title,
        "lang": "en",
        "batch": sheet.batch,
        "on": sheet.on,
        "size": sheet.size,
        "moulds": sheet.moulds,
        "code": code_svg(sheet.address) if sheet.address else "",
        "temper": [
            {
                "name": t.name,
                "melt": f"{t.melt_g:.0f}",
                "seed": f"{t.seed_g:.0f}",
                "reserve": f"{t.reserve_g:.0f}",
                "working": f"{t.working_C:.1f}",
                "why": t.why,
            }
            for t in sheet.temper
        ],
        "sections": list(sheet.sections),
        "allergens": list(sheet.allergens),
        "ask": list(sheet.ask_supplier),
        "may": list(sheet.may_contain),
        "cautions": list(sheet.cautions),
        "keeping": sheet.keeping,
        "findings": [finding.text for finding in sheet.findings],
    }


def batch_sheet_pdf(sheet: BatchSheet, *, paper: PageSize = "a4") -> bytes:
    """The sheet as PDF on A4 or US Letter."""
    return pdf(template("batch_sheet.typ"), _data(sheet, paper))


def batch_sheet_pictures(sheet: BatchSheet, *, paper: PageSize = "a4", ppi: float = 110.0) -> tuple[bytes, ...]:
    """The sheet as one PNG a page."""
    return pictures(template("batch_sheet.typ"), _data(sheet, paper), ppi=ppi)
