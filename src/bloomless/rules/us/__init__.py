"""The United States: 21 CFR, the allergen acts, Handbook 133."""

__all__: list[str] = []
