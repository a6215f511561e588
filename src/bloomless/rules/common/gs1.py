"""GS1 identifiers: check digits, element strings with their pairings, dates, and Digital Links."""

from __future__ import annotations

import calendar
import re
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from bloomless.errors import ImpossibleInput
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding

__all__ = [
    "check_digit", "checked_gtin", "date_from_yymmdd", "digital_link", "element_string", "gtin14", "judge_gtin",
    "mass_element", "parse_element_string",
    "read_digital_link", "yymmdd",
]  # fmt: skip

_SET_82: Final = re.compile(r"[!\"%&'()*+,\-./0-9:;<=>?A-Z_a-z]+")
_ELEMENT: Final = re.compile(r"\((\d{2,4})\)([^()]*)")
_GROUP_SEPARATOR: Final = "\x1d"
_LINK: Final = re.compile(r"https?://[^?]*/01/(\d{14})(?:/10/([^/?]+))?")


def check_digit(data: str) -> int:
    """Check digit of the data digits of a GTIN-8/12/13/14, GLN or SSCC: weights 3, 1, 3, 1 … from the right."""
    if not data.isascii() or not data.isdigit():
        raise ImpossibleInput("data", data, "digits only")
    total = sum(int(digit) * (3, 1)[place % 2] for place, digit in enumerate(reversed(data)))
    return -total % 10


def checked_gtin(gtin: str) -> bool:
    """Whether a GTIN has a lawful length and the right check digit."""
    return (
        gtin.isascii() and gtin.isdigit() and len(gtin) in {8, 12, 13, 14} and check_digit(gtin[:-1]) == int(gtin[-1])
    )


def gtin14(gtin: str) -> str:
    """The GTIN filled with zeros to 14 digits."""
    if not checked_gtin(gtin):
        raise ImpossibleInput("gtin", gtin, "8, 12, 13 or 14 digits with the right check digit")
    return gtin.zfill(14)


def judge_gtin(gtin: str, law: Law, *, sold_outside: bool = True) -> tuple[Finding, ...]:
    """Findings about a GTIN a person typed."""
    digits = gtin.isascii() and gtin.isdigit() and len(gtin) in {8, 12, 13, 14}
    prefix = gtin.zfill(14)[1:3] if digits else ""
    facts = {
        "gtin": gtin,
        "check_digit_ok": checked_gtin(gtin),
        "check_digit": str(check_digit(gtin[:-1])) if digits else "?",
        "restricted": digits and len(gtin) > 8 and prefix in {row["prefix"] for row in law.rows("gs1.restricted")},
        "sold_outside": sold_outside,
    }
    return law.judge("common", "gtin", facts)


def yymmdd(day: date) -> str:
    """A date as GS1 writes it."""
    return f"{day:%y%m%d}"


def date_from_yymmdd(text: str, law: Law, *, today: date) -> date:
    """The date of a GS1 element; day 00 is the last day of the month, the century is the nearest.

    Years 51 to 99 ahead belong to the previous century, 50 to 99 behind to the next (General Specifications 7.12).
    """
    if not re.fullmatch(r"\d{6}", text):
        raise ImpossibleInput("date", text, "six digits YYMMDD")
    short, month, day = int(text[:2]), int(text[2:4]), int(text[4:])
    window = int(law.figure("gs1.century_window"))
    gap = short - today.year % 100
    century = today.year // 100
    century += -1 if gap >= window else 1 if gap <= window - 101 else 0
    year = century * 100 + short
    if not 1 <= month <= 12:
        raise ImpossibleInput("date", text, "a month from 01 to 12")
    last = calendar.monthrange(year, month)[1]
    if day > last:
        raise ImpossibleInput("date", text, f"a day from 00 to {last}")
    return date(year, month, day or last)


def mass_element(net_g: Decimal) -> tuple[str, str]:
    """Element (3103) of a net mass [g], whole grams, never above the truth."""
    grams = int(net_g)
    if not 0 < grams < 1_000_000:
        raise ImpossibleInput("net_g", net_g, "1 g to below 1,000 kg")
    return "3103", f"{grams:06d}"


def _row(ai: str, law: Law) -> Mapping[str, Any]:
    rows = law.table("gs1.identifiers").by("ai")
    found = rows.get(ai) or (rows.get(ai[:3]) if len(ai) == 4 and ai[3] in "012345" else None)
    if found is None:
        raise ImpossibleInput("application identifier", ai, f"one of {', '.join(rows)} (310n and 320n with n 0 to 5)")
    return found


def _checked(ai: str, value: str, row: Mapping[str, Any]) -> None:
    length = int(row["length"])
    right = 0 < len(value) <= length if row["variable"] else len(value) == length
    if not right:
        raise ImpossibleInput(f"({ai})", value, f"{'up to' if row['variable'] else 'exactly'} {length} characters")
    if row["numeric"] and not (value.isascii() and value.isdigit()):
        raise ImpossibleInput(f"({ai})", value, "digits only")
    if not row["numeric"] and not _SET_82.fullmatch(value):
        raise ImpossibleInput(f"({ai})", value, "letters, digits and the signs of GS1 character set 82")
    if ai in {"00", "01", "02", "414"} and check_digit(value[:-1]) != int(value[-1]):
        raise ImpossibleInput(f"({ai})", value, f"check digit {check_digit(value[:-1])}")


def _pairings(present: Sequence[str], law: Law) -> None:
    have = {ai[:3] if len(ai) == 4 else ai for ai in present} | set(present)
    for ai in present:
        row = _row(ai, law)
        if row["needs"] and not any(set(group.split("+")) <= have for group in row["needs"]):
            wanted = " or ".join(row["needs"])
            raise ImpossibleInput(f"({ai})", f"({ai})", f"together with {wanted}", code="gs1_pairing")
        barred = have & set(row["bars"])
        if barred:
            raise ImpossibleInput(f"({ai})", f"({ai})", f"without {', '.join(sorted(barred))}", code="gs1_pairing")


def element_string(elements: Sequence[tuple[str, str]], law: Law) -> str:
    """The element string as printed, ``(01)…(15)…(10)…``: fixed elements first, variable ones last.

    Raises
    ------
    ImpossibleInput
        For an unknown identifier, a wrong length, character, check digit or pairing.
    """
    for ai, value in elements:
        _checked(ai, value, _row(ai, law))
    _pairings([ai for ai, _ in elements], law)
    ordered = sorted(elements, key=lambda e: (bool(_row(e[0], law)["variable"]), e[0]))
    return "".join(f"({ai}){value}" for ai, value in ordered)


def parse_element_string(text: str, law: Law) -> tuple[tuple[str, str], ...]:
    """Read a printed element string, or a scanner's data with group separators after variable elements."""
    if text.startswith("("):
        found = tuple(_ELEMENT.findall(text))
        if "".join(f"({ai}){value}" for ai, value in found) != text:
            raise ImpossibleInput("element string", text, "(ai)value pairs")
    else:
        found = _scan(text.removeprefix(_GROUP_SEPARATOR), law)
    for ai, value in found:
        _checked(ai, value, _row(ai, law))
    _pairings([ai for ai, _ in found], law)
    return found


def _scan(rest: str, law: Law) -> tuple[tuple[str, str], ...]:
    predefined = {row["prefix"] for row in law.rows("gs1.predefined")}
    found = []
    while rest:
        ai = next((rest[:n] for n in (4, 2, 3) if _known(rest[:n], n, law)), "")
        if not ai:
            raise ImpossibleInput("element string", rest, "a known application identifier")
        rest = rest[len(ai) :]
        length = int(_row(ai, law)["length"])
        if ai[:2] in predefined:
            value, rest = rest[:length], rest[length:].removeprefix(_GROUP_SEPARATOR)
        else:
            value, _, rest = rest.partition(_GROUP_SEPARATOR)
        found.append((ai, value))
    return tuple(found)


def _known(ai: str, length: int, law: Law) -> bool:
    rows = law.table("gs1.identifiers").by("ai")
    if length == 4:
        return len(ai) == 4 and ai[:3] in {"310", "320"} and ai[3] in "012345"
    return len(ai) == length and ai in rows and ai not in {"310", "320"}


def _encoded(value: str) -> str:
    """Percent-encoding of everything but the unreserved characters (RFC 3986, section 2.3)."""
    return "".join(c if c.isalnum() or c in "-._~" else f"%{ord(c):02X}" for c in value)


def digital_link(
    gtin: str, law: Law, *, lot: str = "", serial: str = "", best_before: date | None = None,
    net_g: Decimal | None = None, domain: str = "https://id.gs1.org",
) -> str:  # fmt: skip
    """A GS1 Digital Link: qualifiers in the order 10, 21; attributes in the query, percent-encoded."""
    if not re.fullmatch(r"https?://[A-Za-z0-9.\-]+(?::\d+)?(?:/[^?#\s]*)?", domain):
        raise ImpossibleInput("domain", domain, "a web address without query")
    elements = [("01", gtin14(gtin))]
    elements += [("10", lot)] if lot else []
    elements += [("21", serial)] if serial else []
    query = [("15", yymmdd(best_before))] if best_before else []
    query += [mass_element(net_g)] if net_g is not None else []
    element_string([*elements, *query], law)  # refuses what GS1 refuses
    path = "".join(f"/{ai}/{_encoded(value)}" for ai, value in elements)
    tail = "&".join(f"{ai}={value}" for ai, value in query)
    return f"{domain.rstrip('/')}{path}{'?' + tail if tail else ''}"


def read_digital_link(text: str) -> tuple[str, str] | None:
    """GTIN and lot (or nothing) of a Digital Link; None for any other text."""
    found = _LINK.match(text)
    if found is None:
        return None
    lot = re.sub("%([0-9A-Fa-f]{2})", lambda code: chr(int(code[1], 16)), found[2] or "")
    return found[1], lot
