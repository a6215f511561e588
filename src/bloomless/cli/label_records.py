"""``bloomless label tally|laboratory|canada|again|history|tray``: what is kept around a label."""

from __future__ import annotations

import json
from contextlib import closing
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any

import typer

from bloomless.bench import label_records as records
from bloomless.bench import labels
from bloomless.bench.ports import Entry
from bloomless.cli.label_options import Data, Day, Json, Market, To, day_of, house_of
from bloomless.errors import ImpossibleInput
from bloomless.lots.matching import TrayMark
from bloomless.rules import NO_ADVICE, law_of
from bloomless.rules.common.laboratory import ANALYTES
from bloomless.sheets.labels import label_pdf, lay_out, stock, tray_pdf

__all__ = ["app"]

app = typer.Typer()

Product = Annotated[str, typer.Argument(help="Key of the product in the book.")]
Roll = Annotated[str, typer.Argument(help="What the roll's code says.")]


@app.command()
def tally(
    roll: Roll,
    used: Annotated[int, typer.Option("--used", help="Labels on pieces.")],
    pieces: Annotated[int, typer.Option("--pieces", help="Pieces packed.")],
    by: Annotated[str, typer.Option("--by", help="Who counts.")],
    spoiled: Annotated[int, typer.Option("--spoiled", help="Labels torn, misprinted or thrown away.")] = 0,
    left: Annotated[int, typer.Option("--left", help="Labels left on the roll or sheet.")] = 0,
    data: Data = None,
    as_json: Json = False,
) -> None:
    """Count labels after packing against those printed and the pieces. Exit code 1 if they do not agree."""
    with closing(house_of(data)) as house:
        found = records.tally(
            house.book, roll, used=used, spoiled=spoiled, left=left, pieces=pieces, by=by, at=house.clock()
        )
    body = {"printed": found.printed, "unaccounted": found.unaccounted, "agrees": found.agrees, "answer": found.answer}
    typer.echo(json.dumps(body) if as_json else found.answer)
    raise typer.Exit(0 if found.agrees else 1)


def _figures(given: list[str]) -> dict[str, Decimal]:
    found = {}
    for text in given:
        name, _, number = text.partition("=")
        try:
            found[name.strip()] = Decimal(number.strip().replace(",", "."))
        except InvalidOperation:
            raise ImpossibleInput("found", text, "name=number, such as fat=42.6") from None
    return found


@app.command()
def laboratory(
    product: Product,
    market: Market,
    found: Annotated[list[str], typer.Option("--found", help=f"name=number in 100 g ({', '.join(ANALYTES['eu'])}…)")],
    report: Annotated[str, typer.Option("--report", help="The laboratory's report, its number and day.")],
    by: Annotated[str, typer.Option("--by", help="Who enters it.")],
    day: Day = None,
    data: Data = None,
    as_json: Json = False,
) -> None:  # fmt: skip
    """Hold a laboratory's figures against the declared ones. Exit code 1 if one lies outside what the law leaves."""
    with closing(house_of(data)) as house:
        draft = labels.draft(house.book, product, market, day_of(day))
        made = records.laboratory(house.book, draft, _figures(found), sheet=report, by=by, at=house.clock())
    if as_json:
        lines = [{"analyte": x.analyte, "declared": float(x.declared), "found": float(x.found), "range": x.range_words,
                  "holds": x.holds} for x in made.lines]  # fmt: skip
        findings = [finding.document() for finding in made.findings]
        typer.echo(json.dumps({"lines": lines, "findings": findings, "advice": NO_ADVICE}, indent=1))
    else:
        for line in made.lines:
            mark = "ok   " if line.holds else "BLOCK"
            told = f"declared {line.declared}, found {line.found:f}, lawful {line.range_words}"
            typer.echo(f"{mark} {line.analyte}: {told}")
        for finding in made.findings:
            typer.echo(f"      {finding.message} → {finding.cure} [{finding.law}]")
        typer.echo(NO_ADVICE)
    raise typer.Exit(1 if made.findings else 0)


@app.command()
def canada(product: Product, day: Day = None, data: Data = None, as_json: Json = False) -> None:
    """What Canada asks, for information: allergens by its list, names, and the symbol on the front."""
    with closing(house_of(data)) as house:
        draft = labels.draft(house.book, product, "us", day_of(day))
    found = records.canada(draft)
    passing = [row.verdict.name for row in labels.names(draft, jurisdiction="ca", nearest=0)]
    symbol = "not known" if found.symbol is None else ", ".join(found.symbol) or "none due"
    if as_json:
        body = {"allergens": found.allergens, "names": passing, "symbol": found.symbol, "advice": NO_ADVICE}
        typer.echo(json.dumps(body))
        return
    typer.echo(f"Allergens: {', '.join(found.allergens) or 'none of its list'}\nNames: {', '.join(passing) or 'none'}")
    typer.echo(f"Symbol on the front: {symbol} (from memory)\nCanada is for information only. {NO_ADVICE}")


@app.command()
def again(roll: Roll, to: To, data: Data = None, as_json: Json = False) -> None:
    """Make a printed label again: its version, the book and the law of the day it was printed."""
    with closing(house_of(data)) as house:
        found = records.again(house.book, roll)
    day, text = found.draft.review.day, found.draft.review.label
    if text is None:
        raise ImpossibleInput("roll", roll, "a roll of a market with rules")
    on = stock(str(found.entry.document.get("on") or "a4_2x3"))
    to.write_bytes(label_pdf(lay_out(text, found.draft.food.pack, law_of(day), on)))
    note = "word for word as printed then" if found.same else "its words differ from those printed then"
    body = {"file": str(to), "law_of": day.isoformat(), "same": found.same}
    typer.echo(json.dumps(body) if as_json else f"{to}: by the law of {day.isoformat()}, {note}.")


def in_words(entry: Entry) -> str:
    """One entry of a label's history in words."""
    document = entry.document
    words: dict[str, Any] = {
        "label": lambda: f"version {entry.version}: {document['name']}",
        "label_confirmation": lambda: (
            f"allergens confirmed by {document['by']} for {document['market']}: "
            f"{', '.join(document['present']) or 'none'}"
        ),
        "label_print": lambda: f"{document['count']} labels printed by {document['by']}, {document['mark']}",
        "label_match": lambda: f"scanned by {document['by']}: {document['reason']}",
        "label_tally": lambda: (
            f"counted by {document['by']}: {document['used']} used, {document['spoiled']} spoiled, "
            f"{document['left']} left, {document['pieces']} pieces"
        ),
        "label_laboratory": lambda: f"{document['sheet']}, entered by {document['by']}: {document['outside']} outside",
    }
    return str(words[entry.kind]())


@app.command()
def history(product: Product, data: Data = None, as_json: Json = False) -> None:
    """Every version, confirmation, print, scan, count and analysis of a label, oldest first."""
    with closing(house_of(data)) as house:
        found = records.history(house.book, product)
    for entry in found:
        body = {"at": entry.at.isoformat(), "kind": entry.kind, "version": entry.version, "words": in_words(entry)}
        typer.echo(json.dumps(body, ensure_ascii=False) if as_json else f"{entry.at:%Y-%m-%d %H:%M}  {in_words(entry)}")


@app.command()
def tray(
    product: Product, lot: Annotated[str, typer.Option("--lot", help="Lot on the tray.")], to: To, data: Data = None
) -> None:
    """Print the card of a tray: product, lot and the code to scan before its labels."""
    with closing(house_of(data)) as house:
        name = str(house.book.get(labels.KIND, product).document["name"])
    mark = TrayMark(product, lot)
    to.write_bytes(tray_pdf(mark.text, name, lot))
    typer.echo(f"{to}; the tray says {mark.text}")
