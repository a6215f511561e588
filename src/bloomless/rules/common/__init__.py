"""Law that several jurisdictions share, and the questions every label answers: facts, lists, allergens, codes."""

__all__: list[str] = []
