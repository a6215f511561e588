"""The kinds of way in: what each is called, which settings it takes, how it is made from a saved document."""

from __future__ import annotations

import inspect
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Any, Final, Literal, get_args, get_origin, get_type_hints

from bloomless.bench.thermometers import Thermometer
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.probes.bluetooth import Bluetooth
from bloomless.probes.board import Board
from bloomless.probes.files import Followed, Replayed
from bloomless.probes.inbox import Posted, Typed
from bloomless.probes.modbus import Modbus
from bloomless.probes.mqtt import Mqtt
from bloomless.probes.serial_line import SerialLine
from bloomless.probes.simulated import Fault, Simulated
from bloomless.probes.wiring import Wiring

__all__ = ["KINDS", "Kind", "Setting", "kind_named", "settings_from_text", "thermometer_from"]

# Not settings of a user: what tests put in the place of the machine's own.
_HIDDEN: Final = frozenset({"radio", "wiring"})


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of a kind, for help and forms."""

    name: str
    type: str
    """``text``, ``whole``, ``number``, ``yes_no`` or ``list``."""
    default: Any
    required: bool
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of way in."""

    name: str
    title: str
    says: str
    """One sentence: for which thermometers."""
    make: Callable[..., Thermometer]
    interval_s: float
    """What is usual between two readings, until its own gaps are known."""
    reopen_after_s: float | None = None
    """Close and open again after such a silence, for links that can die unnoticed."""
    library: str = ""
    """Module it needs, of the extra ``probes``."""

    @property
    def takes_wiring(self) -> bool:
        """Whether bare sensors and scaled numbers can come by it."""
        return "wiring" in inspect.signature(self.make).parameters

    def settings(self) -> tuple[Setting, ...]:
        """Its settings, required ones first."""
        hints = get_type_hints(self.make.__init__ if inspect.isclass(self.make) else self.make)
        found = [
            _setting(name, hints[name], parameter.default)
            for name, parameter in inspect.signature(self.make).parameters.items()
            if name not in _HIDDEN
        ]
        if self.takes_wiring:
            wired = get_type_hints(Wiring)
            found += [_setting(f.name, wired[f.name], f.default) for f in fields(Wiring)]
        return tuple(sorted(found, key=lambda setting: not setting.required))


def _setting(name: str, hint: Any, default: Any) -> Setting:
    choices = tuple(str(choice) for choice in get_args(hint)) if get_origin(hint) is Literal else ()
    plain = hint if isinstance(hint, type) else str if choices else None
    types: dict[Any, str] = {str: "text", int: "whole", float: "number", bool: "yes_no"}
    kind = types[plain] if plain in types else "number" if float in get_args(hint) else "list"
    required = default is inspect.Parameter.empty
    return Setting(name, kind, None if required else default, required, choices)


KINDS: Final = {
    kind.name: kind
    for kind in (
        Kind("typed", "By hand", "Any thermometer that a person reads.", Typed, 120.0),
        Kind(
            "bluetooth",
            "Bluetooth",
            "Thermometers with the open services Environmental Sensing or Health Thermometer.",
            Bluetooth,
            5.0,
            reopen_after_s=120.0,
            library="bleak",
        ),
        Kind(
            "serial",
            "Serial line",
            "Boards that print one reading a line on a serial or USB port.",
            SerialLine,
            2.0,
            library="serial",
        ),
        Kind("mqtt", "MQTT", "Whatever reports to a broker, as a number or JSON.", Mqtt, 30.0, library="aiomqtt"),
        Kind("modbus", "Modbus", "Transmitters on Modbus TCP or RTU.", Modbus, 1.0, library="pymodbus"),
        Kind("board", "This computer", "1-Wire, IIO and hwmon sensors of a single-board computer.", Board, 1.0),
        Kind(
            "http", "HTTP", "Any program, or a tablet's own Bluetooth or serial probe, that posts JSON.", Posted, 10.0
        ),
        Kind("file", "File", "A file to which another program appends readings.", Followed, 10.0),
        Kind("replay", "Replay", "The readings of an old bench log.", Replayed, 10.0),
        Kind("simulated", "Simulated", "No device at all: for practice.", Simulated, 1.0),
    )
}


def kind_named(name: str) -> Kind:
    """The kind of a name; raises ``UnknownName``."""
    if name not in KINDS:
        raise UnknownName("kind", name, KINDS)
    return KINDS[name]


def _checked(setting: Setting, value: Any) -> Any:
    """Value of a document in the type of its setting; raises ``ImpossibleInput``."""
    if value is None and setting.default is None and not setting.required:
        return None
    accepted: dict[str, tuple[type, ...]] = {
        "text": (str,),
        "whole": (int,),
        "number": (int, float),
        "yes_no": (bool,),
        "list": (list, tuple),
    }
    fits = isinstance(value, accepted[setting.type]) and (setting.type == "yes_no" or not isinstance(value, bool))
    if not fits:
        raise ImpossibleInput(
            setting.name,
            value,
            {"whole": "a whole number", "yes_no": "true or false"}.get(setting.type, f"a {setting.type}"),
            code="wrong_type",
        )
    if setting.choices and value not in setting.choices:
        raise UnknownName(setting.name, value, setting.choices)
    return value


def thermometer_from(kind_name: str, settings: Mapping[str, Any]) -> Thermometer:
    """Make the way in that a saved document describes.

    Parameters
    ----------
    kind_name
        Name of the kind.
    settings
        Its settings; unknown ones, missing ones and wrong types are errors that name the field.

    Raises
    ------
    ImpossibleInput
        For a setting that cannot be.
    """
    kind = kind_named(kind_name)
    known = {setting.name: setting for setting in kind.settings()}
    for name in settings:
        if name not in known:
            raise UnknownName("setting", name, known)
    for name, setting in known.items():
        if setting.required and settings.get(name) in (None, ""):
            raise ImpossibleInput(name, None, f"the {name} of a {kind.title} thermometer", code="missing_field")
    checked = {name: _checked(known[name], value) for name, value in settings.items()}
    if kind.takes_wiring:
        wired = {f.name for f in fields(Wiring)}
        checked["wiring"] = Wiring.from_document({n: checked.pop(n) for n in list(checked) if n in wired})
    if "faults" in checked:
        checked["faults"] = [_fault(fault) for fault in checked["faults"]]
    return kind.make(**checked)


def _fault(entry: Any) -> Fault:
    whats = ("silent", "unplugged", "garbage", "half")
    if not (isinstance(entry, list | tuple) and len(entry) == 3 and entry[2] in whats):
        raise ImpossibleInput("faults", entry, f"[from_s, to_s, one of {', '.join(whats)}]")
    return Fault(float(entry[0]), float(entry[1]), entry[2])


def settings_from_text(kind_name: str, pairs: Mapping[str, str]) -> dict[str, Any]:
    """Settings typed as text (a command's ``name=value``, a form's fields) in their types; empty ones are left out.

    Raises ``ImpossibleInput`` for a text that is not of the type.
    """
    known = {setting.name: setting for setting in kind_named(kind_name).settings()}
    found: dict[str, Any] = {}
    for name, text in pairs.items():
        if name not in known:
            raise UnknownName("setting", name, known)
        if text != "":
            found[name] = _typed(known[name], text)
    return found


def _typed(setting: Setting, text: str) -> Any:
    try:
        match setting.type:
            case "whole":
                return int(text)
            case "number":
                return float(text.replace(",", "."))
            case "yes_no":
                return {"true": True, "yes": True, "1": True, "on": True, "false": False, "no": False, "0": False}[
                    text.casefold()
                ]
            case "list":
                return json.loads(text)
            case _:
                return text
    except (ValueError, KeyError, RecursionError) as error:
        words = {"whole": "a whole number", "number": "a number", "yes_no": "yes or no", "list": "a JSON list"}
        raise ImpossibleInput(setting.name, text, words[setting.type], code="wrong_type") from error
