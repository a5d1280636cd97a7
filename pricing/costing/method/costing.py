"""A costing: the lines of a price book priced, with everything that can be asked of the result."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from pricing.book.price_book import NONE, PriceBook
from pricing.book.services import service_rows
from pricing.costing.engine.columns import SETTINGS
from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.lines.order_lines import OrderLines
from pricing.costing.lines.own_terms import OwnTerms
from pricing.costing.method.quote_terms import Payment, TaxAmount, payments_by_quote, taxes_by_quote
from pricing.costing.method.rows_builder import safe_key
from pricing.dataclass import dataclass
from pricing.frames import frame
from pricing.glossary import GLOSSARY
from pricing.languages.tags import known_language, usual_language
from pricing.problems import Problems
from pricing.quantities import quantity

if TYPE_CHECKING:
    import pandas
    import pint


@dataclass(eq=False)
class Costing:
    """Lines costed and priced.

    Parameters
    ----------
    book : the price book
    lines : what was costed
    problems : what the maker has to know; errors mean that the figures must not be used
    model : the tables that the figures come from
    values : the figures, each computed when first asked for
    """

    book: PriceBook
    lines: OrderLines
    problems: Problems
    model: Model
    values: Evaluation

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.book.word("currency")

    @property
    def quotes(self) -> list[str]:
        """The quotes in order."""
        return list(self.lines.quotes)

    def line(self, column: str) -> Floats:
        """A column of the lines, shape (lines,), in the unit of the glossary."""
        return self.values.value("lines", column)

    def quote(self, column: str) -> Floats:
        """A column of the quotes, shape (quotes,), in the unit of the glossary."""
        return self.values.value("quotes", column)

    @property
    def parts(self) -> tuple[tuple[str, str], ...]:
        """The parts of a unit cost, in the order in which they are shown: the name that programs read, and the column of the lines."""
        return self.model.tables["lines"].spec.parts

    def setting(self, name: str) -> float:
        """A number of the workshop's settings."""
        return float(self.values.value(SETTINGS, name)[0])

    def rate(self, name: str, table: str = "lines") -> Floats:
        """A rate of the workshop for each row of a table: of the day of the row where it differs between days."""
        values = self.values.value(self.model.home(table, name), name)
        return np.broadcast_to(values, (self.model.tables[table].count,))

    @cached_property
    def _lines_of(self) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {}
        for line, quote in enumerate(self.lines.quote.tolist()):
            found.setdefault(quote, []).append(line)
        return found

    def lines_of(self, quote: str) -> list[int]:
        """The lines of a quote, counted from 0."""
        return self._lines_of.get(quote, [])

    def loads_of(self, quote: str) -> dict[str, float]:
        """Mixer loads of a quote, by mix [loads]."""
        batches, loads = self.model.tables["batches"], self.values.value("batches", "loads").tolist()
        names = {safe_key(name): name for name in self.book.tables["Mixes"].columns["mix"].tolist()}  # of layers too
        names |= dict(zip(self.model.tables["lines"].text["mix"].tolist(), self.lines.plans["mix"].tolist(), strict=True))
        of_quote = zip(batches.text["quote"].tolist(), batches.text["mix"].tolist(), loads, strict=True)
        found = ((str(key), load) for name, key, load in of_quote if name == quote and key != NONE)
        return {str(names.get(key) or names.get(key.rpartition(" [")[0], key)): load for key, load in found}

    @cached_property
    def taxes(self) -> list[list[TaxAmount]]:
        """The taxes of each quote by category and rate, in the order of the quotes."""
        return taxes_by_quote(self.values, self.book.word("tax_name") or "tax")

    def language_of(self, quote: str) -> str:
        """The language of a quote: its own, its customer's, the workshop's, or that of the currency's country."""
        customer = str(self.lines.customer[self.lines_of(quote)[0]])
        asked = self.own_terms.text(quote, customer, "language") or self.book.word("language")
        return known_language(asked) or usual_language(self.currency)

    @cached_property
    def own_terms(self) -> OwnTerms:
        """What quotes and customers have of their own."""
        return OwnTerms(self.book)

    @cached_property
    def payments(self) -> list[list[Payment]]:
        """In which stages each quote is paid, in the order of the quotes."""
        customers = (str(self.lines.customer[self.lines_of(quote)[0]]) for quote in self.quotes)
        return payments_by_quote(self.values, [self.own_terms.days(customer) for customer in customers])

    def products(self) -> list[str]:
        """The product of each line."""
        names: list[str] = self.book.tables["Products"].columns["product"][self.lines.product].tolist()
        return names

    def product(self, line: int) -> str:
        """The product of one line, counted from 0."""
        return str(self.book.tables["Products"].columns["product"][self.lines.product[line]])

    def quantity(self, column: str) -> pint.Quantity[Floats]:
        """A column of the lines, or of the quotes where the lines have none of that name, with its unit.

        Problems raised: KeyError where neither has it.

        Example: ``costing.quantity("mass").to("lb/piece")``.
        """
        of_line = any(each.name == column for each in self.model.tables["lines"].spec.columns)
        return quantity(self.line(column) if of_line else self.quote(column), GLOSSARY[column].unit)

    def lines_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per line: what it is, what it costs by part, what it earns.

        Parameters
        ----------
        units : True for a second row of headings with the units, as the glossary spells them
        """
        said = {"quote": self.lines.quote, "customer": self.lines.customer, "product": self.products()}
        names = ("unit_cost", "unit_price", "line_net", "line_cost", "line_margin", "discounted_margin", "contribution", "labour_hours")
        figures = {"quantity": "quantity", "volume_m3": "cast_volume", "mass_kg": "mass", **dict(self.parts)}
        figures |= {name: name for name in names}
        return self._frame(said, figures, self.line, units)

    def quotes_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per quote: its totals.

        Parameters
        ----------
        units : True for a second row of headings with the units, as the glossary spells them
        """
        text = self.model.tables["quotes"].text
        names = ("lines_net", "discount", "small_order_charge", "carriage", "net", "tax", "gross", "payable", "deposit",
                 "quote_mass", "quote_cost", "quote_margin", "quote_contribution")
        said = {"quote": text["quote"], "customer": text["customer"]}
        return self._frame(said, {name: name for name in names}, self.quote, units)

    def _frame(
        self, said: Mapping[str, Any], figures: Mapping[str, str], column: Callable[[str], Floats], units: bool
    ) -> pandas.DataFrame:
        """A data frame of words and figures, each figure by its heading and the name of its column."""
        columns = {**said, **{heading: column(name) for heading, name in figures.items()}}
        return frame(columns, {heading: GLOSSARY[name].unit for heading, name in figures.items()}, units=units)

    def as_json(self, day: datetime.date | None = None) -> dict[str, Any]:
        """The whole result as numbers for programs.

        `volume_m3`, `mass_kg`, `unit_cost`, `labour_hours` and `costs` are per good piece; `net` and `cost` of a line are
        for all its pieces. A quote's `cost` holds carriage at what is charged for it.
        """
        lines = {name: self.line(name).tolist() for name in (
            "quantity", "cast_volume", "mass", "unit_cost", "unit_price", "line_net", "line_cost", "line_margin",
            "discounted_margin", "contribution", "labour_hours", "rounds", "moulds_built", "moulds_charged", "discount_rate",
            *(column for _, column in self.parts))}
        quotes = {name: self.quote(name).tolist() for name in (
            "discount", "small_order_charge", "carriage", "net", "tax", "payable", "deposit", "quote_cost", "quote_margin",
            "quote_mass")}
        products, taxes, service = self.products(), self.taxes, service_rows(self.book, self.lines.product) > 0
        payments, made = self.payments, []
        sets = [""] * len(self.lines) if self.lines.sets is None else self.lines.sets.name.tolist()
        for number, quote in enumerate(self.quotes):
            rows = self.lines_of(quote)
            made.append({
                "quote": quote,
                "customer": self.lines.customer[rows[0]],
                "date": str(self.lines.day[rows[0]]),
                "lines": [{
                    "product": products[row],
                    "set": sets[row],
                    "service": bool(service[row]),
                    "quantity": int(lines["quantity"][row]),
                    "mix": self.lines.plans["mix"][row],
                    "rounds": lines["rounds"][row],
                    "moulds_built": int(lines["moulds_built"][row]),
                    "moulds_charged": lines["moulds_charged"][row],
                    "volume_m3": lines["cast_volume"][row],
                    "mass_kg": lines["mass"][row],
                    "unit_cost": lines["unit_cost"][row],
                    "unit_price": lines["unit_price"][row],
                    "discount": lines["discount_rate"][row],
                    "net": lines["line_net"][row],
                    "cost": lines["line_cost"][row],
                    "margin": lines["line_margin"][row],
                    "margin_after_discount": lines["discounted_margin"][row],
                    "contribution": lines["contribution"][row],
                    "labour_hours": lines["labour_hours"][row],
                    "costs": {key: lines[column][row] for key, column in self.parts},
                } for row in rows],
                **{name: values[number] for name, values in quotes.items() if not name.startswith("quote_")},
                "cost": quotes["quote_cost"][number],
                "margin": quotes["quote_margin"][number],
                "mass_kg": quotes["quote_mass"][number],
                "loads": self.loads_of(quote),
                "taxes": [
                    {"tax": each.tax, "rate": each.rate, "category": each.category, "base": each.base, "amount": each.amount}
                    for each in taxes[number]
                ],
                "language": self.language_of(quote),
                "payments": [{"stage": each.called, "amount": each.amount, "due": each.due} for each in payments[number]],
            })
        days = sorted(set(self.lines.day.tolist()))
        shown = day or (days[-1] if days else datetime.date.today())
        problems = [problem.as_json() for problem in self.problems]
        return {"currency": self.currency, "date": str(shown), "quotes": made, "problems": problems}
