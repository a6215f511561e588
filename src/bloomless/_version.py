"""The version, in one place that every room may read."""

from importlib.metadata import version

__version__ = version("bloomless")
