"""The one way kernels are compiled: strict IEEE arithmetic, no exceptions inside, kept on disk between runs.

numba keeps compiled code beside the source and looks only at the date of that one file. A kernel is made of functions
and constants of many files, so here the stamp of the cache is a fingerprint of all of them: a changed constant, a
changed law or a new version of the program never meets old machine code.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, Final, TypeVar

from numba import njit

from bloomless.sources.tables import fingerprint

__all__ = ["inlined", "kernel", "threaded"]

Function = TypeVar("Function", bound=Callable[..., Any])

_ROOMS: Final = ("sources", "numerics", "materials", "physics", "estimation", "advice")


@cache
def _stamp() -> str:
    return fingerprint(tuple(f"bloomless.{room}" for room in _ROOMS))


def _compiled(function: Function, options: dict[str, Any]) -> Function:
    made: Any = njit(error_model="numpy", cache=True, **options)(function)
    # The public interface of numba has no place for a stamp of one's own; without the attribute its own date rules.
    file: Any = getattr(getattr(made, "_cache", None), "_cache_file", None)
    if hasattr(file, "_source_stamp"):
        file._source_stamp = _stamp()
    result: Function = made
    return result


def kernel(function: Function) -> Function:
    """Compile a function that Python calls; it runs without the interpreter's lock."""
    return _compiled(function, {"nogil": True})


def threaded(function: Function) -> Function:
    """As ``kernel``, its ``prange`` loops spread over threads."""
    return _compiled(function, {"nogil": True, "parallel": True})


def inlined(function: Function) -> Function:
    """Compile a small function that is dissolved in the kernels that call it, so that their loops become SIMD code."""
    return _compiled(function, {"forceinline": True})
