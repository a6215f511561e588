"""The bench on screen: first paint, latency, thirty bowls, twelve browsers, memory, kills, commits, reopening.

Runs the served program as a user has it, in a process of its own, and real Chromium in front of it.

python benchmarks/bench_screen.py            everything (some ten minutes)
python benchmarks/bench_screen.py --quick    within a minute or so, fewer repetitions
"""

from __future__ import annotations

import asyncio
import http.client
import json
import os
import random
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import httpx

from report import Figure, at_least, at_most, main

sys.path.append(str(Path(__file__).resolve().parents[1] / "tests"))  # the tests' own servers and browser
START = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0}
API = "api/v1/benches"


def post_json(url: str, body: object) -> dict:
    """POST and the answer; raises for an error."""
    request = urllib.request.Request(url, json.dumps(body).encode(), {"content-type": "application/json"})
    with urllib.request.urlopen(request, timeout=30) as answer:
        return json.load(answer)


def p99(values: list[float]) -> float:
    return sorted(values)[min(len(values) - 1, int(0.99 * len(values)))]


@contextmanager
def served(folder: Path, port: int = 0) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """The program as a person starts it."""
    command = [sys.executable, "-m", "bloomless", "serve", "--port", str(port), "--data", str(folder)]
    environment = {name: value for name, value in os.environ.items() if name != "BLOOMLESS_DATABASE_URL"}
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        assert process.stdout is not None
        yield process.stdout.readline().split(" at ")[1].strip().replace("localhost", "127.0.0.1"), process
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGINT)
            process.wait(30)
        process.stdout.close()


def begin(url: str, name: str) -> str:
    return str(post_json(url + API, START | {"id": name})["bench"])


def cooled(url: str, bench: str, minutes: float, every_s: float = 5.0) -> float:
    """A bowl that cooled for a while; gives the last temperature."""
    temperature_C, events = 45.0, f"{url}{API}/{bench}/events"
    for i in range(1, int(minutes * 60 / every_s)):
        temperature_C = max(31.5, temperature_C - 0.018 * every_s)
        post_json(events, {"what": "reading", "temperature_C": round(temperature_C, 1), "at": every_s * i})
    return temperature_C


# ---------------------------------------------------------------- one browser
def first_paint(browser, url: str, bench: str, times: int) -> Iterator[Figure]:
    paints, weights = [], []
    for _ in range(times):
        context = browser.new_context(viewport={"width": 768, "height": 1024})  # a new one has an empty cache
        page = context.new_page()
        wire = context.new_cdp_session(page)
        wire.send("Network.enable")
        parts: list[float] = []
        wire.on("Network.loadingFinished", lambda event, parts=parts: parts.append(event["encodedDataLength"]))
        page.add_init_script(
            "new MutationObserver((_, o) => { if (document.querySelector('#chart path.median')) { o.disconnect();"
            " requestAnimationFrame(() => { window.drawn = performance.now(); }); } })"
            ".observe(document, {childList: true, subtree: true});"
        )
        page.goto(f"{url}bench/{bench}", wait_until="load")
        page.wait_for_function("window.drawn")
        paints.append(page.evaluate("window.drawn") / 1000)
        page.wait_for_timeout(300)
        weights.append(sum(parts) / 1000)
        context.close()
    yield at_most("first paint of Bench with its chart, cold cache, median", statistics.median(paints), "s", 0.8)
    yield at_most("Bench with its chart, cold cache: over the wire", max(weights), "kB", 200)


def latency(browser, url: str, bench: str, times: int) -> Iterator[Figure]:
    """From the tap on Enter to the advice of that reading on screen."""
    page = browser.new_page(viewport={"width": 768, "height": 1024})
    page.add_init_script("""
      const Real = EventSource; window.advised = [];
      window.EventSource = class extends Real { addEventListener(kind, take) {
        super.addEventListener(kind, kind !== 'advice' ? take : (m) => { take(m);
          requestAnimationFrame(() => window.advised.push([JSON.parse(m.data).number, performance.now()])); }); } };
      const send = window.fetch; window.sent = [];
      window.fetch = async (...a) => { const at = performance.now(), r = await send(...a);
        if (String(a[0]).endsWith('/events')) window.sent.push([(await r.clone().json()).number, at]);
        return r; };""")
    page.goto(f"{url}bench/{bench}")
    page.wait_for_timeout(1500)
    for i in range(times):
        page.locator("#type").click()
        page.keyboard.type(f"{44.9 - 0.1 * (i // 4):.1f}")
        page.keyboard.press("Enter")
        page.wait_for_timeout(400)
    page.wait_for_timeout(1500)
    sent, advised = page.evaluate("[window.sent, window.advised]")
    waits = [min((at for n, at in advised if n >= number), default=tap + 9999) - tap for number, tap in sent]
    page.close()
    yield at_most("reading typed → new advice on screen, median", statistics.median(waits), "ms", 300)
    yield at_most("reading typed → new advice on screen, p99", p99(waits), "ms", 600)


def twelve(browser, url: str, bench: str, seconds: int) -> Iterator[Figure]:
    """Twelve browsers on one bowl: how late the last of them shows a reading."""
    contexts = [browser.new_context(bypass_csp=True) for _ in range(12)]  # polling evaluates text
    pages = [context.new_page() for context in contexts]
    for page in pages:
        page.goto(f"{url}bench/{bench}")
    pages[0].wait_for_timeout(1000)
    late = []
    for i in range(seconds):
        shown = f"{31.0 + 0.1 * (i % 7):.1f}"
        began = time.perf_counter()
        post_json(f"{url}{API}/{bench}/events", {"what": "reading", "temperature_C": float(shown)})
        for page in pages:
            page.wait_for_function(f"document.getElementById('degrees').textContent === '{shown}'", polling=20)
        late.append(time.perf_counter() - began)
        pages[0].wait_for_timeout(max(0, 1000 - 1000 * late[-1]))
    for context in contexts:
        context.close()
    yield at_most("12 browsers on one bowl: last one shows a reading after, p99", 1000 * p99(late), "ms", 1000)


def memory(browser, url: str, readings: int) -> Iterator[Figure]:
    """A page that saw every reading of a two-hour bench at one a second, here told as fast as they are taken."""
    bench = begin(url, "memory")
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{url}bench/{bench}")
    events = f"{url}{API}/{bench}/events"
    with httpx.Client(timeout=30) as client:
        for i in range(1, readings):
            shown = round(max(31.4, 45 - 0.01 * i), 2)
            client.post(events, json={"what": "reading", "temperature_C": shown, "at": float(i)})
            if i % 100 == 0:
                page.wait_for_timeout(20)
    page.wait_for_timeout(1500)
    assert page.locator("#degrees").text_content() != "45.0"
    wire = context.new_cdp_session(page)
    wire.send("HeapProfiler.collectGarbage")
    heap = wire.send("Runtime.getHeapUsage")["usedSize"] / 1e6
    total = sum(_rss_MB(pid) for pid in _renderers())
    context.close()
    yield at_most(f"browser after {readings} readings on one page: heap", heap, "MB", 300)
    yield at_most(f"browser after {readings} readings on one page: whole process", total, "MB", 300)


def _renderers() -> list[int]:
    """The renderer processes of our own browser: the one with the most memory is the page's."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                words = (entry / "cmdline").read_bytes()
            except OSError:
                continue
            if b"--type=renderer" in words and _descends(int(entry.name), os.getpid()):
                found.append(int(entry.name))
    return sorted(found, key=_rss_MB)[-1:]


def _descends(pid: int, ancestor: int) -> bool:
    while pid > 1:
        if pid == ancestor:
            return True
        try:
            pid = int(Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[1])
        except (OSError, IndexError):
            return False
    return False


def _rss_MB(pid: int) -> float:
    try:
        status = Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return 0.0
    return float(next(line.split()[1] for line in status.splitlines() if line.startswith("VmRSS"))) / 1000


# ---------------------------------------------------------------- many bowls
def thirty(url: str, seconds: int) -> Iterator[Figure]:
    """Thirty bowls, one reading a second each: when the estimate of a reading is on the stream."""
    benches = [begin(url, f"thirty-{i}") for i in range(30)]
    told: dict[tuple[str, int], float] = {}
    late: list[float] = []

    async def hear(client: httpx.AsyncClient) -> None:
        query = "&".join(f"bench={bench}" for bench in benches)
        async with client.stream("GET", f"{url}api/v1/live?{query}", timeout=None) as stream:
            kind, number = "", 0
            async for line in stream.aiter_lines():
                if line.startswith("event: "):
                    kind = line[7:]
                elif line.startswith("id: "):
                    number = int(line[4:])
                elif line.startswith("data: ") and kind == "state":
                    bench = line[16 : 16 + line[16:].index('"')]
                    key = (bench, number)
                    if key in told:
                        late.append(time.perf_counter() - told.pop(key))

    async def tell(client: httpx.AsyncClient, bench: str, shift: float) -> None:
        await asyncio.sleep(shift)
        began = time.perf_counter()
        for i in range(seconds):
            at = time.perf_counter()
            body = {"what": "reading", "temperature_C": round(45 - 0.02 * i, 2), "at": float(i + 1)}
            # The number a reading will get is known: one writer a bowl, so it can be noted before it is sent.
            told[bench, i + 2] = at
            await client.post(f"{url}{API}/{bench}/events", json=body, timeout=30)
            await asyncio.sleep(max(0.0, began + i + 1 - time.perf_counter()))

    async def run() -> None:
        limits = httpx.Limits(max_connections=80)
        async with httpx.AsyncClient(limits=limits) as client:
            hearing = asyncio.create_task(hear(client))
            await asyncio.sleep(0.5)
            await asyncio.gather(*(tell(client, bench, i / 30) for i, bench in enumerate(benches)))
            await asyncio.sleep(1.5)
            hearing.cancel()

    asyncio.run(run())
    yield at_most("30 bowls × 1 Hz: reading sent → estimate on the stream, worst", max(late), "s", 1.0)
    middle, high = 1000 * statistics.median(late), 1000 * p99(late)
    yield Figure("30 bowls × 1 Hz: reading sent → estimate on the stream, median", middle, "ms", "", None)
    yield Figure("30 bowls × 1 Hz: reading sent → estimate on the stream, p99", high, "ms", "", None)
    # Bursts may share one piece of news; a reading that was never followed by news of its number counts as missing.
    yield at_least("30 bowls × 1 Hz: readings with news of their own", len(late) / (30 * seconds), "", 0.95)


def two_hours(folder: Path, readings: int) -> Iterator[Figure]:
    """A bench of two hours at one reading a second: how long it takes to reopen after a kill, and then to correct."""
    from bloomless.assembly import open_house, places
    from bloomless.assembly.bowls import Bowls
    from bloomless.assembly.working import BenchMaker

    house = open_house(places(folder, {}))
    bowls = Bowls(house, BenchMaker())
    bowl, future = bowls.begin(START, "two hours")
    future.result()
    for i in range(1, readings):
        body = {"what": "reading", "temperature_C": round(max(31.4, 45 - 0.01 * i), 2), "at": float(i)}
        future = bowl.tell(body, f"r{i}")
        if i % 50 == 0:
            future.result()
    future.result()
    bowl.ensured_advice()
    time.sleep(1)
    bowls.workers.close()  # as if killed: what was not snapshotted has to be replayed
    reopened: list[float] = []
    corrected: dict[int, list[float]] = {60: [], 300: [], 1500: []}
    told = 0
    for ago_s in corrected:
        for _ in range(3):
            again = Bowls(house, BenchMaker())
            began = time.perf_counter()
            found = again.get(bowl.name)
            reopened.append(time.perf_counter() - began)
            assert found.number == readings + told
            fix = {"what": "correct", "of": f"r{max(1, readings - ago_s + told)}", "event": None, "at": float(readings)}
            told += 1
            found.tell(fix, f"fix {told}").result()
            corrected[ago_s].append(time.perf_counter() - began)
            found.keep()  # the next one shall find this bench as a server would leave it
            again.workers.close()
    house.close()
    yield at_most(f"a bench of {readings} events reopens", statistics.median(reopened), "s", 1.0)
    for ago_s, spent in corrected.items():
        name = f"… reopens and takes back what was told {ago_s / 60:.0f} min ago"
        limit = 1.0 if ago_s <= 300 else None
        seconds = statistics.median(spent)
        yield at_most(name, seconds, "s", limit) if limit else Figure(name, seconds, "s", "", None)


# ---------------------------------------------------------------- safety of what was told
def killed(times: int) -> Iterator[Figure]:
    """kill -9 at random moments under load: acknowledged events that are missing afterwards."""
    chance = random.Random(5)
    acknowledged: dict[str, set[str]] = {}
    with tempfile.TemporaryDirectory() as folder:
        for run in range(times):
            with served(Path(folder)) as (url, process):
                benches = [begin(url, f"kill-{run}-{i}") for i in range(4)]
                over = threading.Event()

                def load(bench: str, url: str = url, over: threading.Event = over) -> None:
                    for i in range(100_000):
                        if over.is_set():
                            return
                        event = {"what": "reading", "temperature_C": 40, "at": float(i), "id": f"k{i}"}
                        try:
                            post_json(f"{url}{API}/{bench}/events", event)
                        except (OSError, http.client.HTTPException):
                            return
                        acknowledged.setdefault(bench, set()).add(f"k{i}")

                threads = [threading.Thread(target=load, args=(bench,)) for bench in benches]
                for thread in threads:
                    thread.start()
                time.sleep(chance.uniform(0.05, 0.8))
                process.kill()
                process.wait()
                over.set()
                for thread in threads:
                    thread.join()
        from bloomless.assembly import open_house, places

        house = open_house(places(Path(folder), {}))
        missing = sum(len(ids - {e.id for e in house.log.events(bench)}) for bench, ids in acknowledged.items())
        house.close()
    total = sum(len(ids) for ids in acknowledged.values())
    yield at_most(f"acknowledged events missing after {times} kills ({total} acknowledged)", missing, "", 0)


def commits(times: int) -> Iterator[Figure]:
    """One event, one commit, flushed."""
    from bloomless.storage import StoredEventLog, open_database
    from services.postgres import new_database, postgres_server

    def measure(where: Path | str) -> list[float]:
        engine = open_database(where)
        log, spent = StoredEventLog(engine), []
        for i in range(times):
            event = {"what": "reading", "temperature_C": 31.4, "at": float(i), "id": str(i)}
            began = time.perf_counter()
            log.append("s", event, event_id=str(i), at=datetime.now(UTC))
            spent.append(1000 * (time.perf_counter() - began))
        engine.dispose()
        return spent

    with tempfile.TemporaryDirectory() as folder, postgres_server(durable=True) as postgres:
        sqlite, server = measure(Path(folder) / "a.sqlite"), measure(new_database(postgres))
    yield Figure("event commit on SQLite (WAL, FULL), median", statistics.median(sqlite), "ms", "", None)
    yield Figure("event commit on SQLite (WAL, FULL), p99", p99(sqlite), "ms", "", None)
    yield Figure("event commit on PostgreSQL (fsync on), median", statistics.median(server), "ms", "", None)
    yield Figure("event commit on PostgreSQL (fsync on), p99", p99(server), "ms", "", None)
    yield Figure(
        "event commit: PostgreSQL over SQLite, median",
        statistics.median(server) / statistics.median(sqlite),
        "×",
        "",
        None,
    )


def measure(quick: bool) -> Iterator[Figure]:
    """Everything, cheapest first."""
    from playwright.sync_api import sync_playwright

    from services.web import CHROMIUM

    yield from commits(200 if quick else 2000)
    with tempfile.TemporaryDirectory() as folder:
        yield from two_hours(Path(folder), 600 if quick else 7200)
        with served(Path(folder)) as (url, _):
            bench = begin(url, "paint")
            cooled(url, bench, 15)
            with sync_playwright() as player:
                browser = player.chromium.launch(executable_path="/usr/bin/chromium", args=CHROMIUM)
                yield from first_paint(browser, url, bench, 3 if quick else 9)
                yield from latency(browser, url, begin(url, "latency"), 10 if quick else 100)
                yield from memory(browser, url, 600 if quick else 7200)
                yield from twelve(browser, url, begin(url, "twelve"), 4 if quick else 20)
                browser.close()
            yield from thirty(url, 8 if quick else 60)
    yield from killed(2 if quick else 50)


if __name__ == "__main__":
    main(measure, __doc__)
