"""From a Typst template and data to PDF: the same bytes for the same input, no network, no system fonts.

A template reads its data as ``d`` and never pastes a person's text into markup, so no text can break a page or run.
Every warning of the typesetter is an error, because a missing font or glyph is found by a reader otherwise.
"""

from __future__ import annotations

import json
import warnings
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, Literal, TypeAlias

import matplotlib as mpl
import typst
import zxingcpp

from bloomless.sources.tables import read_text

__all__ = ["PRELUDE", "PageSize", "code_svg", "pdf", "pictures", "template", "typesetting_fonts"]

PageSize: TypeAlias = Literal["a4", "us-letter"]

PRELUDE = """
#let d = json(bytes(sys.inputs.data))
#set text(font: "DejaVu Sans", size: 10pt, lang: d.at("lang", default: "en"))
#set document(title: d.at("title", default: "Bloomless"), date: none)
#let svg(text, ..more) = image(bytes(text), format: "svg", ..more)
#let tick(size: 3.6mm) = box(width: size, height: size, stroke: 0.8pt, baseline: 0.4mm)
#let blank(width) = box(width: width, height: 4mm, stroke: (bottom: 0.6pt), baseline: 0.5mm)
"""
"""What every template may use: its data ``d``, an SVG given as text, a box to tick, a line to write on."""


@cache
def typesetting_fonts() -> Any:
    """DejaVu Sans as matplotlib ships it, and the typesetter's own; never the machine's."""
    return typst.Fonts(include_system_fonts=False, font_paths=[str(Path(mpl.get_data_path(), "fonts", "ttf"))])


def template(name: str, package: str = "bloomless.sheets") -> str:
    """Text of a packaged Typst template."""
    return read_text(package, name)


def _typeset(source: str, data: Mapping[str, Any], **options: Any) -> Any:
    compiler = typst.Compiler(
        input=(PRELUDE + source).encode(),
        font_paths=typesetting_fonts(),
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library's own way to warn; the second answer below holds them all
        made, found = compiler.compile_with_warnings(timestamp=0, **options)
    if found:
        raise ValueError(f"the sheet does not typeset cleanly: {'; '.join(str(w.message) for w in found)}")
    return made


def pdf(source: str, data: Mapping[str, Any]) -> bytes:
    """Typeset a template into a tagged PDF.

    Parameters
    ----------
    source
        Typst markup; ``PRELUDE`` goes before it.
    data
        JSON values the template reads as ``d``; ``title`` and ``lang`` also go into the document's properties.

    Raises
    ------
    ValueError
        If the typesetter warns of anything: that is a fault of the template.
    """
    return bytes(_typeset(source, data, format="pdf"))


def pictures(source: str, data: Mapping[str, Any], *, ppi: float = 110.0) -> tuple[bytes, ...]:
    """Typeset a template into one PNG a page, for screens and for looking at."""
    made = _typeset(source, data, format="png", ppi=ppi)
    return tuple(bytes(page) for page in made) if isinstance(made, list) else (bytes(made),)


def code_svg(text: str, *, error_level: Literal["L", "M", "Q", "H"] = "M") -> str:
    """A QR code as SVG (ISO/IEC 18004) with its quiet zone; level M restores 15 % of damage."""
    code = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level=error_level)
    return str(zxingcpp.write_barcode_to_svg(code, add_quiet_zones=True))
