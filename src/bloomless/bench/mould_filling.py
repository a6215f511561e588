"""Filling as a job: amounts, colours, inclusions, and whether this bowl can make the shell that is wanted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

from bloomless.bench.mould_inputs import casting_from
from bloomless.bench.mould_numbers import number
from bloomless.bench.moulds import POURED_kg_m3, melt_in
from bloomless.bench.ports import Book, Json
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.chocolates import working_window
from bloomless.materials.moulds import Hollow
from bloomless.physics.coating_flow import USE_WORDS, CassonPair, casson_from_interpolation, tempered
from bloomless.physics.shells import shell
from bloomless.recipes.colours import ColourLayer
from bloomless.recipes.filling import Layering, plan_filling
from bloomless.recipes.inclusions import plan_inclusions

__all__ = ["fill"]

_KINDS: Final = {"solid": "solid", "shell": "shell", "capped": "shell", "layers": "layers"}


def fill(book: Book, document: Mapping[str, Any]) -> dict[str, Json]:
    """Plan the filling of a set of moulds.

    Parameters
    ----------
    book
        Own moulds.
    document
        As for ``moulds.predict``, and ``kind`` (``solid``, ``shell``, ``layers``, ``hollow``), ``wall_mm``, ``cap_mm``,
        ``filling``, ``filling_density_kg_m3``, ``filling_C``, ``layers`` (``name``, ``share``), ``colours`` (``name``,
        ``way``, ``covered_share``),        ``inclusions`` (``name``, ``share_by_mass``, ``where``, ``temperature_C``),
        ``flow`` (a use-word, or ``stress_5_Pa`` with ``viscosity_40_Pas``), ``drain_s``, ``wait_s``, ``tapped``.
    """
    casting = casting_from(book, document)
    kind = document.get("kind", _KINDS[casting.piece.form])
    if isinstance(casting.mould.cavity, Hollow) and kind != "layers":
        kind = "hollow"
    flow = tempered(_flow(document), casting.temperature_C, min(casting.form_v[1] + casting.unstable[1], 0.3))
    low, _ = working_window(casting.chocolate)
    inside = tuple(
        plan_inclusions(
            casting.mould, casting.moulds, str(said.get("name", "")),
            share_by_mass=number(said, "share_by_mass", 0, 1) or 0.0, where=said.get("where", "inside"),
            chocolate_C=casting.temperature_C, inclusion_C=number(said, "temperature_C", -20, 60, "°C") or 22.0,
            working_low_C=low, yield_Pa=flow.yield_Pa,
        )
        for said in document.get("inclusions", ())
    )  # fmt: skip
    wall = number(document, "wall_mm", 0.3, 30, "mm", casting.piece.shell_mm or 1.5)
    cap = number(document, "cap_mm", 0.5, 30, "mm", 1.5)
    assert wall is not None
    assert cap is not None
    plan = plan_filling(
        casting.mould, casting.moulds, kind, density_kg_m3=POURED_kg_m3, wall_mm=wall, cap_mm=cap,
        filling=str(document.get("filling", "ganache")),
        filling_density_kg_m3=number(document, "filling_density_kg_m3", 300, 2000, "kg/m³"),
        filling_C=number(document, "filling_C", -20, 90, "°C"), inclusions=inside,
        layers=tuple(
            Layering(str(said.get("name") or said.get("chocolate", "")), number(said, "share", 0, 1) or 0.0)
            for said in document.get("layers", ())
        ),
        colours=tuple(
            ColourLayer(str(s.get("name", "colour")), s.get("way", "spray"), number(s, "covered_share", 0, 1))
            for s in document.get("colours", ())
        ),
    )  # fmt: skip
    wall_told: dict[str, Json] | None = None
    if kind in ("shell", "hollow"):
        drain = number(document, "drain_s", 1, 600, "s", 15.0)
        assert drain is not None
        wall_told = asdict(
            shell(
                casting.mould, melt_in(casting), flow, wanted_mm=wall, space=casting.place.space,
                mould_C=casting.surface.mould_C, wait_s=number(document, "wait_s", 0, 900, "s") or 0.0, drain_s=drain,
                tapped=bool(document.get("tapped", False)),
            )
        )  # fmt: skip
    return {
        **asdict(plan), "shell": wall_told, "assumed": list(casting.assumed),
        "flow": {"yield_Pa": round(flow.yield_Pa, 1), "viscosity_Pas": round(flow.viscosity_Pas, 2)},
    }  # fmt: skip


def _flow(document: Mapping[str, Any]) -> CassonPair:
    stress = number(document, "stress_5_Pa", 0.1, 1000, "Pa")
    thick = number(document, "viscosity_40_Pas", 0.05, 100, "Pa s")
    if stress is not None and thick is not None:
        return casson_from_interpolation(stress, thick)
    if (stress is None) != (thick is None):
        raise ImpossibleInput("viscosity_40_Pas", thick, "both numbers of the trade, stress_5_Pa and viscosity_40_Pas")
    word = document.get("flow", "thin" if document.get("kind") in ("shell", "hollow") else "bars")
    if word not in USE_WORDS:
        raise UnknownName("flow", word, USE_WORDS)
    return USE_WORDS[word]
