"""Settings of every test: hypothesis without deadlines (CI machines differ), one profile; servers the tests start."""

from hypothesis import HealthCheck, settings

pytest_plugins = ["services.postgres", "services.web"]

settings.register_profile("bloomless", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("bloomless")
