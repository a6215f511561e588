"""The European Union: Directive 2000/36/EC, Regulation (EU) 1169/2011, Directive 76/211/EEC and their company."""

__all__: list[str] = []
