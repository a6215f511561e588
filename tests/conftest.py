"""Settings of every test: hypothesis without deadlines (CI machines differ), one profile; servers the tests start."""

import signal

from hypothesis import HealthCheck, settings

pytest_plugins = ["services.postgres", "services.web"]

settings.register_profile("bloomless", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("bloomless")

# Started in the background, a suite inherits that Ctrl-C is ignored, and so would every server a test starts and stops.
signal.signal(signal.SIGINT, signal.default_int_handler)
