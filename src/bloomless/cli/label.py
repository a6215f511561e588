"""``bloomless label``: judge a label, confirm its allergens, print it, match roll and tray."""

from __future__ import annotations

import json
from contextlib import closing
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console

from bloomless.bench import labels
from bloomless.bench.label_documents import LabelDocument, label_from_document
from bloomless.bench.weighings import weighed
from bloomless.cli.label_options import Data, Day, Json, Language, Market, To, day_of, house_of
from bloomless.cli.label_records import app as records_app
from bloomless.errors import ImpossibleInput
from bloomless.rules import NO_ADVICE, Severity, law_of
from bloomless.rules.common.gs1 import digital_link, element_string, gtin14, judge_gtin, mass_element, yymmdd
from bloomless.sheets.labels import STOCKS, label_pdf, lay_out, stock
from bloomless.sheets.specification import specification_pdf

__all__ = ["app"]

app = typer.Typer(
    help=f"Labels: judge, confirm, print, match. Allergens are confirmed by a person before printing. {NO_ADVICE}",
    no_args_is_help=True,
)
app.add_typer(records_app)  # without a name: its commands are commands of a label

File = Annotated[Path, typer.Argument(help="The label as JSON, see docs/how-to/make-a-label.md; - for standard input.")]


def _read(file: Path) -> LabelDocument:
    text = typer.get_text_stream("stdin").read() if str(file) == "-" else file.read_text(encoding="utf-8")
    try:
        document = json.loads(text)
    except json.JSONDecodeError as error:
        raise ImpossibleInput("label", str(file), f"JSON ({error.msg} in line {error.lineno})") from None
    if not isinstance(document, dict):
        raise ImpossibleInput("label", str(file), "one JSON object")
    return label_from_document(document)


def _shown(found: labels.Draft) -> dict[str, Any]:
    label = found.review.label
    words: dict[str, Any] = {}
    if label is not None:
        words = {
            "name": label.name, "net": label.net, "ingredients": label.ingredients.text,
            "emphasised": list(label.ingredients.emphasised), "contains": list(label.contains),
            "may_contain": list(label.may_contain), "statements": list(label.statements.lines()),
            "vegetable_fats": label.statements.vegetable_fats, "date": label.date_text, "lot": label.lot,
            "language": label.language,
        }  # fmt: skip
    return {
        "product": found.product, "market": found.market, "day": found.review.day.isoformat(), "advice": NO_ADVICE,
        "may_print": found.may_print, "confirmed_by": found.confirmed_by, "label": words,
        "findings": [finding.document() for finding in found.review.findings],
    }  # fmt: skip


@app.command()
def check(
    file: File, market: Market, day: Day = None, language: Language = "", data: Data = None, as_json: Json = False
) -> None:
    """Judge a label: every finding with its law and what would cure it. Exit code 1 while something blocks."""
    label = _read(file)
    with closing(house_of(data)) as house:
        labels.judge(house.book, label, market, day_of(day))  # what cannot be judged is not kept
        labels.save(house.book, label, at=house.clock())
        found = labels.draft(house.book, label.product, market, day_of(day), language=language)
    if as_json:
        typer.echo(json.dumps(_shown(found), indent=1, ensure_ascii=False))
    else:
        _print(found)
    raise typer.Exit(0 if found.may_print else 1)


def _print(found: labels.Draft) -> None:
    console = Console(highlight=False)
    label = found.review.label
    if label is not None:
        console.print(f"[bold]{label.name}[/]  {label.net}", soft_wrap=True)
        console.print(f"{label.ingredients.text}.", soft_wrap=True, markup=False)
    marks = {Severity.BLOCK: "BLOCK", Severity.WARN: "warn ", Severity.INFO: "info "}
    for finding in found.review.findings:
        cure = f" → {finding.cure}" if finding.cure else ""
        console.print(
            f"{marks[finding.severity]} {finding.message}{cure} [{finding.law}]", soft_wrap=True, markup=False
        )
    console.print(NO_ADVICE)


@app.command()
def confirm(
    product: Annotated[str, typer.Argument(help="Key of the product in the book.")],
    market: Market,
    by: Annotated[str, typer.Option("--by", help="Who has read the sheets of every lot.")],
    present: Annotated[list[str] | None, typer.Option("--present", help="An allergen that is in it; repeat.")] = None,
    absent: Annotated[
        list[str] | None, typer.Option("--absent", help="ingredient:source that this lot's sheet denies; repeat.")
    ] = None,
    data: Data = None,
    as_json: Json = False,
) -> None:
    """Confirm the allergens of a label, one by one; the record stays in the book."""
    pairs = [text.partition(":")[::2] for text in absent or ()]
    if not all(source for _, source in pairs):
        raise ImpossibleInput("absent", absent, "ingredient:source")
    with closing(house_of(data)) as house:
        found = labels.draft(house.book, product, market, day_of(None))
        entry = labels.confirm(house.book, found, by=by, present=present or (), absent=pairs, at=house.clock())
    typer.echo(
        json.dumps(dict(entry.document)) if as_json else f"Confirmed by {by}: {', '.join(present or ()) or 'none'}."
    )


@app.command("print")
def print_labels(
    product: Annotated[str, typer.Argument(help="Key of the product in the book.")],
    market: Market,
    to: To,
    by: Annotated[str, typer.Option("--by", help="Who prints.")],
    lot: Annotated[str, typer.Option("--lot", help="Lot on the labels; that of the document unless given.")] = "",
    count: Annotated[int, typer.Option("--count", help="Labels, 1 to 20,000.")] = 1,
    on: Annotated[str, typer.Option("--on", help=f"One of {', '.join(STOCKS)}.")] = "a4_2x4",
    code: Annotated[list[str] | None, typer.Option("--code", help="kind:content, such as ean13:…; repeat.")] = None,
    day: Day = None,
    data: Data = None,
    as_json: Json = False,
) -> None:
    """Print labels of a lot; refused while anything blocks, on paper too. The print is recorded."""
    when = day_of(day)
    pairs = tuple((text.split(":", 1)[0], text.split(":", 1)[-1]) for text in code or ())
    with closing(house_of(data)) as house:
        found = labels.draft(house.book, product, market, when, lot=lot)
        text = found.review.label
        if text is None:
            raise ImpossibleInput("market", market, "a market with rules")
        sheet = lay_out(text, found.food.pack, law_of(when), stock(on), codes=pairs, count=count)
        blocks = [f for f in sheet.findings if f.severity is Severity.BLOCK]
        if blocks:
            typer.echo("\n".join(f"BLOCK {f.message} → {f.cure} [{f.law}]" for f in blocks), err=True)
            raise typer.Exit(1)
        released = labels.release(house.book, found, count=count, by=by, at=house.clock(), on=on)
    sheet = lay_out(
        text, found.food.pack, law_of(when), stock(on), codes=pairs, count=count, roll_code=released.mark.text
    )
    to.write_bytes(label_pdf(sheet))
    done = {"file": str(to), "count": count, "roll": released.mark.text, "advice": NO_ADVICE}
    typer.echo(
        json.dumps(done) if as_json else f"{count} labels in {to}; the roll says {released.mark.text}. {NO_ADVICE}"
    )


@app.command()
def names(
    product: Annotated[str, typer.Argument(help="Key of the product in the book.")],
    market: Market,
    by: Annotated[
        str, typer.Option("--by-law-of", help="codex or ca, for information; the market's own unless given.")
    ] = "",
    day: Day = None,
    data: Data = None,
    as_json: Json = False,
) -> None:
    """Names its chocolate may carry, the distance to each limit, and the smallest change that would make one pass."""
    with closing(house_of(data)) as house:
        rows = labels.names(labels.draft(house.book, product, market, day_of(day)), jurisdiction=by)
    if as_json:
        shown = [
            {
                "name": row.verdict.name,
                "law": row.verdict.citation,
                "passes": row.verdict.passes,
                "distance_points": {
                    need.rule.id: round(float(need.margin_pct), 3)
                    for need in row.verdict.needs
                    if need.margin_pct is not None
                },
                "would_pass_with": [change.words for change in row.changes],
            }
            for row in rows
        ]
        typer.echo(json.dumps(shown, indent=1))
        return
    for row in rows:
        typer.echo(f"{'yes' if row.verdict.passes else 'no '} {row.verdict.name} ({row.verdict.citation})")
        for finding in row.verdict.findings:
            typer.echo(f"      {finding.message}")
        for change in row.changes:
            typer.echo(f"      would pass with {change.words}")
    typer.echo(NO_ADVICE)


@app.command()
def specification(
    product: Annotated[str, typer.Argument(help="Key of the product in the book.")],
    market: Market,
    to: To,
    day: Day = None,
    data: Data = None,
) -> None:
    """Write the specification sheet for wholesale: composition, allergens, nutrition, storage, codes, findings."""
    with closing(house_of(data)) as house:
        found = labels.draft(house.book, product, market, day_of(day))
    to.write_bytes(specification_pdf(found))
    typer.echo(f"{to}. {NO_ADVICE}")


@app.command()
def match(
    tray: Annotated[str, typer.Argument(help="What the tray's code says.")],
    roll: Annotated[str, typer.Argument(help="What the roll's code says.")],
    by: Annotated[str, typer.Option("--by", help="Who scans.")],
    data: Data = None,
    as_json: Json = False,
) -> None:
    """Match a label roll with a tray. A mismatch is exit code 1 and cannot be overruled: make the right label."""
    with closing(house_of(data)) as house:
        found = labels.scan(house.book, tray, roll, by=by, at=house.clock())
    typer.echo(json.dumps({"ok": found.ok, "reason": found.reason}) if as_json else found.reason)
    raise typer.Exit(0 if found.ok else 1)


@app.command()
def weigh(
    net: Annotated[list[float], typer.Argument(help="Net masses weighed, in grams, tare taken off.")],
    nominal: Annotated[float, typer.Option("--nominal", help="Labelled net mass, g.")],
    market: Market,
    batch: Annotated[int, typer.Option("--batch", help="Packs in the whole batch; those weighed unless given.")] = 0,
    day: Day = None,
    as_json: Json = False,
) -> None:
    """Judge weighings by the rules of net quantity, and tell the mass to aim at. Exit code 1 if the batch fails."""
    found = weighed(Decimal(repr(nominal)), net, market, day_of(day), batch=batch or len(net))
    target = found.target
    if as_json:
        body = {
            "passes": found.passes,
            "n": found.n,
            "mean_g": found.mean_g,
            "sd_g": found.sd_g,
            "tolerable_g": float(found.tolerable_g),
            "plan": found.plan,
            "findings": [finding.document() for finding in found.findings],
            "target_g": None if target is None else target.target_g,
            "give_away_g": None if target is None else target.give_away_g,
            "advice": NO_ADVICE,
        }
        typer.echo(json.dumps(body, indent=1, ensure_ascii=False))
    else:
        typer.echo(
            f"{found.n} packs, mean {found.mean_g:.2f} g, spread {found.sd_g:.2f} g, tolerable {found.tolerable_g} g"
        )
        for finding in found.findings:
            typer.echo(f"BLOCK {finding.message} → {finding.cure} [{finding.law}]")
        if found.passes:
            typer.echo("Nothing against the batch in these weighings.")
        if found.plan:
            typer.echo(found.plan)
        if target is not None:
            typer.echo(
                f"Aim at {target.target_g:.1f} g ({target.give_away_g:.1f} g given away): {target.binding} decides; "
                f"chance "
                f"{target.chance:.0%} to keep the rules, with the spread taken at {target.sd_high_g:.2f} g."
            )
        typer.echo(NO_ADVICE)
    raise typer.Exit(0 if found.passes else 1)


@app.command()
def code(
    gtin: Annotated[str, typer.Argument(help="Your licensed GTIN, 8 to 14 digits.")],
    lot: Annotated[str, typer.Option("--lot", help="Lot code.")] = "",
    best_before: Annotated[
        datetime | None, typer.Option("--best-before", formats=["%Y-%m-%d"], help="Best before.")
    ] = None,
    net_g: Annotated[float | None, typer.Option("--net", help="Net mass, g.")] = None,
    as_json: Json = False,
) -> None:
    """Write the GS1 element string and the Digital Link of a pack, for --code of `label print`."""
    law = law_of(day_of(None))
    elements = [("01", gtin14(gtin))]
    elements += [("15", yymmdd(best_before.date()))] if best_before else []
    mass = None if net_g is None else Decimal(repr(net_g))
    elements += [mass_element(mass)] if mass is not None else []
    elements += [("10", lot)] if lot else []
    day = best_before.date() if best_before else None
    body = {
        "element_string": element_string(elements, law),
        "digital_link": digital_link(gtin, law, lot=lot, best_before=day, net_g=mass),
        "findings": [finding.document() for finding in judge_gtin(gtin, law)],
    }
    typer.echo(json.dumps(body, indent=1) if as_json else f"{body['element_string']}\n{body['digital_link']}")


@app.command("stocks")
def stocks(as_json: Json = False) -> None:
    """List the sheets and rolls labels can be printed on."""
    if as_json:
        typer.echo(
            json.dumps(
                {key: {"name": s.name, "width_mm": s.width_mm, "height_mm": s.height_mm} for key, s in STOCKS.items()}
            )
        )
        return
    for key, found in STOCKS.items():
        typer.echo(f"{key:14s} {found.name}")
