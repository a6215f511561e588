"""Canada, for information: shown, never used to release a label."""

__all__: list[str] = []
