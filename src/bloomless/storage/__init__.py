"""Storage: the book and the bench log on disk, in SQLite or PostgreSQL.

Belongs here: tables, migrations, the stored ``Book`` and ``EventLog``, snapshots, secrets and sign-ins, backup.
May import: ``bench`` (its ports) and everything inside it. Must never: decide, estimate, change what was written.
"""

from bloomless.storage.backup import backup_to
from bloomless.storage.book import StoredBook
from bloomless.storage.claim import Claim
from bloomless.storage.engine import database_file, open_database
from bloomless.storage.event_log import SessionSummary, StoredEventLog
from bloomless.storage.secrets import SecretStore, SignIn, StoredSecret
from bloomless.storage.snapshots import SnapshotStore

__all__ = [
    "Claim",
    "SecretStore",
    "SessionSummary",
    "SignIn",
    "SnapshotStore",
    "StoredBook",
    "StoredEventLog",
    "StoredSecret",
    "backup_to",
    "database_file",
    "open_database",
]
