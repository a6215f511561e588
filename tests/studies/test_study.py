"""A study gives one answer however it is run, goes on after a kill, and reports what happened."""

import json

import numpy as np
import pytest
from typer.testing import CliRunner

from bloomless.cli.main import app
from bloomless.errors import BloomlessError, DeviceFailure, ImpossibleInput, Misuse, StorageFailure
from bloomless.kitchens import FAULTS, Hands, World, draw_kitchen
from bloomless.studies import CaseSpec, Study, run_case, run_study, work
from bloomless.studies.advised import AdvisedCook
from bloomless.studies.benched import bench

RULES = ("taught_rule", "practised_hand")


def without_time(records):
    for record in records:
        for cook in record["cooks"].values():
            del cook["cpu_s"]
    return records


@pytest.fixture(scope="module")
def eight(tmp_path_factory):
    return without_time(run_study(Study(8, seed=3, cooks=RULES), tmp_path_factory.mktemp("one") / "k.jsonl"))


def test_the_same_on_any_number_of_jobs(eight, tmp_path):
    seen = []
    study = Study(8, seed=3, cooks=RULES)
    two = run_study(study, tmp_path / "k.jsonl", jobs=2, on_progress=lambda done, of: seen.append((done, of)))
    assert without_time(two) == eight
    assert seen[0] == (0, 8)
    assert seen[-1] == (8, 8)


def test_goes_on_after_a_kill(eight, tmp_path):
    path = tmp_path / "k.jsonl"
    study = Study(8, seed=3, cooks=RULES)
    run_study(study, path)
    lines = path.read_text().splitlines()
    path.write_text("\n".join(lines[:4]) + "\n" + lines[4][:37])  # killed while it wrote
    assert without_time(run_study(study, path)) == eight
    assert len(path.read_text().splitlines()) == 9


def test_the_same_on_a_cluster(eight, tmp_path):
    from distributed import LocalCluster

    with LocalCluster(n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None) as cluster:
        there = run_study(Study(8, seed=3, cooks=RULES), tmp_path / "k.jsonl", scheduler=cluster.scheduler_address)
    assert without_time(there) == eight


def test_a_cluster_that_is_not_there_is_named(tmp_path):
    with pytest.raises(DeviceFailure, match="No scheduler"):
        run_study(Study(1, cooks=RULES), tmp_path / "k.jsonl", scheduler="carrier-pigeon://roof")


def test_a_kitchen_that_breaks_is_named_and_the_others_are_kept(eight, tmp_path, monkeypatch):
    played = work.run_case

    def breaking(spec, bench):
        return next(iter(())) if spec.number == 2 else played(spec, bench)

    path = tmp_path / "k.jsonl"
    monkeypatch.setattr(work, "run_case", breaking)
    with pytest.raises(BloomlessError, match="Kitchen 2 of seed 3 broke: StopIteration"):
        run_study(Study(8, seed=3, cooks=RULES), path)
    monkeypatch.undo()
    assert without_time(run_study(Study(8, seed=3, cooks=RULES), path)) == eight


def test_a_study_may_grow_but_not_become_another(eight, tmp_path):
    path = tmp_path / "k.jsonl"
    run_study(Study(3, seed=3, cooks=RULES), path)
    assert without_time(run_study(Study(8, seed=3, cooks=RULES), path)) == eight
    with pytest.raises(StorageFailure):
        run_study(Study(8, seed=4, cooks=RULES), path)


def test_a_cook_left_out_changes_nothing_for_the_others(eight):
    alone = run_case(CaseSpec(3, 5, cooks=("practised_hand",)), bench)
    del alone["cooks"]["practised_hand"]["cpu_s"]
    assert alone["cooks"]["practised_hand"] == eight[5]["cooks"]["practised_hand"]


def test_impossible_studies_are_refused():
    with pytest.raises(ImpossibleInput):
        Study(0)
    with pytest.raises(ImpossibleInput):
        Study(3, faults=("flood",))


def test_full_knowledge_is_the_best_of_all_rules():
    ended = [run_case(CaseSpec(11, i, cooks=("full_knowledge",)), bench)["cooks"]["full_knowledge"] for i in range(5)]
    assert all(e["success"] for e in ended)


class Script:
    """An adviser that reads its orders from a list, one after the other is done, and keeps what it was told."""

    def __init__(self, orders, alerts=()):
        self.orders = [{"id": f"n{i}", **order} for i, order in enumerate(orders)]
        self.alerts = [{"code": code} for code in alerts]
        self.told = []
        self.readings = 0

    def take(self, line):
        self.told.append(line)
        if line["what"] not in {"reading", "look", "smear", "ask"}:
            return None
        self.readings += line["what"] == "reading"
        order = self.orders[min(self.readings // 3, len(self.orders) - 1)]
        band = {"p05": 30.0, "p50": 31.0, "p95": 32.0}
        return {"chance_in_temper": 0.5, "temperature_C": band, "next": order, "alerts": self.alerts}


def advised(orders, seed=1, fault=None, alerts=()):
    chances = [np.random.Generator(np.random.Philox(np.random.SeedSequence([seed, i]))) for i in range(2)]
    hands = Hands(World.begin(draw_kitchen(chances[0], "dark", fault), chances[1]))
    cook = AdvisedCook(hands, Script(orders, alerts), foresee_C=lambda minutes: (31.0, 31.0 - 0.1 * minutes))
    return cook, cook.work()


EVERY_ORDER = [
    {"do": "microwave", "watts": 700, "seconds": 5},
    {"do": "pour_over"},
    {"do": "cool_bath", "bath_C": 18.0, "seconds": 20},
    {"do": "add_seed", "mass_g": 50, "size_mm": 3},
    {"do": "look"},
    {"do": "smear", "surface": "steel"},
    {"do": "warm_bath", "bath_C": 45.0, "seconds": 20},
    {"do": "add_melt", "mass_g": 40, "temperature_C": 38.0},
    {"do": "hot_air", "watts": 1500, "seconds": 10},
    {"do": "table", "share": 0.2, "seconds": 30},
    {"do": "sieve"},
    {"do": "check_thermometer", "method": "ice"},
    {"do": "stir", "vigour": "brisk"},
    {"do": "heat_on", "to_C": 34.0, "by": "warm_bath"},
    {"do": "use_it"},
]


def test_the_advised_cook_obeys_each_order_once_and_says_what_was_done():
    cook, ended = advised(EVERY_ORDER)
    assert [do for _, do in cook.obeyed] == [order["do"] for order in EVERY_ORDER]
    told = [line["what"] for line in cook.adviser.told]
    for what in ("pour", "seed", "add", "table", "sieve", "probe_check", "smear", "stir"):
        assert what in told
    assert told[0] == "start"
    assert ended.used
    assert ended.actions == 11 + told.count("warm_bath") - 1  # heating on takes several baths
    assert all(a["at"] <= b["at"] for a, b in zip(cook.adviser.told, cook.adviser.told[1:], strict=False))


def test_no_cook_puts_metal_into_a_microwave_oven():
    cook, _ = advised([{"do": "microwave", "watts": 700, "seconds": 5}, {"do": "use_it"}], seed=2)
    assert cook.hands.vessel.material == "steel"
    assert "microwave" not in {line["what"] for line in cook.adviser.told}
    with pytest.raises(Misuse):
        cook.hands.burst("microwave", 700.0, 5.0)


def test_the_clock_starts_at_the_first_pour_seed_or_cold_bath():
    cook, ended = advised([{"do": "look"}, {"do": "look"}, {"do": "add_seed", "mass_g": 40}, {"do": "use_it"}])
    seeded_s = next(line["at"] for line in cook.adviser.told if line["what"] == "seed")
    assert ended.minutes == pytest.approx((cook.obeyed[-1][0] - seeded_s) / 60, abs=0.01)


def test_stop_ends_without_use():
    _, ended = advised([{"do": "stop"}])
    assert not ended.used
    assert not ended.success


PLAIN = [{"do": "add_seed", "mass_g": 60}, *[{"do": "stir"}] * 40, {"do": "use_it"}]


def readings(cook):
    return [line["temperature_C"] for line in cook.adviser.told if line["what"] == "reading"]


@pytest.mark.parametrize("fault", FAULTS)
def test_every_fault_happens_in_the_world_and_not_in_the_log(fault):
    cook, _ = advised(PLAIN, seed=2, fault=fault)
    clean, _ = advised(PLAIN, seed=2)
    if fault == "water_in":
        assert 0.0 == clean.hands.world.truth().water_share < cook.hands.world.truth().water_share < 0.005
    else:
        assert readings(cook) != readings(clean)
    assert sum(line["what"] == "seed" for line in cook.adviser.told) == 1
    assert not any(line["what"] in {"water", "correct"} for line in cook.adviser.told)


@pytest.mark.parametrize(
    ("fault", "alert"), [("fahrenheit", "fahrenheit_as_celsius"), ("probe_lifted", "probe_on_the_wall")]
)
def test_an_alert_makes_the_cook_put_it_right(fault, alert):
    cook, _ = advised(PLAIN, seed=2, fault=fault, alerts=[alert])
    assert cook.hands.world.noticed
    assert cook.adviser.told[-2]["temperature_C"] < 60.0


@pytest.mark.parametrize(("fault", "what"), [("seed_not_added", "correct"), ("seed_not_logged", "seed")])
def test_asked_about_seed_the_cook_owns_up(fault, what):
    cook, _ = advised(PLAIN, seed=2, fault=fault, alerts=["was_it_done"])
    told = [line["what"] for line in cook.adviser.told]
    assert told.count("correct") == (what == "correct")
    # Seed that never went in goes in when the same order is shown again; seed that went in unsaid is told.
    assert told.count("seed") == 2


def test_the_command_writes_records_and_report(tmp_path):
    arguments = ["study", "--kitchens", "6", "--jobs", "1", "--cooks", ",".join(RULES), "--faults", "all"]
    done = CliRunner().invoke(app, [*arguments, "--out", str(tmp_path), "--json"])
    assert done.exit_code == 0, done.output
    printed = json.loads(done.stdout[done.stdout.index('{"study"') :])
    assert printed["summary"]["all"]["kitchens"] == 6
    assert len(printed["summary"]["by_fault"]) == 6
    page = (tmp_path / "study.html").read_text()
    assert "<svg" in page
    assert "practised hand" in page
    assert json.loads((tmp_path / "study.json").read_text())["summary"] == printed["summary"]
    again = CliRunner().invoke(app, [*arguments, "--out", str(tmp_path)])
    assert "practised hand" in again.stdout


@pytest.mark.parametrize("bad", [["--kind", "ruby"], ["--faults", "flood"], ["--cooks", "ghost"]])
def test_the_command_refuses_what_it_does_not_know(bad, tmp_path):
    done = CliRunner().invoke(app, ["study", "--kitchens", "1", "--out", str(tmp_path), *bad])
    assert isinstance(done.exception, ImpossibleInput)


def test_the_advised_cook_at_a_real_bench_is_graded():
    spec = CaseSpec(5, 0, "dark", cooks=("advised",), members=64, wrong_constants=True)
    record = run_case(spec, bench)["cooks"]["advised"]
    assert record["estimates"]["temperature_C"]["replies"] > 10
    assert all(0.0 <= chance <= 1.0 and true in (0, 1) for chance, true in record["chances"])
    assert all(len(row) == 4 and abs(row[0] - row[2]) < 5.0 for row in record["ahead"])
    assert record["ahead"]
    effective, ancestors = record["variety"]
    assert 0.1 <= effective <= 1.0
    assert round(1 / 64, 4) <= ancestors < 1.0  # as it is written down
    assert json.loads(json.dumps(record)) == record


def test_wrong_constants_are_wrong_and_keep_their_spread():
    from bloomless.studies.benched import wrong_priors

    usual = wrong_priors(np.random.Generator(np.random.Philox(1)), "dark")
    other = wrong_priors(np.random.Generator(np.random.Philox(2)), "dark")
    assert usual.growth_hold.value != other.growth_hold.value
    assert usual.growth_hold.spread == other.growth_hold.spread
    assert 0.05 <= other.seed_quality.value <= 1.0
