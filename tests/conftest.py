"""Settings of every test: hypothesis without deadlines (CI machines differ), one profile."""

from hypothesis import HealthCheck, settings

settings.register_profile("bloomless", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("bloomless")
