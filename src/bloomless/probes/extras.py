"""Libraries a user may do without: found when needed, missed in one sentence."""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

from bloomless.errors import DeviceFailure

__all__ = ["need"]


def need(module: str, what_for: str) -> ModuleType:
    """Import a library of the extra ``probes``.

    Parameters
    ----------
    module
        Name to import.
    what_for
        What cannot be done without it, such as ``Bluetooth``.

    Raises
    ------
    DeviceFailure
        With the command that installs it.
    """
    try:
        return import_module(module)
    except ImportError as error:
        raise DeviceFailure(
            f"{what_for} needs a library that is not installed here: “{module.split('.')[0]}”. "
            "Install it with: pip install 'bloomless[probes]'",
            code="extra_missing",
        ) from error
