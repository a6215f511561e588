"""Printed codes in real millimetres: EAN-13, GS1-128, GS1 DataMatrix, QR with a GS1 Digital Link or plain text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import zxingcpp

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.rules.law import Law
from bloomless.rules.rule import Row

__all__ = ["KINDS", "Symbol", "symbol"]

KINDS: Final = {
    "ean13": (zxingcpp.BarcodeFormat.EAN13, False),
    "gs1_128": (zxingcpp.BarcodeFormat.Code128, True),
    "datamatrix": (zxingcpp.BarcodeFormat.DataMatrix, True),
    "qr": (zxingcpp.BarcodeFormat.QRCode, False),
}
"""Symbol → the library's format, and whether the content is a GS1 element string."""

_LINEAR: Final = frozenset({"ean13", "gs1_128"})


@dataclass(frozen=True, slots=True)
class Symbol:
    """A code as a drawing of its own, quiet zones included."""

    kind: str
    content: str
    text: str
    """What stands below for people to read."""
    svg: str
    width_mm: float
    height_mm: float
    module_mm: float


def _matrix(code: Any) -> list[list[int]]:
    image: Any = zxingcpp.write_barcode_to_image(code, add_quiet_zones=False)
    rows: Any = memoryview(image).tolist()
    return [list(line) for line in rows]


def _rows(matrix: Sequence[Sequence[int]]) -> list[list[tuple[int, int]]]:
    """Runs of dark modules (start, length) in every row."""
    found = []
    for row in matrix:
        runs: list[tuple[int, int]] = []
        for x, value in enumerate(row):
            if value:
                continue
            if runs and runs[-1][0] + runs[-1][1] == x:
                runs[-1] = (runs[-1][0], runs[-1][1] + 1)
            else:
                runs.append((x, 1))
        found.append(runs)
    return found


def _path(runs: list[list[tuple[int, int]]], left: int, top: int, height: float) -> str:
    return "".join(f"M{left + x} {top + y}h{n}v{height:g}h-{n}z" for y, row in enumerate(runs) for x, n in row)


def _module_mm(row: Row, module_mm: float | None) -> float:
    chosen = float(row["module_mm"]) if module_mm is None else module_mm
    least = float(row["least_module_mm"])
    if chosen < least:
        raise ImpossibleInput("module_mm", module_mm, f"at least {least} mm: a smaller code is not read reliably")
    return chosen


def symbol(kind: str, content: str, law: Law, *, module_mm: float | None = None, bar_mm: float | None = None) -> Symbol:
    """A code for paper.

    Parameters
    ----------
    kind
        ``ean13``, ``gs1_128``, ``datamatrix`` or ``qr``.
    content
        Digits of the GTIN for ``ean13``; an element string ``(01)…(10)…`` for the GS1 codes; any text for ``qr``.
    law
        Law whose table ``gs1.symbols`` gives module sizes and quiet zones.
    module_mm
        Width of one module [mm]; the usual one unless given.
    bar_mm
        Height of the bars of a linear code [mm]; the usual one unless given, and not below 5 mm.

    Raises
    ------
    ImpossibleInput
        If the library refuses the content, or the module is too small to be read.
    """
    if kind not in KINDS:
        raise UnknownName("code", kind, KINDS)
    row = law.table("gs1.symbols").by("symbol")[kind]
    module = _module_mm(row, module_mm)
    form, gs1 = KINDS[kind]
    options: dict[str, Any] = {"gs1": True} if gs1 else {}
    try:
        code = zxingcpp.create_barcode(content, form, **options)
    except ValueError as error:
        raise ImpossibleInput("code", content, f"content that {kind} can hold ({error})") from None
    matrix = _matrix(code)
    left, right = int(row["quiet_left"]), int(row["quiet_right"])
    wide = left + len(matrix[0]) + right
    if kind in _LINEAR:
        bars = max(5.0, float(row["height_mm"]) if bar_mm is None else bar_mm) / module
        path, top, tall = _path(_rows(matrix[:1]), left, 0, bars), 0, bars
    else:
        top = left
        path, tall = _path(_rows(matrix), left, top, 1.0), float(top + len(matrix) + right)
    width_mm, height_mm = wide * module, tall * module
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:g}mm" height="{height_mm:g}mm" '
        f'viewBox="0 0 {wide} {tall:g}" shape-rendering="crispEdges"><rect width="{wide}" height="{tall:g}" '
        f'fill="#fff"/><path d="{path}" fill="#000"/></svg>'
    )
    return Symbol(kind, content, str(code.text), svg, width_mm, height_mm, module)
