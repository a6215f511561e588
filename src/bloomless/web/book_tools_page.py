"""Small tools of the recipe book: thinner chocolate, what seized chocolate becomes, crisp parts, a meter checked."""

from __future__ import annotations

import math
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from bloomless.errors import BloomlessError
from bloomless.recipes.fluidity import (
    cocoa_butter_for_thinner_g,
    cocoa_butter_to_add_g,
    lecithin_to_add_g,
    seized_rescue,
)
from bloomless.recipes.moisture import MoistPart, equilibrium_aw, hours_until
from bloomless.recipes.salts import check_meter, salt_names
from bloomless.recipes.sorption import isotherms
from bloomless.web.book_view import asked_form, names_said
from bloomless.web.families import Family
from bloomless.web.forms import Form
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)

THINNER: Final = (("1.2", "a little: 1.2 times"), ("1.5", "clearly: 1.5 times"), ("2", "twice"), ("3", "three times"))
USES: Final = (("38", "thin shells: 38 % fat"), ("36.5", "coating: 36.5 % fat"), ("34.5", "moulding: 34.5 % fat"))
"""Usual fat of chocolate for a use, the middle of 36–40, 35–38 and 33–36 % [trade practice]."""


def _thin(request: Request, form: Form) -> dict[str, Any] | None:
    if "mass" not in form.values:
        return None
    pantry = request.app.state.house.shelf.written()
    chocolates = [k for k, i in pantry.ingredients.items() if i.group.startswith("chocolate_")]
    key = form.choice("chocolate", chocolates)
    mass_g = form.mass_g("mass", at_least=1, at_most=1e6)
    aim = form.choice("aim", [code for code, _ in (*THINNER, *USES)])
    lecithin = form.number("lecithin", at_least=0, at_most=5, required=False)
    if not form.ok or key is None or mass_g is None or aim is None:
        return None
    fat = pantry.ingredients[key].composition.fat_g
    try:
        if aim in dict(USES):
            butter_g = cocoa_butter_to_add_g(mass_g, fat, max(fat, float(aim)))
        else:
            butter_g = cocoa_butter_for_thinner_g(mass_g, fat, float(aim))
    except BloomlessError as error:
        form.fail("aim", error.text)
        return None
    new_fat = 100.0 * (mass_g * fat / 100.0 + butter_g) / (mass_g + butter_g)
    usual = 0.5 if lecithin is None else lecithin
    return {"butter_g": butter_g, "lecithin_g": lecithin_to_add_g(mass_g, usual), "fat": fat, "new_fat": new_fat,
            "milky": pantry.ingredients[key].composition.milk_fat_g > 1.0}  # fmt: skip


def _seized(form: Form) -> Any:
    if "water" not in form.values:
        return None
    mass_g = form.mass_g("bowl", at_least=1, at_most=1e6)
    water_g = form.mass_g("water", at_least=0, at_most=1e6)
    if not form.ok or mass_g is None or water_g is None:
        return None
    try:
        return seized_rescue(mass_g, water_g)
    except BloomlessError as error:
        form.fail("water", error.text)
        return None


def _crisp(form: Form) -> dict[str, Any] | None:
    if "filling_aw" not in form.values:
        return None
    aw = form.number("filling_aw", at_least=0.1, at_most=0.95)
    filling_g = form.mass_g("filling", at_least=0.1, at_most=1e4)
    crisp_g = form.mass_g("crisp", at_least=0.05, at_most=1e4)
    if not form.ok or aw is None or filling_g is None or crisp_g is None:
        return None
    moist, dry = MoistPart(filling_g, isotherms()["dried_fruit"], aw), MoistPart(crisp_g, isotherms()["cereal"], 0.2)
    low, high = hours_until(moist, dry)
    return {"ends": equilibrium_aw(moist, dry), "low": low, "high": high, "never": math.isinf(low)}


def _meter(form: Form) -> Any:
    if "salt0" not in form.values:
        return None
    readings = []
    for n in range(3):
        salt = form.choice(f"salt{n}", list(salt_names()), required=False)
        if salt:
            at_C = form.temperature_C(f"at{n}", at_least=5, at_most=50)
            shown = form.number(f"shown{n}", at_least=0.02, at_most=1.0)
            if at_C is not None and shown is not None:
                readings.append((salt, at_C, shown))
    if not readings and form.ok:
        form.fail("salt0", form.gettext("At least one salt."))
    if not form.ok:
        return None
    try:
        return check_meter(readings)
    except BloomlessError as error:
        form.fail("salt0", error.text)
        return None


@router.get("/book/tools")
async def tools(request: Request) -> Response:
    """Thinner chocolate, a seized bowl, a crisp part, a meter."""
    form = asked_form(request)

    def look() -> dict[str, Any]:
        pantry = request.app.state.house.shelf.written()
        names = names_said(request, pantry)
        chocolates = [(k, names[k]) for k, i in pantry.ingredients.items() if i.group.startswith("chocolate_")]
        return {
            "chocolates": chocolates, "thin": _thin(request, form), "seized": _seized(form), "crisp": _crisp(form),
            "meter": _meter(form), "salts": list(salt_names().items()),
        }  # fmt: skip

    shown = await run_in_threadpool(look)
    return render(
        request, "book_tools.html", status=200 if form.ok else 422, form=form, thinner=THINNER, uses=USES, **shown
    )


FAMILY: Final = Family(router)
