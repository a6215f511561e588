"""Labels on paper: from a label's words to PDF on sheets and rolls, with the heights measured as they were set."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import typst

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.rules.common.review import LabelText
from bloomless.rules.common.type_height import MM_IN_INCH, SetType, judge_type, least_net_height_mm, least_x_height_mm
from bloomless.rules.common.words import phrase
from bloomless.rules.food import Pack
from bloomless.rules.law import Law, law_of
from bloomless.rules.rule import Finding, Severity, Status
from bloomless.sheets.codes import Symbol, symbol
from bloomless.sheets.label_panels import panel_data
from bloomless.sheets.paper import PRELUDE, pdf, pictures, template, typesetting_fonts

__all__ = ["STOCKS", "Fit", "LabelSheet", "Stock", "label_pdf", "label_pictures", "lay_out", "stock", "tray_pdf"]


@dataclass(frozen=True, slots=True)
class Stock:
    """What labels are printed on: a sheet of so many, or a roll; all in millimetres."""

    key: str
    name: str
    width_mm: float
    height_mm: float
    kind: str = "sheet"
    page_width_mm: float = 0.0
    page_height_mm: float = 0.0
    columns: int = 1
    rows: int = 1
    left_mm: float = 0.0
    top_mm: float = 0.0
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0
    safe_mm: float = 2.0
    """Margin inside the cut that stays empty."""
    bleed_mm: float = 0.0
    """What a roll prints beyond the cut."""


def _a4(key: str, columns: int, rows: int, width: float, height: float, gap_x: float = 0.0) -> Stock:
    left = (210.0 - columns * width - (columns - 1) * gap_x) / 2
    top = (297.0 - rows * height) / 2
    name = f"A4 sheet, {columns} × {rows} labels of {width:g} × {height:g} mm"
    return Stock(key, name, width, height, "sheet", 210.0, 297.0, columns, rows, left, top, gap_x)


def _letter(key: str, columns: int, rows: int, width_in: float, height_in: float, gap_in: float) -> Stock:
    width, height, gap = width_in * 25.4, height_in * 25.4, gap_in * 25.4
    left = (215.9 - columns * width - (columns - 1) * gap) / 2
    top = (279.4 - rows * height) / 2
    name = f"US Letter sheet, {columns} × {rows} labels of {width_in:g} × {height_in:g} in"
    return Stock(key, name, width, height, "sheet", 215.9, 279.4, columns, rows, left, top, gap)


def _roll(key: str, width: float, height: float) -> Stock:
    return Stock(key, f"Roll, labels of {width:g} × {height:g} mm", width, height, "roll", bleed_mm=1.0)


STOCKS: Final = {
    s.key: s
    for s in (
        _a4("a4_2x4", 2, 4, 99.1, 67.7, 2.5),
        _a4("a4_2x7", 2, 7, 99.1, 38.1, 2.5),
        _a4("a4_3x7", 3, 7, 63.5, 38.1, 2.5),
        _a4("a4_2x3", 2, 3, 99.1, 93.1, 2.5),
        _a4("a4_2x2", 2, 2, 99.1, 139.0, 2.5),
        _letter("letter_2x3", 2, 3, 4.0, 3.333, 0.16),
        _letter("letter_2x5", 2, 5, 4.0, 2.0, 0.16),
        _letter("letter_2x2", 2, 2, 4.0, 5.0, 0.16),
        _roll("roll_50x30", 50.0, 30.0),
        _roll("roll_62x100", 62.0, 100.0),
        _roll("roll_100x62", 100.0, 62.0),
        _roll("roll_150x80", 150.0, 80.0),
        _roll("roll_100x150", 100.0, 150.0),
    )
}
"""Stocks by their measures; others are made with ``Stock``."""


def stock(key: str) -> Stock:
    """A stock by key; raises ``UnknownName``."""
    if key not in STOCKS:
        raise UnknownName("stock", key, STOCKS)
    return STOCKS[key]


@dataclass(frozen=True, slots=True)
class Fit:
    """What the typesetter measured on the glyphs."""

    size_pt: float
    letter_mm: float
    """Height of the lower-case letter the law measures, as set."""
    net_mm: float
    tall_mm: float
    room_mm: float
    wide_mm: float
    room_wide_mm: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A label laid out for a stock, not yet typeset."""

    data: dict[str, Any]
    fit: Fit

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is wrong with it on paper."""
        return self.fit.findings


def lay_out(
    label: LabelText,
    pack: Pack,
    law: Law,
    on: Stock,
    *,
    codes: tuple[tuple[str, str], ...] = (),
    panel: str = "auto",
    roll_code: str = "",
    count: int = 1,
    largest_pt: float = 8.0,
    cut_line: bool = False,
    lead: bool = True,
) -> LabelSheet:
    """Lay a label out and measure it.

    Parameters
    ----------
    label, pack
        Words of the label, and the pack whose surfaces decide the heights.
    law
        The law in force.
    on
        Sheet or roll.
    codes
        Pairs (kind, content) of codes to print, see ``codes.symbol``.
    panel
        ``auto``, ``vertical``, ``tabular``, ``linear`` (US), ``table`` or ``linear`` (Union, UK).
    roll_code
        What the roll's own code says, for matching it to a tray.
    count
        Labels to print.
    largest_pt
        Size text starts at before it is made smaller to fit; never below what the law asks.
    cut_line
        Whether to draw the cut.
    lead
        Whether a roll begins with a leader that names batch and count.
    """
    if not 1 <= count <= 20_000:
        raise ImpossibleInput("count", count, "1 to 20,000 labels in one file")
    us = label.us_panel is not None or label.market == "us"
    letter, least_mm = ("o", float(law.figure("us.small_type_in") * MM_IN_INCH)) if us else (
        "x", float(least_x_height_mm(pack.largest_surface_cm2, law)),
    )  # fmt: skip
    jurisdiction = "us" if us else "uk" if label.market in {"uk", "ni"} else "eu"
    drawn = [symbol(kind, content, law, **_code_sizes(kind, on)) for kind, content in codes]
    data = {
        "title": label.name, "lang": label.language.split("-")[0], "advice": label.advice, "count": count,
        "width_mm": on.width_mm, "height_mm": on.height_mm, "safe_mm": on.safe_mm, "bleed_mm": on.bleed_mm,
        "stock": {n: getattr(on, n) for n in ("kind", "columns", "rows", "page_width_mm", "page_height_mm", "left_mm",
                                              "top_mm", "gap_x_mm", "gap_y_mm")},
        "least_mm": least_mm, "letter": letter, "largest_pt": largest_pt, "cut_line": cut_line, "net_top": not us,
        "lead": lead and bool(roll_code), "lead_title": "Leader: not for sale",
        "lead_words": f"{label.lot} · {count} labels · {on.name}",
        "roll_svg": symbol("qr", roll_code or "no code", law).svg, "roll_mm": 18,
        **_net_sizes(jurisdiction, label, pack, law),
        "label": _words(label, law, drawn, panel, on),
    }  # fmt: skip
    data["beside"] = _beside(data, on)
    fit = _measured(data, label, pack, law, jurisdiction, on)
    data |= {"measure": False, "size_pt": fit.size_pt}
    return LabelSheet(data, fit)


def _code_sizes(kind: str, on: Stock) -> dict[str, float]:
    if kind == "ean13":
        return {"bar_mm": min(22.85, on.height_mm / 4)}
    return {"bar_mm": 12.0, "module_mm": 0.25 if on.width_mm < 80 else 0.3} if kind == "gs1_128" else {}


_DIGIT_EM: Final = 0.742
"""Height of a figure of the label's font over its size (DejaVu Sans Bold); the height as set is measured anyway."""


def _net_sizes(jurisdiction: str, label: LabelText, pack: Pack, law: Law) -> dict[str, float]:
    least = least_net_height_mm(jurisdiction, pack.net_g, law, panel_in2=pack.panel_in2) if pack.net_g else None
    height = float(least) if least is not None else 2.0
    e_mark = float(law.figure("eu.e_mark_mm"))
    # 21 CFR 101.7(f): as much clear space above it as its letters are high
    return {
        "net_pt_mm": height * 1.02 / _DIGIT_EM,
        "clear_mm": height * 1.06,
        "e_pt_mm": e_mark * 1.35 if label.e_mark else 1.0,
    }


_TABLE_mm: Final = (42.0, 92.0)
"""About how wide the Union's table is, without and with a column for a piece."""


def _beside(data: dict[str, Any], on: Stock) -> bool:
    """Whether the panel stands beside the words: where at least 35 mm are left for them, and not for a line of text."""
    chosen = data["label"]["us"] or data["label"]["eu"]
    if not chosen or chosen["format"] not in {"vertical", "table"}:
        return False
    return (
        on.width_mm - 2 * on.safe_mm - float(chosen.get("width_mm", _TABLE_mm[chosen.get("piece_head", "") != ""]))
        >= 35.0
    )


def _sentence(head: str, words: tuple[str, ...]) -> str:
    return f"{head}: {', '.join(words)}." if words else ""


def _words(label: LabelText, law: Law, drawn: list[Symbol], panel: str, on: Stock) -> dict[str, Any]:
    tongue = label.language
    american = tongue == "en-US"
    lot = label.lot if american or not label.lot or label.lot.upper().startswith("L") else f"L {label.lot}"
    operator = ", ".join(part for part in (label.operator, label.address) if part)
    chosen = panel_data(label, law, panel, on.width_mm, on.height_mm)
    return {
        "name": label.name,
        "net": label.net,
        "e_mark": label.e_mark,
        "veg_fats": label.statements.vegetable_fats,
        "statements": list(label.statements.beside_name()),
        "notices": list(label.statements.notices()),
        "head": phrase("ingredients", tongue),
        "runs": [] if label.short else [[run.text, run.strong] for run in label.ingredients.runs],
        "contains": _sentence(phrase("contains", tongue), label.contains),
        "may_contain": _sentence(phrase("may_contain", tongue), label.may_contain),
        "storage": label.storage.rstrip("."),
        "origin": f"{phrase('origin', tongue)}: {label.origin}" if label.origin else "",
        "operator": f"{phrase('made_by', tongue)} {operator}" if operator else "",
        "date": f"{phrase(label.date_phrase, tongue)} {label.date_text}" if label.date_phrase else "",
        "lot": f"Lot {lot}" if american and lot else lot,
        "us": chosen if label.us_panel is not None else None,
        "eu": chosen if label.eu_lines and not label.short else None,
        "codes": [_code(c) for c in drawn],
    }


def _code(drawn: Symbol) -> dict[str, Any]:
    linear = drawn.kind in {"ean13", "gs1_128"}
    read = [] if drawn.kind == "qr" else [drawn.text]
    if drawn.kind == "datamatrix":  # one element a line, as it stands beside the symbol
        read = [f"({part}" for part in drawn.text.split("(")[1:]]
    return {"svg": drawn.svg, "width_mm": drawn.width_mm, "height_mm": drawn.height_mm, "hri": read, "linear": linear}


def _query(data: dict[str, Any]) -> dict[str, float]:
    compiler = typst.Compiler(
        input=(PRELUDE + template("label.typ")).encode(),
        font_paths=typesetting_fonts(),
        sys_inputs={"data": json.dumps(data | {"measure": True, "size_pt": 8}, ensure_ascii=False)},
    )
    found: dict[str, float] = json.loads(compiler.query("<fit>", field="value", one=True))
    return found


def _measured(data: dict[str, Any], label: LabelText, pack: Pack, law: Law, jurisdiction: str, on: Stock) -> Fit:
    m = _query(data)
    high, wide = max(on.height_mm, m["tall_mm"] + 2 * on.safe_mm), max(on.width_mm, m["wide_mm"] + 2 * on.safe_mm)
    needs = f"{math.ceil(wide)} × {math.ceil(high)} mm"
    found: list[Finding] = []
    if m["tall_mm"] > m["room_mm"] + 0.01 or m["wide_mm"] > m["room_wide_mm"] + 0.01:
        citation = "21 CFR 101.2(c), 101.7(i)" if jurisdiction == "us" else "Reg. (EU) 1169/2011 Art. 13"
        message = "The text does not fit {width} × {height} mm at the height the law asks; it needs {needs}."
        found.append(
            Finding.told(
                f"{jurisdiction}.label.overflow", jurisdiction, Severity.BLOCK, message, citation, Status.DERIVED,
                cure="Take a label of at least {needs}, another form of panel, or a second label on the back.",
                where="type",
                facts={"width": f"{on.width_mm:g}", "height": f"{on.height_mm:g}", "needs": needs},
            )
        )  # fmt: skip
    found += judge_type(
        jurisdiction,
        SetType(
            m["letter_mm"],
            m["net_mm"] if label.net else 0.0,
            (on.safe_mm + m["net_line_mm"]) / on.height_mm * 100.0,
            data["clear_mm"],
            needs,
        ),
        law,
        net_g=pack.net_g if label.net else None,
        largest_surface_cm2=pack.largest_surface_cm2,
        panel_in2=pack.panel_in2,
    )
    return Fit(
        m["size_pt"],
        m["letter_mm"],
        m["net_mm"],
        m["tall_mm"],
        m["room_mm"],
        m["wide_mm"],
        m["room_wide_mm"],
        tuple(found),
    )


def label_pdf(sheet: LabelSheet) -> bytes:
    """The labels as PDF: one page a sheet, or one page a label on a roll."""
    return pdf(template("label.typ"), sheet.data)


def tray_pdf(code: str, name: str, lot: str) -> bytes:
    """The card of a tray, A6: name, lot, and the code that is scanned before the labels."""
    drawn = symbol("qr", code, law_of(date.max), module_mm=1.0)
    return pdf(template("tray.typ"), {"title": name, "lot": lot, "code": code, "svg": drawn.svg, "mm": drawn.width_mm})


def label_pictures(sheet: LabelSheet, *, ppi: float = 200.0) -> tuple[bytes, ...]:
    """The same as PNG, for screens."""
    return pictures(template("label.typ"), sheet.data, ppi=ppi)
