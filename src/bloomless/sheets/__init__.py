"""Sheets: everything that ends on paper or in a file.

Belongs here: PDF, SVG, CSV of batch sheets, labels, curves, reports; Typst templates beside the module that fills them.
May import: ``bench`` and everything inside it. Must never: calculate food, law or money; fetch anything from a network.
"""

from bloomless.sheets.paper import PageSize, code_svg, pdf, pictures, template

__all__ = ["PageSize", "code_svg", "pdf", "pictures", "template"]
