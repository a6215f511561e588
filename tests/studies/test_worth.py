"""What evidence is worth: sums against numbers worked by hand, and one real kitchen."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from bloomless.estimation.answers import Band
from bloomless.estimation.evidence import rests_on
from bloomless.studies.case import CaseSpec
from bloomless.studies.worth import Told, worth_case, worth_rows


def believed(chance, width_K, form_v=(0.5, 2.0), pieces_g=40.0):
    return SimpleNamespace(
        chance_in_temper=chance,
        temperature_C=Band(31.0, 31.0 + width_K / 2, 31.0 + width_K),
        form_v_pct_of_fat=Band(form_v[0], 1.0, form_v[1]),
        seed_left_g=Band(0.0, 10.0, pieces_g),
    )


def told(what, before, after, true=True):
    return Told(what, before, after, SimpleNamespace(in_temper=true))


def test_widths_and_scores_by_hand():
    rows = {
        row["what"]: row
        for row in worth_rows(
            [
                told("look", believed(0.5, 1.0), believed(0.9, 0.8, pieces_g=10.0)),
                told("look", believed(0.5, 1.0), believed(0.1, 0.6, form_v=(1.0, 2.0), pieces_g=20.0), true=False),
                told("probe_check", believed(None, 2.0, form_v=(0.0, 0.0)), believed(0.0, 1.0), true=False),
            ]
        )
    }
    look = rows["look"]
    assert (look["count"], look["temperature"], look["pieces"]) == (2, pytest.approx(0.7), pytest.approx(0.375))
    assert look["form_v"] == pytest.approx(0.75)  # ln 4 once kept, once halved
    assert (look["brier_before"], look["brier_after"]) == (pytest.approx(0.25), pytest.approx(0.01))
    assert rows["probe_check"]["temperature"] == 0.5
    assert rows["probe_check"]["form_v"] is None
    assert "smear" not in rows


def test_an_ice_check_tells_of_the_temperature_and_a_look_of_the_pieces():
    rows = {row["what"]: row for row in worth_rows(worth_case(CaseSpec(105, 4, members=500)))}
    assert rows["probe_check"]["temperature"] < 0.8 < rows["reading"]["temperature"] <= 1.0
    assert rows["look"]["pieces"] < 0.95


def test_the_page_of_evidence_is_what_the_program_knows():
    """``python tools/write_evidence.py`` writes it anew; a number or two may have changed since."""
    page = (Path(__file__).parents[2] / "docs/explanation/evidence.md").read_text(encoding="utf-8")
    numbers = rests_on("dark")
    rows = [
        f"| {name.split('.', 1)[1].replace('_', ' ').replace('.', ', ')} | {n.value:.4g} |"
        for name, n in numbers.items()
    ]
    missing = [row for row in rows if row not in page]
    assert len(missing) <= 0.05 * len(rows), f"run python tools/write_evidence.py: {missing}"
