"""The United Kingdom: what was retained from the Union, and where it differs."""

__all__: list[str] = []
