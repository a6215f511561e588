"""Every sentence that the jobs of the moulds can say is said in German: findings, reasons, steps, what was assumed."""

import itertools
from datetime import UTC, datetime

from bloomless.bench.mould_filling import fill
from bloomless.bench.mould_inputs import SPACES
from bloomless.bench.mould_room import before_casting, keeping, leave_the_cold, room_today
from bloomless.bench.mould_whatif import what_if
from bloomless.bench.moulds import keep_mould, predict
from bloomless.bench.ports import MemoryBook
from bloomless.materials.mould_library import library, words_of
from bloomless.materials.mould_walls import WALLS
from bloomless.recipes.inclusions import inclusions
from bloomless.sheets.mould_sheet import WORDS
from bloomless.web.sentences import SENTENCE, say_template
from bloomless.web.words import translations

AT = datetime(2026, 3, 14, tzinfo=UTC)
NUTS = {"name": "hazelnut", "share_by_mass": 0.3, "temperature_C": 16}
BERRIES = {"name": "dried_berries", "share_by_mass": 0.5, "where": "back"}
CASTINGS = (
    {},
    {"form_v_pct_of_fat": 0.1, "mould_C": 6, "room_C": 24, "room_rh_pct": 60},
    {"form_v_pct_of_fat": 9, "unstable_pct_of_fat": 0, "mould_C": 30, "temperature_C": 32, "space": "fridge"},
    {"form_v_pct_of_fat": 1, "unstable_pct_of_fat": 2, "colour": "untempered", "cleanliness": "dirty", "space": "room"},
    {"space": {"name": "room", "air_C": 28}, "mould": "bar-thick-130", "room_C": 28, "room_rh_pct": 65},
    {"space": {"name": "room", "air_C": 22}, "mould": "snack-bar-40", "temperature_C": 29},
    {"mould": "soft-square-25", "form": "capped", "filling_C": 32, "space": {"name": "cabinet", "air_C": 2}},
    {"mould": "cone-28", "form": "capped", "filling": "praline", "shell_mm": 2},
    {"form": "layers", "layers": [{"chocolate": "white", "share": 0.5}, {"share": 0.5}]},
    {"inclusions": [NUTS, BERRIES]},
    {"inclusions": [{"name": "sea_salt", "share_by_mass": 0.02}], "mould": "hollow-egg"},
    {"mould": "worn", "form": "shell"},
    {"mould": "deep"},
    {"form_v_pct_of_fat": 0.5, "mould_C": 6, "space": {"name": "fridge", "air_C": -8, "air_speed_m_s": 3}},
    {"mould": "snack-bar-40", "space": {"name": "cabinet", "standing": "stacked"}, "temperature_C": 33},
    {"form_v_pct_of_fat": 1, "unstable_pct_of_fat": 6},
    {"then": [{"after_min": 10, "space": "room"}]},
    {"chocolate": "milk", "room_C": 22, "room_rh_pct": 52, "space": {"name": "cabinet", "air_C": 13}},
)  # fmt: skip


def _texts(node, found):
    """Every text of a document that a person reads."""
    keys = {
        "text",
        "why",
        "reason",
        "do",
        "rests_on",
        "decides",
        "kind",
        "words",
        "care",
        "verdict",
        "product",
        "known",
    }
    lists = {"if_stuck", "assumed", "steps", "say", "storage", "trouble"}
    if isinstance(node, dict):
        for key, value in node.items():
            if key in keys and isinstance(value, str) and value:
                found.add(value)
            elif key in lists:
                found |= {text for text in value if isinstance(text, str)}
            _texts(value, found)
    elif isinstance(node, list | tuple):
        for one in node:
            _texts(one, found)


def _said():
    book = MemoryBook()
    keep_mould(book, "worn", {"shape": "hemisphere", "radius_mm": 15, "cavities": 24, "scratched": True}, at=AT)
    keep_mould(book, "deep", {"shape": "cylinder", "radius_mm": 8, "depth_mm": 30, "cavities": 24}, at=AT)
    found = set()
    for casting in CASTINGS:
        _texts(predict(book, casting, members=20, minutes=100), found)
        for more in ({}, {"flow": "stiff", "wall_mm": 1}, {"flow": "spraying", "wall_mm": 2.5, "drain_s": 60}):
            colours = [{"name": "ochre", "way": "brush"}]
            if casting.get("mould") != "hollow-egg" or not more:
                _texts(fill(book, {**casting, **more, "colours": colours, "cap_mm": 1.0}), found)
    for casting in (
        {"form_v_pct_of_fat": 1.5, "room_C": 24, "room_rh_pct": 65},
        {"space": "room", "temperature_C": 29, "then": [{"after_min": 10, "space": "cool_room"}]},
    ):
        _texts(what_if(book, casting), found)
    for room, rh in itertools.product((18, 24, 29, 33), (None, 40, 65, 85)):
        _texts(room_today(room, rh), found)
        for at in (4, 12, 18):
            for kind in ("dark", "milk"):
                _texts(leave_the_cold({"room_C": room, "room_rh_pct": rh, "from_C": at, "chocolate": kind}), found)
    for at, brushed, mould in itertools.product((27.5, 29.2, 31.0, 33.0, 35.2), (False, True), (6, 12, 16, 22, 31)):
        hand = {"mould_C": mould, "room_C": 24, "room_rh_pct": 60, "brushed": brushed, "moulds": 1 + 15 * brushed}
        _texts(before_casting({**hand, "colours": [{"name": "ochre", "temperature_C": at}]}), found)
        _texts(before_casting(hand), found)
    for temper, store, rh, warm in itertools.product(
        ("good", "slight", "gross"), (17, 22, 26), (None, 50, 62, 90), (0, 2)
    ):
        said = {
            "temper": temper,
            "store_C": store,
            "store_rh_pct": rh,
            "warm_times": warm,
            "nut_shell_mm": 1 + store / 20,
        }
        _texts(keeping({**said, "seeded_filling": bool(warm), "sticky": rh == 50, "swing_K": 0 if warm else 2}), found)
        _texts(keeping({**said, "dew_g_m2": 3}), found)
    found |= {wall.care for wall in WALLS.values()} | {words_of()[name] for name in library()}
    found |= {one.words for one in inclusions().values()} | {a for one in inclusions().values() for a in one.allergens}
    found |= {name.replace("_", " ") for name in SPACES} | set(WORDS)
    found |= {"solid", "shell", "capped", "layers", "rack", "tray", "stacked", "dark", "milk", "white", "cocoa_butter"}
    found |= {"Stop.", "Care.", "Note."}
    found |= {"open side", "middle", "mould side", "set", "out", "never", "depth, mm", "solid fat", "minutes until out"}
    found |= {"solid fat, % of the fat", "minutes in the cooling space", "temperature, °C", "temperature, °F"}
    found |= {"open side above, mould below", "air of the cooling space", "air along the moulds"}
    return found


def missing():
    known = translations("de").gettext
    wanted = set()
    for text in _said():
        parts = SENTENCE.split(text)
        wanted |= (
            {say_template(text)} if known(say_template(text)) != say_template(text) else {*map(say_template, parts)}
        )
    same = {"min", "still"}
    return sorted(
        text for text in wanted - same if known(text) == text and any(c.isalpha() for c in text.replace("{}", ""))
    )


def test_every_sentence_is_said_in_german():
    assert missing() == []


def test_every_trouble_has_its_reason_in_the_list_above():
    assert len(_said()) > 250
