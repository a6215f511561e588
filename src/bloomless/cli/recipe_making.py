"""``bloomless recipe``, making: batches started and closed, own losses, measured values, cooking, photos, variants."""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path
from typing import Annotated, Any, Final

import typer

from bloomless.cli.book_access import AsJson, Data, key_of, opened, read_bytes, tell
from bloomless.errors import ImpossibleInput

__all__ = ["COMMANDS", "batch", "close", "cook", "losses", "measured", "photo", "stock_allows", "variant", "versions"]

COMMANDS: Final = ("batch", "close", "losses", "measured", "cook", "photo", "variant", "versions", "stock_allows")
Key = Annotated[str, typer.Argument(help="Key of the recipe.")]


def batch(
    key: Key,
    pieces: Annotated[float | None, typer.Option(min=0.01, help="Good pieces.")] = None,
    grams: Annotated[float | None, typer.Option(min=0.1, help="Finished grams.")] = None,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Note a batch; its sheet keeps today's versions and losses."""
    from bloomless.bench.batches import planned, start_batch, to_weigh

    with opened(data) as house:
        code = start_batch(house.book, key, at=house.clock(), pieces=pieces, grams=grams)
        recipe, pantry, _ = planned(house.book, code)
        weigh = {part.recipe.key: round(part.made.mass_g, 1) for part in to_weigh(recipe, pantry)}
    tell({"batch": code, "to_weigh_g": weigh}, f"{code}; to weigh when done: {', '.join(weigh)}", as_json=as_json)


def close(
    code: Annotated[str, typer.Argument(help="Code of the batch.")],
    outcome: Annotated[str, typer.Argument(help="good, so so or failed.")],
    weighed: Annotated[list[str] | None, typer.Option(help="recipe=g, several times.")] = None,
    good: Annotated[float | None, typer.Option(min=0.0, help="Pieces that can be sold.")] = None,
    minutes: Annotated[float | None, typer.Option(min=0.1, help="Minutes of hands.")] = None,
    note: Annotated[str, typer.Option(help="Anything else.")] = "",
    from_stock: Annotated[bool, typer.Option(help="Take what the sheet says out of the stock.")] = True,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Close a batch with what was weighed; this teaches your own losses."""
    from bloomless.bench.batches import Closing, close_batch
    from bloomless.quantities import number_from_text

    grams = {}
    for text in weighed or ():
        key, _, typed = text.partition("=")
        grams[key] = number_from_text(typed, field=f"weighed.{key}", at_least=0.1)
    with opened(data) as house:
        closing = Closing(outcome, grams, good, minutes, note, from_stock)
        done = close_batch(house.book, code, closing, at=house.clock()).document["closed"]
    tell(done, f"{code} closed; cost {done['cost']['amount']} {done['cost']['currency']}", as_json=as_json)


def losses(data: Data = None, as_json: AsJson = False) -> None:
    """List what your own batches have taught: losses, rejects, minutes, with the range of the next batch."""
    with opened(data) as house:
        own = house.shelf.own()
    answer = {key: asdict(one) for key, one in own.items()}
    lines = []
    for key, one in own.items():
        for what, share in (("left behind", one.left_behind), ("rejects", one.reject), ("minutes ×", one.hands)):
            if share is not None:
                lines.append(
                    f"{key}: {what} {share.share:.3f} ({share.low:.3f}–{share.high:.3f}), {share.batches} batches"
                )
    tell(answer, "\n".join(lines) or "Nothing weighed yet.", as_json=as_json)


def _changed(house: Any, key: str, **changes: Any) -> int:
    from bloomless.bench.recipes import recipe_named, save_recipe

    recipe, _ = recipe_named(house.book, key)
    return int(save_recipe(house.book, replace(recipe, **changes), at=house.clock()).version)


def measured(
    key: Key,
    aw: Annotated[float | None, typer.Option(min=0.01, max=1.0, help="Water activity.")] = None,
    sd: Annotated[float, typer.Option(min=0.001, max=0.2, help="Standard deviation of the instrument.")] = 0.02,
    ph: Annotated[float | None, typer.Option(min=0.0, max=14.0)] = None,
    on: Annotated[str, typer.Option(help="Day, ISO 8601; today if empty.")] = "",
    instrument: Annotated[str, typer.Option(help="Instrument or laboratory.")] = "",
    at: Annotated[float, typer.Option(help="Temperature, °C.")] = 25.0,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Write down a measured water activity or pH: it overrides the prediction. Without either it is taken away."""
    from bloomless.recipes import Measured

    with opened(data) as house:
        day = on or house.clock().date().isoformat()
        what = None if aw is None and ph is None else Measured(aw, sd, ph, day, instrument, at)
        version = _changed(house, key, measured=what)
    tell({"key": key, "version": version}, f"{key}: version {version}", as_json=as_json)


def cook(
    key: Key,
    to_C: Annotated[float | None, typer.Option(help="Boiling temperature at which cooking ends, °C.")] = None,
    water: Annotated[float | None, typer.Option(min=0.0, max=99.0, help="Or water in what is left, %.")] = None,
    weighs: Annotated[float | None, typer.Option(min=0.1, help="Or its weighed mass, g: the surest.")] = None,
    pressure: Annotated[float, typer.Option(help="Air pressure of the kitchen, hPa.")] = 1013.25,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Say how far a recipe is boiled down; without an end it is not cooked."""
    from bloomless.recipes import Cooking, compose

    ends = (weighs, None if water is None else water / 100.0, to_C)
    how = None if ends == (None, None, None) else Cooking(*ends, pressure_hPa=pressure)
    with opened(data) as house:
        version = _changed(house, key, cooking=how)
        made = compose(house.shelf.written().recipes[key], house.shelf.written())
    answer = {"key": key, "version": version, "mass_g": made.mass_g, "water_lost_g": made.water_lost_g}
    tell(answer, f"{key}: {made.mass_g:.0f} g are left, {made.water_lost_g:.0f} g boil off.", as_json=as_json)


def photo(
    key: Key,
    file: Annotated[Path | None, typer.Argument(help="JPEG, PNG or WebP; none takes the photo away.")] = None,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Keep a photo with a recipe, made smaller and without what the camera wrote into it."""
    from bloomless.bench.photos import keep_photo, remove_photo
    from bloomless.storage.photos import photo_from

    with opened(data) as house:
        name = ""
        if file is None:
            remove_photo(house.book, key, at=house.clock())
        else:
            name = keep_photo(house.book, key, photo_from(read_bytes(file)), at=house.clock())
    tell({"key": key, "photo": name}, f"{key}: {name or 'no photo'}", as_json=as_json)


def variant(
    key: Key,
    name: Annotated[str, typer.Argument(help="Name of the variant.")],
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Write a recipe once more under another name."""
    from bloomless.bench.recipes import duplicate

    with opened(data) as house:
        duplicate(house.book, key, key_of(name), name, at=house.clock())
    tell({"key": key_of(name)}, key_of(name), as_json=as_json)


def versions(
    key: Key,
    before: Annotated[int | None, typer.Option(min=1, help="Older version; the last but one if not given.")] = None,
    after: Annotated[int | None, typer.Option(min=1, help="Newer version; the last if not given.")] = None,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Show what changed from one version of a recipe to another."""
    from bloomless.bench.recipes import version_difference

    with opened(data) as house:
        last = house.book.history("recipe", key)[-1].version
        if last == 1 and before is None:
            raise ImpossibleInput("key", key, "a recipe with more than one version")
        found = version_difference(house.book, key, before or last - 1, after or last)
    lines = [f"{d.what}: {d.before} → {d.after}" for d in found]
    tell({"differences": [asdict(d) for d in found]}, "\n".join(lines) or "Nothing.", as_json=as_json)


def stock_allows(data: Data = None, as_json: AsJson = False) -> None:
    """List the recipes the stock allows, how many times, and what ends first."""
    with opened(data) as house:
        found = house.shelf.makeable()
    rows = [{"key": key, "times": times, "ends_first": first} for key, (_, times, first) in found.items()]
    tell(
        {"recipes": rows},
        "\n".join(f"{r['key']}: {r['times']:.1f} ×, then {r['ends_first']}" for r in rows),
        as_json=as_json,
    )
