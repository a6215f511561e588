"""The one table of alerts and the priors: complete, graded, named where they come from."""

import pytest

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.estimation import alerts
from bloomless.estimation.priors import prior, prior_table
from bloomless.sources.sourced import Grade


def test_every_alert_says_what_to_do():
    for code, known in alerts.alert_table().items():
        assert known.text.endswith((".", "?"))
        assert known.do.endswith((".", "?"))
        assert code == code.lower()


def test_a_detail_stands_before_the_sentence():
    plain, detailed = alerts.alert("scorched"), alerts.alert("scorched", "It read 55 °C.")
    assert detailed.text == f"It read 55 °C. {plain.text}"
    assert detailed.severity == "stop"
    with pytest.raises(UnknownName):
        alerts.alert("nonsense")


def test_a_wrong_severity_in_the_table_is_refused(monkeypatch):
    rows = ({"code": "a", "severity": "loud", "sentence": "B.", "do": "C."},)
    monkeypatch.setattr(alerts, "read_csv", lambda *_: rows)
    alerts.alert_table.cache_clear()
    with pytest.raises(ImpossibleInput):
        alerts.alert_table()
    alerts.alert_table.cache_clear()


def test_priors_are_graded():
    assert all(value.grade in Grade for value in prior_table().values())
    assert prior("tail_freedom") == 4.0
