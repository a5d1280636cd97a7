"""Checks of rows against each other: shapes and their dimensions, materials in their roles, plans, quotes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from pricing.book.checking.closed import check_closed_days
from pricing.book.checking.lengths import check_lengths
from pricing.book.checking.materials import MaterialChecks
from pricing.book.checking.pieces import check_pieces
from pricing.book.checking.selling import check_selling
from pricing.book.checking.sets import check_sets
from pricing.book.checking.shapes import check_shapes
from pricing.book.checking.sheet_view import SheetView
from pricing.book.checking.terms import check_terms
from pricing.book.price_book import PriceBook
from pricing.book.wording.reporter import Reporter, spoken
from pricing.book.wording.sentences import near_matches, number_text, quoted
from pricing.problems import Problems
from pricing.text import fold


def check_book(book: PriceBook, problems: Problems) -> None:
    """Report what does not fit together.

    Parameters
    ----------
    book : as read, its names in one spelling
    problems : where problems go

    Problems: those of ``wording.CODES`` under "rows against each other".
    """
    if not check_lengths(book, problems):
        return
    MaterialChecks(book, problems).check()
    check_shapes(book, problems)
    check_pieces(book, problems)
    check_closed_days(book, problems)
    check_selling(book, problems)
    check_sets(book, problems)
    check_terms(book, problems)
    for check in (_steps, _moulds, _machines, _plans, _quotes, _refits, _refit_trade, _actuals):
        check(book, problems)


def _steps(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Labour")
    columns = (
        at.texts("step"),
        at.texts("trade"),
        at.numbers("minutes"),
        at.texts("per"),
        at.texts("machine"),
        at.numbers("wait"),
    )
    for index, (step, trade, minutes, per, machine, wait) in enumerate(zip(*columns, strict=True)):
        name = quoted(step)
        if minutes > 0 and not per:
            at.report(
                "incomplete-step",
                "per",
                index,
                step=name,
                has="minutes",
                lacks="word under Per for what they are counted by",
            )
        if minutes > 0 and not trade and not machine:
            at.report(
                "incomplete-step", "trade", index, step=name, has="minutes", lacks="trade or machine that they are for"
            )
        if minutes == 0 and machine:
            at.report("incomplete-step", "minutes", index, has="a machine", lacks="minutes that it runs", step=name)
        if minutes == 0 and not machine and wait == 0 and not at.is_wrong("wait", index):
            at.report("empty-step", "minutes", index, warning=True, step=name)


def _moulds(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Moulds")
    pairs = (("sealant", "sealant_radius"), ("fixing", "fixing_spacing"))
    for thing, measure in pairs:
        names, figures = at.texts(thing), at.numbers(measure)
        for index, (name, figure) in enumerate(zip(names, figures, strict=True)):
            what = spoken(at.declared.column(measure))
            plan = quoted(at.texts("mould_plan")[index])
            if name and math.isnan(figure):
                at.report("incomplete-mould", measure, index, plan=plan, has=f"a {thing}", lacks=what)
            elif not name and not math.isnan(figure):
                at.report("unused-value", measure, index, warning=True, what=what, lacks=f"a {thing}")


def _refits(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Moulds")
    for index, (every, minutes) in enumerate(zip(at.numbers("refit_every"), at.numbers("refit_minutes"), strict=True)):
        if math.isnan(every) and minutes > 0:
            plan = quoted(at.texts("mould_plan")[index])
            at.report(
                "incomplete-mould",
                "refit_every",
                index,
                plan=plan,
                has="refit minutes",
                lacks="number under Refit every",
            )
    told = "Trades" in problems.unread
    if any(minutes > 0 for minutes in at.numbers("refit_minutes")) and not len(book.tables["Trades"]) and not told:
        at.report(
            "no-row-of-kind", "refit_minutes", at.numbers("refit_minutes").index(max(at.numbers("refit_minutes")))
        )


def _refit_trade(book: PriceBook, problems: Problems) -> None:
    name = str(book.settings.get("refit_trade", ""))
    trades = {fold(trade): trade for trade in book.tables["Trades"]["trade"].tolist() if trade}
    if not name:
        return
    if fold(name) in trades:
        book.settings["refit_trade"] = trades[fold(name)]
        return
    near = near_matches(name, trades.values(), 1)
    remedy = f'is "{near[0]}" meant?' if near else "add it there, or choose one that is there"
    Reporter(problems, book.tables["Workshop"].sheet_as_written).report(
        "unknown-name",
        book.setting_cells.get("refit_trade", ""),
        what="refit trade",
        found=quoted(name),
        sheet="Trades",
        near=remedy,
    )


def _machines(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Machines")
    rows = zip(at.texts("machine"), at.numbers("price"), at.numbers("resale"), at.numbers("power"), strict=True)
    price_is_missing = book.settings.get("electricity_price") == 0.0 and "electricity_price" not in book.setting_cells
    told = False
    if book.number("interest_rate") > 0:
        yearly = at.numbers("hours_per_year")
        for index, machine in enumerate(at.texts("machine")):
            if machine and not yearly[index] > 0:
                at.report("no-hours-per-year", "hours_per_year", index, machine=quoted(machine))
    for index, (machine, price, resale, power) in enumerate(rows):
        if resale > price:
            at.report("resale-above-price", "resale", index, found=number_text(resale), machine=quoted(machine))
        if power > 0 and price_is_missing and not told:
            at.report("no-electricity-price", "power", index, machine=quoted(machine))
            told = True


def _plans(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Products")
    for column in ("labour_plan", "mould_plan"):
        what = spoken(at.declared.column(column))
        for index, plan in enumerate(at.texts(column)):
            if not plan and at.texts("product")[index]:
                at.report("no-plan", column, index, warning=True, product=quoted(at.texts("product")[index]), what=what)


def _quotes(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Enquiries")
    shown: dict[str, Callable[[object], str]] = {"customer": str, "date": str}
    for column, text in shown.items():
        first: dict[str, tuple[object, int]] = {}
        values = at.table[column].tolist()
        for index, (quote, value) in enumerate(zip(at.texts("quote"), values, strict=True)):
            if not quote or not value or at.is_wrong(column, index):
                continue
            before, row = first.setdefault(quote, (value, index))
            if before != value:
                at.report(
                    "two-in-a-quote", column, index, quote=quoted(quote), what=f"the {column}", found=text(value),
                    other=text(before), row=int(at.table.rows[row]),
                )


def _actuals(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Actuals")
    if not len(at.table):
        return
    sheets = {
        "material": ("Materials", "material"), "labour": ("Trades", "trade"), "step": ("Labour", "step"),
        "machine": ("Machines", "machine"), "mould casts": ("Moulds", "mould_plan"),
    }
    known = {kind: {fold(name): name for name in _names(book, *place)} for kind, place in sheets.items()}
    unread = {kind for kind, (sheet, column) in sheets.items() if (letters := book.tables[sheet].letters) and column not in letters}
    items = at.table["item"]
    for index, (item, kind) in enumerate(zip(items.tolist(), at.texts("kind"), strict=True)):
        if kind not in known or kind in unread:
            items[index] = item or kind
            continue
        if not item:
            at.report("missing-value", "item", index, what="item", example=f"the {kind.replace('mould casts', 'mould plan')}")
            continue
        name = known[kind].get(fold(item))
        if name is not None:
            items[index] = name
            continue
        near = at.near(item, known[kind].values(), 1)
        remedy = f'is "{near[0]}" meant?' if near else "add it there, or look at the kind"
        at.report("unknown-name", "item", index, what=kind, found=quoted(item), sheet=sheets[kind][0], near=remedy)


def _names(book: PriceBook, sheet: str, column: str) -> Iterable[str]:
    return [name for name in book.tables[sheet][column].tolist() if name]
