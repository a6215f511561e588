"""What a bench answers keeps its published schema, and an alert names the order it speaks of."""

import json

import jsonschema
import pytest

from bloomless.bench.log import BenchLog
from bloomless.bench.reply_schema import reply_definitions
from bloomless.bench.schema import bench_log_schema
from bloomless.estimation.answers import OrderName

START = {"at": 0, "what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0, "id": "s"}


def answer_of(part):
    return jsonschema.Draft202012Validator({"$ref": f"#/$defs/{part}", "$defs": bench_log_schema()["$defs"]})


def told(*lines, members=128):
    log = BenchLog(members=members)
    answers = [log.feed(json.dumps(line)) for line in (START, *lines)]
    return log, [answer for answer in answers if answer is not None]


READINGS = [{"at": at_s, "what": "reading", "temperature_C": 45.0 - at_s / 60.0} for at_s in range(10, 400, 30)]


@pytest.fixture(scope="module")
def answers():
    """A bowl nobody does anything to: asked before the start, read, asked whether it was done, gone on."""
    return told({"at": 0, "what": "ask"}, *READINGS, {"at": 401, "what": "look", "lumps": "none"})[1]


def test_every_reply_is_one_of_the_published_schema(answers):
    assert "before" in answers[0]
    assert any(answer["plan"] for answer in answers)
    for answer in answers:
        answer_of("reply").validate(answer)


def test_a_refusal_is_one_of_the_published_schema():
    refused = {"at": 5, "what": "seed", "mass_g": -1}
    unknown = {"at": 5, "what": "correct", "of": "nobody", "event": None}
    for answer in told(refused, unknown)[1]:
        answer_of("refusal").validate(answer)


def test_was_it_done_names_the_order_in_a_field_of_its_own(answers):
    given = {answer["next"]["id"]: answer["next"]["do"] for answer in answers if "id" in answer["next"]}
    alerts = [alert for answer in answers for alert in answer["alerts"]]
    asked = [alert for alert in alerts if alert["code"] == "was_it_done"]
    assert asked
    for alert in asked:
        assert given[alert["order"]["id"]] == alert["order"]["do"]
        assert alert["text"].startswith(f"The order was: {alert['order']['do'].replace('_', ' ')}.")
    assert not any("order" in alert for alert in alerts if alert["code"] != "was_it_done")


def test_was_it_done_names_the_order_in_the_python_interface():
    log, first = told({"at": 0, "what": "ask"})
    _, advice = log.bench.answer_at(160.0)
    asked = [alert for alert in advice.alerts if alert.code == "was_it_done"]
    assert [alert.order for alert in asked] == [OrderName(first[0]["next"]["id"], first[0]["next"]["do"])]


@pytest.mark.parametrize("broken", [{"order": "add_seed"}, {"order": {"id": "n1"}}, {"order": {"id": "n1", "do": "x"}}])
def test_the_schema_refuses_an_order_that_names_none(broken):
    alert = {"code": "was_it_done", "severity": "check", "text": "Was it done?", "do": ""}
    answer_of("alert").validate(alert)
    assert not answer_of("alert").is_valid(alert | broken)


def test_the_schema_says_what_every_field_of_an_answer_means():
    def unsaid(schema, path):
        for name, part in schema.get("properties", {}).items():
            if "description" not in part and "$ref" not in part:
                yield f"{path}.{name}"
            yield from unsaid(part, f"{path}.{name}")

    for name, schema in reply_definitions().items():
        jsonschema.Draft202012Validator.check_schema(schema)
        assert list(unsaid(schema, name)) == []
