"""What the Moulds screens ask: forms read into the documents that the jobs of the moulds take."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from starlette.requests import Request

from bloomless.bench.mould_inputs import SPACES
from bloomless.bench.mould_layers import FORMS
from bloomless.bench.moulds import list_moulds
from bloomless.errors import BloomlessError, ImpossibleInput
from bloomless.materials.chocolates import KINDS
from bloomless.physics.mould_stacks import FILLINGS
from bloomless.recipes.inclusions import inclusions
from bloomless.web.forms import Form
from bloomless.web.sentences import say
from bloomless.web.view import View

__all__ = [
    "asked",
    "bowl_values",
    "casting_document",
    "choices",
    "fail",
    "filling_document",
    "keeping_document",
    "room_document",
]

_TEMPERATURES: Final = {
    "temperature_C": (15.0, 60.0), "mould_C": (-30.0, 60.0), "air_C": (-30.0, 45.0), "room_C": (-10.0, 45.0),
    "filling_C": (-5.0, 60.0), "inclusion_C": (-20.0, 60.0), "cold_C": (-30.0, 30.0), "from_C": (-25.0, 30.0),
    "store_C": (-30.0, 40.0), "then_air_C": (-30.0, 45.0),
}  # fmt: skip
_NUMBERS: Final = {
    "form_v_pct_of_fat": (0.0, 50.0), "form_v_low": (0.0, 50.0), "form_v_high": (0.0, 50.0),
    "unstable_pct_of_fat": (0.0, 50.0), "unstable_low": (0.0, 50.0), "unstable_high": (0.0, 50.0),
    "cocoa_butter_pct": (0.0, 100.0), "milk_fat_pct": (0.0, 40.0), "liquid_oil_pct": (0.0, 40.0),
    "air_speed_m_s": (0.0, 15.0), "room_rh_pct": (1.0, 100.0), "moulds": (1.0, 500.0),
    "power_W": (0.0, 20_000.0), "then_min": (0.5, 1440.0),
    "shell_mm": (0.3, 20.0), "cap_mm": (0.3, 20.0), "inclusion_share_pct": (0.1, 60.0), "below_share_pct": (2.0, 98.0),
    "drain_s": (1.0, 600.0), "wait_s": (0.0, 900.0), "thickness_mm": (0.5, 60.0), "swing_K": (0.0, 30.0),
    "store_rh_pct": (1.0, 100.0), "warm_times": (0.0, 1000.0), "nut_shell_mm": (0.2, 20.0),
}  # fmt: skip


def asked(request: Request) -> Form:
    """The form in the address."""
    values = {key: str(value) for key, value in request.query_params.items()}
    return Form(values, {}, request.state.view, request.state.gettext)


def choices(request: Request) -> dict[str, Any]:
    """What the lists of the forms offer."""
    book = request.app.state.house.book
    own = [entry.key for entry in book.latest("cooling_space")]
    return {
        "moulds": list_moulds(book),
        "own_spaces": own,
        "spaces": [*own, *(name for name in SPACES if name not in own)],
        "kinds": KINDS,
        "pieces": [(one.name, one.words) for one in inclusions().values()],
    }


def fail(form: Form, name: str, error: BloomlessError) -> None:
    """An error of a job beside the field it names, or beside ``name``."""
    at, text = name, str(error)
    if isinstance(error, ImpossibleInput):
        at = error.field if error.field in form.values else name
        text = f"{form.gettext('This cannot be. What can:')} {error.accepted}."
    form.fail(at, say(text, form.view))


def _numbers(form: Form, *names: str) -> dict[str, float]:
    found: dict[str, float | None] = {}
    for name in names:
        if name in _TEMPERATURES:
            low, high = _TEMPERATURES[name]
            found[name] = form.temperature_C(name, at_least=low, at_most=high, required=False)
        else:
            low, high = _NUMBERS[name]
            found[name] = form.number(name, at_least=low, at_most=high, required=False)
    return {name: value for name, value in found.items() if value is not None}


def _chosen(form: Form, *names: str) -> dict[str, str]:
    return {name: form.values[name] for name in names if form.values.get(name)}


_FATS: Final = {
    "cocoa_butter_share": "cocoa_butter_pct", "milk_fat_share": "milk_fat_pct", "liquid_oil_share": "liquid_oil_pct",
}  # fmt: skip
"""Shares of a chocolate, and the fields they are typed in."""
_CRYSTALS: Final = {"form_v_pct_of_fat": "form_v", "unstable_pct_of_fat": "unstable"}
"""Bands of a casting, and what the fields of their ends begin with."""
_USUAL_FACTOR: Final = 1.7
"""Of a share typed without its ends, as ``mould_inputs`` takes it."""


def bowl_values(document: Mapping[str, Any], view: View) -> dict[str, str]:
    """What a bowl brings (``bench.mould_bowl``), as it would be typed on this device."""
    named = document["chocolate"]
    shares: Mapping[str, Any] = {"kind": named} if isinstance(named, str) else named
    values = {"chocolate": str(shares["kind"])}
    values |= {field: view.number(100 * shares[name], 1) for name, field in _FATS.items() if name in shares}
    values |= {name: view.degrees(document[name], 1) for name in ("temperature_C", "room_C") if name in document}
    if "room_rh_pct" in document:
        values["room_rh_pct"] = view.number(document["room_rh_pct"], 0)
    for name, stem in _CRYSTALS.items():
        if name in document:
            points = {name: "p50", f"{stem}_low": "p05", f"{stem}_high": "p95"}
            values |= {field: _pct(document[name][point], view) for field, point in points.items()}
    return values


def _pct(value: float, view: View) -> str:
    """Two figures that count."""
    return view.number(value, 1 if value >= 1.0 else 2)


def _crystals(form: Form) -> dict[str, Any]:
    """Shares of crystals: one number, or a band where an end of it is typed as well."""
    said: dict[str, Any] = {}
    for name, stem in _CRYSTALS.items():
        numbers = _numbers(form, name, f"{stem}_low", f"{stem}_high")
        middle = numbers.pop(name, None)
        if middle is None:
            if numbers:
                form.fail(name, form.gettext("Please fill this in."))
            continue
        said[name] = middle
        if numbers:
            low = numbers.get(f"{stem}_low", middle / _USUAL_FACTOR)
            high = numbers.get(f"{stem}_high", min(middle * _USUAL_FACTOR, 50.0))
            if not low <= middle <= high:
                form.fail(name, form.gettext("At least, likely and at most must rise, such as 1.3, 2.8 and 5.9."))
            said[name] = {"p05": low, "p50": middle, "p95": high}
    return said


def _chocolate(form: Form) -> dict[str, Any]:
    """The kind, or kind and shares of the fats where one is typed."""
    kind = _chosen(form, "chocolate")
    typed = _numbers(form, *_FATS.values())
    if not typed:
        return kind
    if sum(typed.values()) > 100:
        form.fail("cocoa_butter_pct", form.gettext("All fats together: at most 100 % of the chocolate."))
    fats = {name: typed[field] / 100 for name, field in _FATS.items() if field in typed}
    return {"chocolate": {"kind": kind.get("chocolate", "dark"), **fats}}


def casting_document(form: Form) -> dict[str, Any]:
    """A casting, for ``bench.moulds.predict``."""
    space: dict[str, Any] = {"name": form.values.get("space") or "cabinet"}
    space |= _numbers(form, "air_C", "air_speed_m_s", "power_W") | _chosen(form, "standing")
    said: dict[str, Any] = {
        **_chosen(form, "mould", "cleanliness", "colour"),
        **_chocolate(form),
        **_numbers(form, "temperature_C", "mould_C", "moulds", "room_C", "room_rh_pct"),
        **_crystals(form),
        "space": space,
    }
    if form.values.get("then_min"):
        air_C = _numbers(form, "then_air_C").get("then_air_C")
        later = {"name": form.values.get("then_space") or "cool_room", "air_C": air_C}
        said["then"] = [{"after_min": after, "space": later} for after in _numbers(form, "then_min").values()]
    return said | _piece(form)


def _piece(form: Form) -> dict[str, Any]:
    """How the cavities are filled; a number that belongs to another form is left aside."""
    kind = form.values.get("form") or ("shell" if form.values.get("shell_mm") else "solid")
    said: dict[str, Any] = {"form": kind}
    if kind not in FORMS or kind in ("shell", "capped"):
        said |= _numbers(form, "shell_mm")
    if kind == "capped":
        said |= _numbers(form, "cap_mm", "filling_C")
        said["filling"] = form.values.get("filling") or next(iter(FILLINGS))
    if kind == "layers":
        below = _numbers(form, "below_share_pct").get("below_share_pct", 50.0) / 100
        top = form.values.get("chocolate") or "dark"
        said["layers"] = [
            {"chocolate": form.values.get("below") or top, "share": below}, {"chocolate": top, "share": 1 - below},
        ]  # fmt: skip
    if form.values.get("inclusion"):
        numbers = _numbers(form, "inclusion_share_pct", "inclusion_C")
        said["inclusions"] = [
            {
                "name": form.values["inclusion"], "share_by_mass": numbers.get("inclusion_share_pct", 10.0) / 100,
                "where": form.values.get("inclusion_where") or "inside",
                "temperature_C": numbers.get("inclusion_C", 22.0),
            }
        ]  # fmt: skip
    return said


def filling_document(form: Form) -> dict[str, Any]:
    """Amounts, for ``bench.mould_filling.fill``."""
    colours = [
        {"name": form.values.get(f"colour{n}") or "", "way": form.values.get(f"way{n}") or "spray"} for n in (1, 2)
    ]
    return {
        **casting_document(form),
        **_numbers(form, "drain_s", "wait_s"),
        **_chosen(form, "flow"),
        "tapped": bool(form.values.get("tapped")),
        "colours": [colour for colour in colours if colour["name"].strip()],
    }


def room_document(form: Form) -> dict[str, Any]:
    """The room, moulds and colours in hand, and what leaves the cold."""
    colours = []
    for n in (1, 2):
        at = form.temperature_C(f"colour{n}_C", at_least=-10, at_most=90, required=False)
        if at is not None:
            name = form.values.get(f"colour{n}") or form.gettext("colour") + f" {n}"
            colours.append({"name": name, "temperature_C": at, "thick": bool(form.values.get(f"thick{n}"))})
    numbers = _numbers(form, "room_C", "room_rh_pct", "cold_C", "mould_C", "moulds", "thickness_mm")
    return {
        **numbers, **_chosen(form, "chocolate"), "colours": colours, "brushed": bool(form.values.get("brushed")),
    }  # fmt: skip


def keeping_document(form: Form) -> dict[str, Any]:
    """What can go grey, for ``bench.mould_room.keeping``."""
    return {
        **_chosen(form, "chocolate", "temper"),
        **_numbers(form, "store_C", "swing_K", "store_rh_pct", "warm_times", "nut_shell_mm"),
        "seeded_filling": bool(form.values.get("seeded_filling")),
    }
