"""Running many kitchens: on the cores of this machine or on a Dask cluster, resumable, one JSON line a kitchen."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict, dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any, TypeVar

from bloomless.errors import BloomlessError, DeviceFailure, ImpossibleInput, StorageFailure
from bloomless.kitchens import FAULTS
from bloomless.studies.advised import Adviser
from bloomless.studies.benched import bench
from bloomless.studies.case import COOKS, CaseSpec, run_case

__all__ = ["Study", "done_records", "each", "each_named", "run_study"]

Bench = Callable[[CaseSpec, str, int], Adviser]
NamedCase = Callable[[str, CaseSpec, Bench], dict[str, Any]]
Case = TypeVar("Case")
Record = TypeVar("Record")
RECORD = 5
"""Edition of the record of a kitchen: records of another edition are not gone on with."""


@dataclass(frozen=True, slots=True)
class Study:
    """What a study runs.

    Parameters
    ----------
    kitchens
        How many.
    seed
        Of the study; kitchen ``i`` of a seed is the same in every study, however many there are.
    kind
        One kind of chocolate, or ``None`` for the mix.
    faults
        ``()`` none; names of faults, dealt to the kitchens in turn.
    """

    kitchens: int
    seed: int = 1
    kind: str | None = None
    faults: tuple[str, ...] = ()
    cooks: tuple[str, ...] = COOKS
    wrong_constants: bool = False
    members: int | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.kitchens <= 1_000_000:
            raise ImpossibleInput("kitchens", self.kitchens, "1 to 1,000,000")
        unknown = set(self.faults) - set(FAULTS)
        if unknown:
            raise ImpossibleInput("faults", ",".join(sorted(unknown)), f"all, or of {', '.join(FAULTS)}")

    def cases(self) -> Iterator[CaseSpec]:
        """The kitchens in order."""
        for number in range(self.kitchens):
            fault = self.faults[number % len(self.faults)] if self.faults else None
            yield CaseSpec(self.seed, number, self.kind, fault, self.cooks, self.wrong_constants, self.members)

    @property
    def setting(self) -> dict[str, Any]:
        """What must be the same for records to belong together; the number of kitchens may grow."""
        setting = json.loads(json.dumps(asdict(self)))
        del setting["kitchens"]
        setting["record"] = RECORD
        return dict(setting)


def _run(spec: CaseSpec) -> dict[str, Any]:
    """One kitchen; what breaks in it is a defect and is named with its kitchen, never passed over."""
    try:
        return run_case(spec, bench)
    except Exception as error:
        text = f"Kitchen {spec.number} of seed {spec.seed} broke: {error!r}. The kitchens before it are kept."
        raise BloomlessError(text, code="kitchen_broke") from error


def done_records(path: Path, study: Study) -> list[dict[str, Any]]:
    """Records of an earlier, interrupted run; a half-written last line is dropped and run again.

    Raises
    ------
    StorageFailure
        If the file holds kitchens of another study.
    """
    if not path.exists():
        return []
    lines = path.read_text(encoding="utf-8").splitlines()
    kept: list[dict[str, Any]] = []
    for line in lines[1:]:
        try:
            kept.append(json.loads(line))
        except ValueError:
            break
    if lines and _setting(lines[0]) != study.setting:
        raise StorageFailure(f"{path} holds another study; choose another directory or remove it")
    head = [json.dumps({"study": study.setting})]
    path.write_text("\n".join(head + [json.dumps(record) for record in kept]) + "\n", encoding="utf-8")
    return [record for record in kept if record["number"] < study.kitchens]


def _setting(line: str) -> Any:
    try:
        return json.loads(line).get("study")
    except ValueError:
        return None


def run_study(
    study: Study,
    path: Path,
    *,
    jobs: int = 1,
    scheduler: str | None = None,
    on_progress: Callable[[int, int], None] | None = None,
) -> list[dict[str, Any]]:
    """Run what is not done yet and return all records, sorted.

    Parameters
    ----------
    study
        What to run.
    path
        File of records, JSON Lines, appended to as kitchens end: a killed run goes on where it stopped.
    jobs
        Processes on this machine.
    scheduler
        Address of a Dask scheduler, to run there instead.
    on_progress
        Called with kitchens done and all kitchens.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    records = done_records(path, study)
    have = {record["number"] for record in records}
    todo = [case for case in study.cases() if case.number not in have]
    if not path.exists():
        path.write_text(json.dumps({"study": study.setting}) + "\n", encoding="utf-8")
    report = on_progress or _silent
    report(len(records), study.kitchens)
    with path.open("a", encoding="utf-8") as file:
        for record in _results(todo, jobs, scheduler):
            file.write(json.dumps(record) + "\n")
            file.flush()
            records.append(record)
            report(len(records), study.kitchens)
    return sorted(records, key=lambda record: record["number"])


def _silent(done: int, of: int) -> None:
    """Tell nobody."""
    del done, of


def _results(todo: Sequence[CaseSpec], jobs: int, scheduler: str | None) -> Iterator[dict[str, Any]]:
    if scheduler is not None:
        yield from _on_cluster(todo, scheduler)
    else:
        yield from each(_run, todo, jobs)


def each(function: Callable[[Case], Record], todo: Sequence[Case], jobs: int) -> Iterator[Record]:
    """The results of a function of the module level for all cases, as they come, on so many processes."""
    if jobs == 1 or len(todo) <= 1:
        yield from map(function, todo)
    else:
        yield from _in_processes(function, todo, jobs)


def _named(case: NamedCase, bench: Bench, which: tuple[str, CaseSpec]) -> tuple[str, dict[str, Any]]:
    name, spec = which
    return name, case(name, spec, bench)


def each_named(
    case: NamedCase, bench: Bench, names: Sequence[str], kitchens: int, seed: int, *, jobs: int
) -> dict[str, list[dict[str, Any]]]:
    """Records of so many kitchens of a seed under each name: a way of tempering, a trouble.

    Parameters
    ----------
    case
        A function of the module level: name, kitchen and ``bench`` → record.
    bench
        Makes an adviser for a case, its kind of chocolate and a seed.
    """
    todo = [(name, CaseSpec(seed, number)) for name in names for number in range(kitchens)]
    records: dict[str, list[dict[str, Any]]] = {name: [] for name in names}
    for name, record in each(partial(_named, case, bench), todo, jobs):
        records[name].append(record)
    return records


def _in_processes(function: Callable[[Case], Record], todo: Sequence[Case], jobs: int) -> Iterator[Record]:
    # One kitchen is one thread's work: compiled code that makes threads of its own would only get in the way.
    threads = os.environ.get("NUMBA_NUM_THREADS")
    os.environ["NUMBA_NUM_THREADS"] = "1"
    try:
        with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
            waiting = [pool.submit(function, case) for case in todo]
            try:
                for done in as_completed(waiting):
                    yield done.result()
            except BaseException:
                pool.shutdown(wait=False, cancel_futures=True)
                raise
    finally:
        if threads is None:
            del os.environ["NUMBA_NUM_THREADS"]
        else:
            os.environ["NUMBA_NUM_THREADS"] = threads


def _on_cluster(todo: Sequence[CaseSpec], scheduler: str) -> Iterator[dict[str, Any]]:
    try:
        from distributed import Client
        from distributed import as_completed as as_completed_on_cluster
    except ImportError:
        raise StorageFailure("a cluster needs the extra 'cluster': pip install 'bloomless[cluster]'") from None
    try:
        client = Client(scheduler, timeout=10)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise DeviceFailure(f"No scheduler answers at {scheduler}: {error}.") from error
    with client:
        # Keys are made anew each time: the cluster must not hand out results of another version of the program.
        for done in as_completed_on_cluster(client.map(_run, todo, pure=False)):  # type: ignore[no-untyped-call]
            yield done.result()
