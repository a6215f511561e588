"""Sources: where a number comes from and how far it may be trusted.

Belongs here: the sourced value, the grades of evidence, the bibliography, the one loader of packaged tables.
May import: ``errors``. Must never: hold a number of food or physics itself.
"""

from bloomless.sources.bibliography import Reference, bibliography
from bloomless.sources.sourced import Grade, Sourced, sourced_values
from bloomless.sources.tables import read_csv, read_json, read_toml

__all__ = [
    "Grade",
    "Reference",
    "Sourced",
    "bibliography",
    "read_csv",
    "read_json",
    "read_toml",
    "sourced_values",
]
