"""How screens look, for every page family: sizes, targets, axe, words, and a picture of each."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from axe_playwright_python.sync_playwright import Axe

from services.web import OUT, SIZES

_TARGETS = "button, summary, select, .choice, .button, .tile, .row-link, .entry input, textarea"
_SMALL_TARGETS = f"""() => [...document.querySelectorAll('{_TARGETS}')]
  .filter(e => e.checkVisibility() && !e.closest('[hidden]'))
  .map(e => [e.textContent.trim().slice(0, 40), e.getBoundingClientRect()])
  .filter(([, r]) => r.width && (r.height < 47.5 || r.width < 47.5))
  .map(([t, r]) => `${{t}} ${{r.width}}x${{r.height}}`)"""
_TOO_WIDE = """() => { const most = document.documentElement.clientWidth;
  return document.documentElement.scrollWidth <= most ? [] : [...document.body.querySelectorAll('*')]
    .filter(e => e.getBoundingClientRect().right > most + 1).map(e => e.outerHTML.slice(0, 120)).slice(-3); }"""
_CUT_OFF = """() => [...document.querySelectorAll('button, .button, .tile, .choice span, summary, h1, h2')]
  .filter(e => e.checkVisibility() && getComputedStyle(e).overflow === 'visible' && e.clientWidth
    && e.scrollWidth > e.clientWidth + 2).map(e => e.outerHTML.slice(0, 120))"""
# Words a person wrote stand in [data-own], titles of English works in [lang=en].
_SHOWN = """() => { const found = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) { const e = walk.currentNode.parentElement;
    if (e.checkVisibility() && !e.closest('script, style, code, [data-own], [lang=en]:not(html)'))
      found.push(walk.currentNode.textContent.trim()); }
  for (const e of document.querySelectorAll('[aria-label], [placeholder], [title]'))
    if (!e.closest('[data-own], [lang=en]:not(html)'))
      found.push(e.getAttribute('aria-label') ?? e.getAttribute('placeholder') ?? e.getAttribute('title'));
  return found.filter(Boolean); }"""
_ENGLISH = re.compile(r"\b(the|of|and|with|is|are|this|that|from|it|its|which|when|you|your|than|has)\b", re.IGNORECASE)


# Before a page is judged it must have drawn: what it asked for is there, its letters too, and for a tenth of a second
# nothing has changed. A page that never rests (a clock runs on it) is judged after two seconds.
_NOTICE = """(() => {
  let asked = 0, changed = performance.now();
  const plain = window.fetch;
  window.fetch = (...what) => {
    const answer = plain(...what), over = () => { asked -= 1; changed = performance.now(); };
    asked += 1;
    answer.then(a => a.clone().arrayBuffer()).then(over, over);
    return answer; };
  new MutationObserver(() => { changed = performance.now(); })
    .observe(document, { subtree: true, childList: true, attributes: true, characterData: true });
  window.hasDrawn = () => document.readyState === "complete" && document.fonts.status === "loaded" && asked === 0
    && document.getAnimations().every(a => a.playState !== "running") && performance.now() - changed > 100; })()"""
_DRAWN = """async () => { const until = performance.now() + 2000;
  while (performance.now() < until && !hasDrawn()) await new Promise(done => setTimeout(done, 25)); }"""


def opened(browser: Any, address: str, size: str, **view: str) -> Any:
    """A context of a size in ``SIZES`` that shows things in this way; its pages tell ``drawn`` when they have."""
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, locale="en-GB")
    context.add_init_script(_NOTICE)
    if view:
        cookie = "&".join(f"{key}={value}" for key, value in view.items())
        context.add_cookies([{"name": "view", "value": cookie, "url": address}])
    return context


def drawn(page: Any) -> None:
    """Wait until a page of an ``opened`` context has drawn."""
    page.evaluate(_DRAWN)


def found_wrong(page: Any) -> list[str]:
    """What does not hold on a screen: nothing wider than it, nothing cut off, targets ≥ 48 px, axe, one language."""
    wrong = [f"wider than the screen: {one}" for one in page.evaluate(_TOO_WIDE)]
    wrong += [f"words do not fit: {one}" for one in page.evaluate(_CUT_OFF)]
    wrong += [f"small target: {one}" for one in page.evaluate(_SMALL_TARGETS)]
    for finding in Axe().run(page).response["violations"]:
        if finding["impact"] in {"serious", "critical"}:
            wrong.append(f"axe {finding['id']}: {[node['html'][:120] for node in finding['nodes']][:3]}")
    if page.evaluate("document.documentElement.lang") != "en":
        wrong += [f"still English: {text[:90]}" for text in page.evaluate(_SHOWN) if _ENGLISH.search(text)][:8]
    return wrong


def look_over(page: Any, name: str) -> None:
    """Fail with everything that is wrong on a screen."""
    assert found_wrong(page) == [], name


def _note(wrong: list[str]) -> Callable[[object], None]:
    return lambda error: wrong.append(f"script: {error}")


def tour(
    browser: Any,
    address: str,
    pages: Mapping[str, str],
    *,
    sizes: Sequence[str] = ("phone", "tablet", "laptop"),
    **view: str,
) -> None:
    """Open each page at each size, look it over and leave a picture ``out/NAME-SIZE[-VIEW].png``.

    Parameters
    ----------
    browser, address
        The fixtures of ``services.web``, or any server's address.
    pages
        Name of the picture → path.
    sizes
        Names in ``SIZES``.
    view
        How the device shows things: ``language="de"``, ``temperature="F"``, ``mass="oz"``, ``contrast="night"``.
    """
    OUT.mkdir(exist_ok=True)
    wrong: list[str] = []
    for size in sizes:
        context = opened(browser, address, size, **view)
        page = context.new_page()
        page.on("pageerror", _note(wrong))
        for name, path in pages.items():
            answer = page.goto(address + path)
            assert answer.status < 500, f"{path}: {answer.status}"
            drawn(page)
            page.screenshot(path=OUT / f"{'-'.join([name, size, *view.values()])}.png", full_page=True)
            wrong += [f"{name}, {size}: {one}" for one in found_wrong(page)]
        context.close()
    assert wrong == [], "\n".join(wrong)
