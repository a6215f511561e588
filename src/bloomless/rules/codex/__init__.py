"""Codex Alimentarius: the standard for chocolate and chocolate products."""

__all__: list[str] = []
