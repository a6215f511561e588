"""Moulds as jobs: the list, own moulds, measuring them, what a casting will do, and "what if"."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any, Final

import numpy as np

from bloomless.bench.mould_bloom import bloom_of
from bloomless.bench.mould_findings import if_stuck, left, noticed
from bloomless.bench.mould_inputs import Casting, casting_from, mould_named, place_named
from bloomless.bench.mould_layers import core_of, poured, stack_of
from bloomless.bench.ports import Book, Entry, Json
from bloomless.errors import ImpossibleInput
from bloomless.estimation.mould_space import LoggedMould, learn_space
from bloomless.materials.mould_library import library, mould_from, mould_to, words_of
from bloomless.materials.moulds import Mould, by_piece_mass, by_water
from bloomless.physics.mould_cooling import filled
from bloomless.physics.mould_forecast import Doubt, Forecast, Triple, forecast
from bloomless.physics.mould_melt import Melt, melt_of
from bloomless.physics.mould_stacks import capped
from bloomless.physics.release import density_kg_m3

__all__ = ["describe", "keep_mould", "learn_place", "list_moulds", "measure_mould", "predict", "predicted", "run"]

POURED_kg_m3: Final = 1250.0


def describe(mould: Mould, words: str = "") -> dict[str, Json]:
    """A mould as a plain document with what it holds."""
    cavity = mould.cavity
    return {
        "name": mould.name,
        "words": words or words_of().get(mould.name, ""),
        **mould_to(mould),
        "volume_ml": round(cavity.volume_ml, 3),
        "depth_mm": cavity.depth_mm,
        "opening_cm2": round(cavity.opening_cm2, 2),
        "wall_cm2": round(cavity.wall_cm2, 2),
        "piece_g": round(mould.piece_g(POURED_kg_m3), 2),
        "mould_g": round(mould.piece_g(POURED_kg_m3) * mould.cavities, 1),
        "shell_g_at_1_5_mm": round(mould.shell_g(POURED_kg_m3, 1.5), 2) if cavity.depth_mm > 3 else None,
        "care": mould.wall.care,
        "known": mould.measured or "drawn",
        "spread_pct": round(100 * mould.volume_spread_share, 1),
    }


def list_moulds(book: Book) -> list[dict[str, Json]]:
    """Own moulds first, then the library."""
    own = [(mould_from(e.key, e.document), str(e.document.get("words", ""))) for e in book.latest("mould")]
    names = {mould.name for mould, _ in own}
    return [
        *({**describe(mould, words), "own": True} for mould, words in own),
        *({**describe(mould), "own": False} for name, mould in library().items() if name not in names),
    ]


def keep_mould(book: Book, name: str, document: Mapping[str, Any], *, at: datetime) -> Entry:
    """Write an own mould into the book; the same name again is a new version."""
    if not name or len(name) > 60:
        raise ImpossibleInput("name", name, "1 to 60 characters")
    kept = mould_to(mould_from(name, document))
    return book.put("mould", name, {**kept, "words": str(document.get("words", ""))[:200]}, at=at)


def measure_mould(
    book: Book,
    name: str,
    *,
    at: datetime,
    water_g: float | None = None,
    water_C: float = 20.0,
    cavities_filled: int = 1,
    piece_g: float | None = None,
    fat_share: float = 0.36,
) -> Entry:
    """Measure a mould by the water it holds or by one solid piece, and keep it as an own mould.

    Parameters
    ----------
    book, name, at
        Where, what, when.
    water_g, water_C, cavities_filled
        Water that so many cavities held, level with the rim.
    piece_g, fat_share
        Or: mean mass of a solid piece and the fat of its chocolate.
    """
    drawn = mould_named(book, name)
    if (water_g is None) == (piece_g is None):
        raise ImpossibleInput("water_g", water_g, "either water or a piece, not both")
    if water_g is not None:
        measured = by_water(drawn, water_g, cavities_filled=cavities_filled, water_C=water_C)
    else:
        assert piece_g is not None
        measured = by_piece_mass(drawn, piece_g, density_kg_m3(fat_share, solid=True))
    words = next(
        (str(e.document.get("words", "")) for e in book.latest("mould") if e.key == name), words_of().get(name, "")
    )
    return book.put("mould", name, {**mould_to(measured), "words": words}, at=at)


def melt_in(casting: Casting) -> Melt:
    """What is poured: the middle of what is believed, cooled by the pieces stirred into it."""
    made = melt_of(
        casting.chocolate,
        casting.temperature_C,
        form_v=min(casting.form_v[1], 0.4),
        unstable=min(casting.unstable[1], 0.4),
    )
    return poured(made, casting.piece)


def run(casting: Casting, *, seed: int, members: int = 200, minutes: float = 90.0) -> Forecast:
    """The casting many times over; see ``mould_forecast``."""
    place = casting.place
    doubt = Doubt(
        casting.form_v, casting.unstable, air_sd_K=place.air_sd_K,
        film_factor=place.learned.film_spread if place.learned.logs else None,
    )  # fmt: skip
    melt, piece, mould_C = melt_in(casting), casting.piece, casting.surface.mould_C
    return forecast(
        casting.mould, melt, place.space, casting.surface, doubt, np.random.Generator(np.random.PCG64(seed)),
        minutes=minutes, shell_mm=casting.shell_mm, members=members, core=core_of(piece),
        stack=stack_of(casting.mould, melt, piece, mould_C),
    )  # fmt: skip


def _band(triple: Triple | None, digits: int = 1) -> dict[str, float] | None:
    return None if triple is None else {p: round(v, digits) for p, v in zip(("p05", "p50", "p95"), triple, strict=True)}


def predict(
    book: Book, document: Mapping[str, Any], *, seed: int = 1, members: int = 200, minutes: float = 90.0
) -> dict[str, Json]:
    """What a casting will do, as one plain document: for the screen, for paper and for programs."""
    return predicted(casting_from(book, document), seed=seed, members=members, minutes=minutes)


def predicted(casting: Casting, *, seed: int = 1, members: int = 200, minutes: float = 90.0) -> dict[str, Json]:
    """As ``predict``, for a casting that may come from a bench."""
    told = run(casting, seed=seed, members=members, minutes=minutes)
    count = casting.mould.cavities
    return {
        "mould": describe(casting.mould),
        "moulds": casting.moulds,
        "piece": asdict(casting.piece),
        "shell_mm": casting.piece.shell_mm,
        "poured_C": round(melt_in(casting).temperature_C, 1),
        "chocolate": casting.chocolate.kind,
        "temperature_C": casting.temperature_C,
        "form_v_pct_of_fat": _band(_pct(casting.form_v), 2),
        "mould_C": casting.surface.mould_C,
        "space": _space(casting, told),
        "set_min": _band(told.set_min),
        "look_min": _band(told.look_min),
        "out_min": _band(told.out_min),
        "released_share": round(told.released_share, 3),
        "chance": round(told.chance, 3),
        "clean_cavities": {"of": count, "expected": round(count * told.chance, 1)},
        "hottest_C": _band(told.hottest_C, 2),
        "skin_rate_K_min": _band(told.skin_rate_K_min, 2),
        "form_v_of_solid": _band(told.form_v_of_solid, 3),
        "air_most_C": _band(told.air_most_C, 1),
        "contraction_pct": round(100 * float(told.released.contraction[-1]), 2),
        "gap_mm": round(float(told.released.gap_mm[-1]), 3),
        "curves": _curves(told),
        "layers": _layers(told),
        "profile": _profile(told),
        "set_pct_of_fat": round(100 * told.nominal.melt.set_share, 1),
        "findings": [asdict(finding) for finding in noticed(casting, told)],
        "bloom": [asdict(risk) for risk in bloom_of(casting, told)],
        "if_stuck": list(if_stuck(casting)),
        "assumed": list(casting.assumed),
        "rests_on": (
            f"{told.members} runs of a model of heat and crystals; its growth of crystals is an estimate, times "
            "are good "
            "to 40 % until a logged mould has taught this place."
        ),
        "energy_error": told.nominal.energy_error,
        "shape_factor": round(told.shape_factor, 2),
    }


def _pct(triple: Triple) -> Triple:
    return 100 * triple[0], 100 * triple[1], 100 * triple[2]


def _space(casting: Casting, told: Forecast) -> dict[str, Json]:
    space, learned = casting.place.space, casting.place.learned
    return {
        "name": casting.place.name, "air_C": space.air_C, "air_speed_m_s": space.air_speed_m_s,
        "standing": space.standing, "power_W": space.power_W, "film_factor": round(learned.film_factor, 2),
        "logs": learned.logs, "air_rise_K": _band(told.air_rise_K, 1), "leaves_C": left(casting, told).air_C,
        "then": [
            {"after_min": m.after_min, "air_C": m.space.air_C, "air_speed_m_s": m.space.air_speed_m_s}
            for m in space.then
        ],
    }  # fmt: skip


def _curves(told: Forecast) -> dict[str, Json]:
    """Curves of the middle run, a minute apart."""
    nominal, released = told.nominal, told.released
    every = max(1, round(60 / (nominal.time_s[1] - nominal.time_s[0])))
    T, middle = nominal.temperature_C, nominal.temperature_C.shape[1] // 2
    solid = 100 * nominal.solid @ nominal.weight

    def thin(values: Any, digits: int = 2) -> list[float]:
        return [round(float(v), digits) for v in values[::every]]

    return {
        "minutes": thin(nominal.time_s / 60),
        "open_side_C": thin(T[:, 0]),
        "middle_C": thin(T[:, middle]),
        "mould_side_C": thin(T[:, -1]),
        "mould_C": thin(nominal.mould_C),
        "air_C": thin(nominal.air_C),
        "solid_pct_of_fat": thin(solid, 1),
        "release_index": thin(released.index),
    }


def _layers(told: Forecast) -> list[dict[str, Json]]:
    """What set where: five layers from the open side to the mould, at the end of the middle run."""
    nominal = told.nominal
    parts = np.array_split(np.arange(nominal.depth_mm.size), 5)
    rows: list[dict[str, Json]] = []
    for part in parts:
        solid, limit = nominal.solid[:, part].mean(axis=1), float(nominal.set_share[part].mean())
        done = solid >= limit
        at = int(np.argmax(solid >= 0.5 * limit))
        rows.append(
            {
                "depth_mm": round(float(nominal.depth_mm[part].mean()), 2),
                "set_min": round(float(nominal.time_s[int(np.argmax(done))]) / 60, 1) if done.any() else None,
                "half_set_at_C": round(float(nominal.temperature_C[at, part].mean()), 1) if done.any() else None,
                "form_v_pct": round(100 * float(nominal.form_v[-1, part].mean()), 1),
                "form_iv_pct": round(100 * float(nominal.form_iv[-1, part].mean()), 2),
                "form_ii_pct": round(100 * float(nominal.form_ii[-1, part].mean()), 2),
            }
        )
    return rows


def _profile(told: Forecast) -> dict[str, Json]:
    """Temperature and solid fat of the middle run over minutes and depth, thin enough for a picture."""
    nominal = told.nominal
    at = np.unique(np.linspace(0, nominal.time_s.size - 1, 73).astype(int))
    deep = np.unique(np.linspace(0, nominal.depth_mm.size - 1, 31).astype(int))
    return {
        "minutes": [round(float(t) / 60, 2) for t in nominal.time_s[at]],
        "depth_mm": [round(float(d), 2) for d in nominal.depth_mm[deep]],
        "temperature_C": np.round(nominal.temperature_C[np.ix_(at, deep)].T, 1).tolist(),
        "solid_pct_of_fat": np.round(100 * nominal.solid[np.ix_(at, deep)].T, 1).tolist(),
    }


def learn_place(
    book: Book, name: str, document: Mapping[str, Any], log: Sequence[Mapping[str, Any]], *, at: datetime
) -> dict[str, Json]:
    """Learn a cooling space from the log of one mould, and keep it.

    Parameters
    ----------
    book, name, at
        Where, which place, when.
    document
        The casting that was logged, as for ``predict``; its ``space`` is what is said of the place.
    log
        Rows with ``at_s`` (since the mould went in), ``temperature_C`` and ``place``: ``chocolate``, ``back``,
        ``mould`` or ``air``.
    """
    said = document.get("space")
    shown = dict(said) if isinstance(said, Mapping) else {}
    shown.pop("name", None)
    if name not in {e.key for e in book.latest("cooling_space")}:
        book.put("cooling_space", name, {"air_C": 12.0, **shown}, at=at)
    casting = casting_from(book, {**document, "space": {"name": name, **shown}})
    before = casting.place.learned
    stack = filled(
        casting.mould, melt_in(casting), mould_C=casting.surface.mould_C, shell_mm=casting.shell_mm, cells=24
    )
    special = stack_of(casting.mould, melt_in(casting), casting.piece, casting.surface.mould_C)
    core = core_of(casting.piece)
    if core is not None:
        special = capped(casting.mould, melt_in(casting), core, mould_C=casting.surface.mould_C, cells=36)
    after = learn_space(_logged(log), special or stack, replace(casting.place.space, factor=1.0), before)
    kept = {
        **dict(book.get("cooling_space", name).document),
        **shown,
        "film_factor": round(after.film_factor, 4),
        "film_spread": round(after.film_spread, 4),
        "power_learned_W": round(after.power_W, 1),
        "power_spread": round(after.power_spread, 3),
        "logs": after.logs,
        "misfit_K": round(after.misfit_K, 3),
    }
    book.put("cooling_space", name, kept, at=at)
    return {"name": name, "before": asdict(before), "after": asdict(after), "kept": kept}


def _logged(log: Sequence[Mapping[str, Any]]) -> tuple[LoggedMould, ...]:
    by_place: dict[str, list[tuple[float, float]]] = {}
    for row in log:
        place = row.get("place", "chocolate")
        if place not in ("chocolate", "back", "mould", "air"):
            raise ImpossibleInput("place", place, "chocolate, back, mould or air")
        values = row.get("at_s"), row.get("temperature_C")
        if any(isinstance(v, bool) or not isinstance(v, int | float) or not math.isfinite(v) for v in values):
            raise ImpossibleInput("log", dict(row), "at_s and temperature_C as numbers")
        by_place.setdefault(place, []).append((float(row["at_s"]), float(row["temperature_C"])))
    made = []
    for place, rows in by_place.items():
        times, shown = np.array(sorted(rows)).T
        made.append(LoggedMould(place, times, shown))  # type: ignore[arg-type]
    return tuple(made)


def place_document(book: Book, name: str) -> dict[str, Json]:
    """A place as it is believed to be."""
    place = place_named(book, name)
    return {"name": name, **asdict(place.space), **{f"learned_{k}": v for k, v in asdict(place.learned).items()}}
