"""The picture of what moves a cost."""

import re
from xml.etree import ElementTree as ET

from bloomless.costing import Swing
from bloomless.quantities import money
from bloomless.sheets.sensitivity import LESS, MORE, sensitivity_svg


def eur(amount):
    return money(amount, "EUR")


SWINGS = (
    Swing("Labour", "labour", eur("0.80"), eur("1.20")),
    Swing("Box <of> 12", "packaging", eur("0.95"), eur("1.05")),
    Swing("Nothing", "energy", eur("1.00"), eur("1.00")),
)
SVG = "{http://www.w3.org/2000/svg}"


def test_bars_are_as_wide_as_the_swings():
    picture = ET.fromstring(sensitivity_svg(SWINGS, change_share=0.1))
    widths = [float(bar.get("width")) for bar in picture.iter(f"{SVG}rect")]
    assert len(widths) == 4  # what moves nothing is not drawn
    assert widths[0] == widths[1]
    assert abs(widths[0] / widths[2] - 4.0) < 0.01
    left, right = (float(bar.get("x")) for bar in list(picture.iter(f"{SVG}rect"))[:2])
    assert left + widths[0] == right
    assert "10 % less" in picture.find(f"{SVG}title").text
    assert "Labour: 0.80–1.20" in picture.find(f"{SVG}desc").text


def test_colours_differ_in_grey_and_stand_in_the_file():
    text = sensitivity_svg(SWINGS)
    assert "var(" not in text
    assert "var(--solid" in sensitivity_svg(SWINGS, themed=True)

    def grey(colour):
        r, g, b = (int(re.search("#(......)", colour)[1][n : n + 2], 16) for n in (0, 2, 4))
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    assert abs(grey(LESS) - grey(MORE)) > 15


def test_said_in_another_language_and_nothing_to_draw():
    text = sensitivity_svg(SWINGS, say=str.upper)
    assert "LABOUR" in text
    assert "BOX &lt;OF&gt; 12" in text
    assert sensitivity_svg(SWINGS[2:]) == ""
