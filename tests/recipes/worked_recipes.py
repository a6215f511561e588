"""The worked examples of the ingredient sheet, section 2.3, shared by the tests of recipes."""

from bloomless.materials.ingredients import ingredient_library
from bloomless.recipes import Line, Pantry, Recipe, compose

PANTRY = Pantry(ingredient_library())


def made(kind="ganache", cooking=None, **grams):
    return compose(Recipe("r", "R", kind, tuple(Line(of, g) for of, g in grams.items()), cooking=cooking), PANTRY)


A = {"dark_60": 100, "cream_35": 100}
B = {"dark_60": 200, "cream_35": 100}
C = {"dark_64": 450, "cream_35": 300, "glucose_syrup_de60": 60, "invert_paste": 40, "butter_unsalted": 60}
D = {
    "dark_64": 450,
    "cream_35": 190,
    "glucose_syrup_de60": 80,
    "invert_paste": 60,
    "sorbitol_powder": 50,
    "butter_unsalted": 70,
}
E = {"milk_38": 500, "cream_35": 220, "glucose_syrup_de60": 50, "invert_paste": 40, "butter_unsalted": 40}
F = {"white_33": 500, "raspberry_puree": 200, "glucose_syrup_de60": 60, "invert_paste": 50, "butter_unsalted": 40}
G = {"dark_64": 400, "butter_unsalted": 200, "glucose_syrup_de60": 80, "invert_paste": 80}
H = {
    "dark_64": 450,
    "cream_35": 220,
    "invert_paste": 60,
    "glucose_syrup_de60": 50,
    "butter_unsalted": 50,
    "spirit_60": 40,
}
CARAMEL = {
    "sucrose": 300,
    "glucose_syrup_de42": 250,
    "cream_35": 170,
    "butter_unsalted": 100,
    "condensed_sweet": 150,
    "salt": 5,
}
