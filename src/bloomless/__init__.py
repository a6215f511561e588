"""Bloomless: the bench companion for people who make chocolate bars and bonbons in small batches.

The rooms of the house and who may import whom are drawn in ``ARCHITECTURE.md`` and held by import-linter.
"""

from bloomless._version import __version__

__all__ = ["__version__"]
