"""Web: the screens, the REST API and the live stream.

Belongs here: routers, templates, own style sheet and small ES modules, words in several languages, sign-in.
May import: every room below. Must never: decide anything about chocolate; a page shows, a job of the centre decides.
"""

from bloomless.web.app import Door, create_app

__all__ = ["Door", "create_app"]
