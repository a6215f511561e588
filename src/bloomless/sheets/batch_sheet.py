"""The batch sheet on paper: one page where it fits, 12 points, black and white, works when every screen is dark."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, TypeAlias

from bloomless.bench.batch_sheet import BatchSheet
from bloomless.sheets.paper import PageSize, code_svg, pdf, template

__all__ = [
    "WORDS",
    "batch_sheet_pdf",
]

Say: TypeAlias = Callable[[str], str]
Mass: TypeAlias = Callable[[float, int], str]
WORDS: Final = {
    "batch": "Batch",
    "by": "by",
    "moulds": "Moulds",
    "melt": "melt",
    "chop": "chop as seed",
    "keep": "keep on the board",
    "work": "Work at",
    "made": "made here",
    "lot": "lot",
    "time": "time",
    "allergens": "Allergens",
    "none": "none is known in these ingredients",
    "ask": "Ask the supplier",
    "traces": "The supplier warns of traces",
    "room": "Room",
    "good": "good pieces",
    "rejects": "rejects",
    "rest": "Rest in the bowl",
    "times": "times melted before",
    "minutes": "minutes of hands",
    "checked": "checked by",
}
"""What stands on every sheet."""


def _grams(mass_g: float, digits: int) -> str:
    return f"{mass_g:.{digits}f} g"


def _data(sheet: BatchSheet, paper: PageSize, say: Say, mass: Mass, language: str) -> dict[str, Any]:
    degrees = say("0 °C").partition("°")
    return {
        "paper": paper,
        "title": sheet.title,
        "lang": language,
        "batch": sheet.batch,
        "on": sheet.on,
        "size": say(sheet.size),
        "moulds": f"{sheet.mould_count} × {say(sheet.mould)}" if sheet.mould_count else "",
        "code": code_svg(sheet.address) if sheet.address else "",
        "words": {key: say(word) for key, word in WORDS.items()} | {"degrees": "".join(degrees[1:])},
        "temper": [
            {
                "name": say(t.name),
                "melt": say(f"{t.melt_g:.0f} g"),
                "seed": say(f"{t.seed_g:.0f} g"),
                "reserve": say(f"{t.reserve_g:.0f} g"),
                "working": say(f"{t.working_C:.1f} °C"),
                "why": say(t.why),
            }
            for t in sheet.temper
        ],
        "sections": [_section(section, say, mass) for section in sheet.sections],
        "allergens": [say(one) for one in sheet.allergens],
        "ask": [say(one) for one in sheet.ask_supplier],
        "may": [say(one) for one in sheet.may_contain],
        "cautions": [say(one) for one in sheet.cautions],
        "keeping": say(sheet.keeping),
        "findings": [f"{say(f.of)}: {say(f.text)}" if f.of else say(f.text) for f in sheet.findings],
    }


def _section(section: dict[str, Any], say: Say, mass: Mass) -> dict[str, Any]:
    amounts = [
        a
        | {
            "name": a["name"] if a["made_here"] else say(a["name"]),
            "shown": mass(a["mass_g"], a["digits"]),
            "more": ", ".join(filter(None, [say(a["part"]) if a["part"] else "", a["preparation"]])),
        }
        for a in section["amounts"]
    ]
    steps = [s | {"at": say(s["at"]) if s["at"] else "", "minutes": say(s["minutes"])} for s in section["steps"]]
    into = f"→ {section['into']}" if section["into"] else ""
    return section | {"makes": say(section["makes"]), "into": into, "amounts": amounts, "steps": steps}


def batch_sheet_pdf(
    sheet: BatchSheet, *, paper: PageSize = "a4", say: Say = str, mass: Mass = _grams, language: str = "en"
) -> bytes:
    """The sheet as PDF on A4 or US Letter, in the words that ``say`` gives its sentences and ``mass`` its amounts."""
    return pdf(template("batch_sheet.typ"), _data(sheet, paper, say, mass, language))
