"""Capacity and cash: what the ordered quotes take of the week, what is scarce, what to make first, and when money moves.

Three kinds of things can be scarce: hands, by hours of work and people; mould places, by the hours that casts stand in
their moulds, nights and free days included, since concrete cures on them too; and each machine, one of a kind, by the
hours of work of the week. What takes most weeks is the bottleneck, and pieces are ranked by what they contribute for each
hour of it (constrained resources; source: see ``rules.bottleneck``). Wages are among the costs that a piece causes.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from pricing.book.declared.terms import BEFORE_DELIVERY, WITH_ORDER
from pricing.book.price_book import PriceBook
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.model import Model
from pricing.costing.jobs import declared
from pricing.costing.method.costing import Costing
from pricing.costing.method.quote_terms import Payment as Stage
from pricing.costing.method.quote_terms import deposit_and_balance
from pricing.costing.method.rows_builder import RowsBuilder
from pricing.costing.method.standard_usage import MACHINE, allowances
from pricing.costing.time.lead_time import AT_CASTING, HOURS_ON_THE_CLOCK, hours_of_waiting, lead_time_days, working_week
from pricing.costing.workshop.cut_list import cut_list
from pricing.costing.workshop.shopping import ShoppingList, shopping_list
from pricing.dataclass import dataclass
from pricing.money import whole_up
from pricing.problems import Problems

HANDS, MOULD_PLACES = "Hands", "Mould places"
DEPOSIT, BALANCE, MATERIALS = "deposit", "balance", "materials"

_DAYS_OF_WEEK = 7


@dataclass(frozen=True, slots=True)
class Order:
    """An ordered quote.

    Parameters
    ----------
    costing : of that quote alone
    ordered : the day on which the order came
    payable, deposit : as promised, tax included [currency]
    """

    costing: Costing
    ordered: datetime.date
    payable: float
    deposit: float

    @property
    def quote(self) -> str:
        """Its number."""
        return self.costing.lines.quotes[0]


@dataclass(frozen=True, slots=True)
class Payment:
    """Money that moves: into the workshop above zero, out of it below [currency]; in which stage of its quote."""

    day: datetime.date
    quote: str
    what: str
    amount: float
    stage: str = ""

    @property
    def week(self) -> datetime.date:
        """The Monday of its week."""
        return self.day - datetime.timedelta(days=self.day.weekday())


@dataclass
class Capacity:
    """What the ordered quotes take.

    Parameters
    ----------
    orders : in the order in which they were ordered
    values : of the tables loads, resources and ranking
    bottleneck : what takes most weeks; empty where nothing is taken up
    free : products that take none of the bottleneck
    payments : by day
    shopping : what to buy for all of them, as the workshop's shopping list has it
    """

    orders: list[Order]
    values: Evaluation
    bottleneck: str
    free: list[str]
    payments: list[Payment]
    shopping: ShoppingList

    @property
    def model(self) -> Model:
        """The tables."""
        return self.values.model

    def resources(self) -> list[str]:
        """What can be scarce, by name."""
        names: list[str] = self.model.tables["resources"].text["resource"].tolist()
        return names

    def as_json(self) -> dict[str, Any]:
        """What programs read."""
        columns = (("hours", "resource_wanted"), ("hours_per_week", "resource_per_week"), ("weeks", "resource_weeks"))
        resource = {shown: self.values.value("resources", name).tolist() for shown, name in columns}
        ranked = {name: self.values.value("ranking", name).tolist() for name in (
            "quantity", "contribution_per_piece", "bottleneck_hours_per_piece", "contribution_per_bottleneck_hour")}
        text = self.model.tables["ranking"].text
        return {
            "quotes": [order.quote for order in self.orders],
            "resources": [
                {"name": name} | {shown: figures[row] for shown, figures in resource.items()}
                for row, name in enumerate(self.resources())
            ],
            "bottleneck": self.bottleneck,
            "ranking": [
                {"quote": str(text["quote"][row]), "product": str(text["product"][row]),
                 **{name: values[row] for name, values in ranked.items()}}
                for row in range(self.model.tables["ranking"].count)
            ],
            "payments": [{"date": str(each.day), "quote": each.quote, "what": each.what, "stage": each.stage, "amount": each.amount}
                         for each in self.payments],
            "purchases": [
                {"material": each.material, "unit": each.unit, "needed": each.need, "in_stock": each.in_stock,
                 "packs": sum(each.purchase.counts), "cost": each.purchase.cost} for each in self.shopping.rows
            ],
        }


def hours_per_week(book: PriceBook) -> float:
    """Hours of work of one person in a week [h]."""
    return book.number("hours_per_day") * len(working_week(book).days)


def capacity_of(book: PriceBook, orders: Sequence[Order], problems: Problems) -> Capacity:
    """What ordered quotes take of the week, what is scarce, what earns most with it, and when money moves.

    Parameters
    ----------
    book : for the workshop's settings, prices and stock
    orders : one or more
    problems : collects what the maker has to look at before buying
    """
    per_week, loads = _resources(book), _loads(orders)
    machines = {resource for _, _, resource, _, _ in loads} - {HANDS, MOULD_PLACES}
    per_week |= dict.fromkeys(sorted(machines), hours_per_week(book))
    wanted = dict.fromkeys(per_week, 0.0)
    loads = [load for load in loads if load[2] in per_week]
    for _, _, resource, quantity, each in loads:
        wanted[resource] += quantity * each
    weeks = {name: hours / per_week[name] for name, hours in wanted.items()}
    bottleneck = max(weeks, key=lambda name: weeks[name]) if any(weeks.values()) else ""
    order = sorted(per_week, key=lambda name: -weeks[name])
    ranking, free = _ranking(orders, [load for load in loads if load[2] == bottleneck])
    model = Model([_load_rows(loads), _resource_rows(order, per_week), ranking])
    costings = [order.costing for order in orders]
    shopping = shopping_list(costings, [cut_list(costing).sheets() for costing in costings], problems)
    return Capacity(list(orders), evaluate(model), bottleneck, free, _payments(book, orders, shopping), shopping)


def _resources(book: PriceBook) -> dict[str, float]:
    """Hours that a week has of each thing that can be scarce."""
    found = {HANDS: hours_per_week(book) * book.number("people")}
    places = book.number("mould_places")
    if places:
        found[MOULD_PLACES] = places * _DAYS_OF_WEEK * HOURS_ON_THE_CLOCK
    return found


def machine_resource(machine: str) -> str:
    """How a machine is called among the things that can be scarce.

    >>> machine_resource("Pan mixer")
    'Pan mixer (machine)'
    """
    return f"{machine} (machine)"


def _loads(orders: Iterable[Order]) -> list[tuple[str, str, str, float, float]]:
    """Quote, product, resource, pieces and hours for one piece: of every line and everything that it takes."""
    found = []
    for order in orders:
        costing = order.costing
        products, quantity = costing.model.tables["lines"].text["product"].tolist(), costing.line("quantity")
        waiting = hours_of_waiting(costing, list(range(len(products))))[:, AT_CASTING]
        in_mould = whole_up(np.maximum(waiting / HOURS_ON_THE_CLOCK, 1.0)) * HOURS_ON_THE_CLOCK
        pieces = costing.line("pieces_per_mould")
        fillings = np.maximum(whole_up(quantity / pieces), costing.line("casts") / pieces)  # whole ones for the good pieces
        standing = costing.line("has_mould") * fillings * in_mould / quantity
        machines: list[dict[str, float]] = [{} for _ in products]
        for each in allowances(costing.model, costing.values):
            if each.kind == MACHINE:
                machines[each.line][each.item] = machines[each.line].get(each.item, 0.0) + each.quantity / float(quantity[each.line])
        for line, product in enumerate(products):
            taken = {HANDS: float(costing.line("labour_hours")[line]), MOULD_PLACES: float(standing[line])}
            taken |= {machine_resource(machine): hours for machine, hours in machines[line].items()}
            found += [(order.quote, product, name, float(quantity[line]), hours) for name, hours in taken.items()]
    return found


def _load_rows(loads: Iterable[tuple[str, str, str, float, float]]) -> Any:
    builder = RowsBuilder(declared.LOADS)
    for number, (quote, product, resource, quantity, each) in enumerate(loads, 1):
        builder.add(load=number, quote=quote, product=product, resource=resource, quantity=quantity, resource_per_piece=each)
    return builder.rows()


def _resource_rows(order: Sequence[str], per_week: dict[str, float]) -> Any:
    builder = RowsBuilder(declared.RESOURCES)
    for name in order:
        builder.add(resource=name, resource_per_week=per_week[name])
    return builder.rows()


def _ranking(orders: Iterable[Order], scarce: Sequence[tuple[str, str, str, float, float]]) -> tuple[Any, list[str]]:
    """The lines by what they contribute for each hour of the bottleneck, and those that take none of it."""
    rows, free = [], []
    hours = iter(scarce)
    for order in orders:
        costing = order.costing
        cost, overhead = (costing.line(name) for name in ("line_cost", "overhead_cost"))
        net = costing.line("discounted_net") - costing.line("taken")
        for line in range(len(costing.lines)):
            load = next(hours, None)
            if load is None:
                break
            quote, product, _, quantity, each = load
            price, variable = float(net[line] / quantity), float(cost[line] / quantity - overhead[line])
            if each > 0:
                rows.append(((price - variable) / each, quote, product, quantity, price, variable, each))
            else:
                free.append(product)
    builder = RowsBuilder(declared.RANKING)
    for rank, (_, quote, product, quantity, price, variable, each) in enumerate(sorted(rows, key=lambda row: -row[0]), 1):
        builder.add(rank=rank, quote=quote, product=product, quantity=quantity, price_per_piece=price, variable_cost_per_piece=variable,
                    bottleneck_hours_per_piece=each)
    return builder.rows(), list(dict.fromkeys(free))


def _payments(book: PriceBook, orders: Sequence[Order], shopping: ShoppingList) -> list[Payment]:
    """Each stage of payment on its day, counted from the order and from when it is ready; materials on the day of the first order."""
    week, found = working_week(book), []
    for order in orders:
        ready = week.add(order.ordered, lead_time_days(order.costing, order.quote))
        for stage in _stages(order):
            with_order = stage.when == WITH_ORDER
            days = datetime.timedelta(days=-stage.days if stage.when == BEFORE_DELIVERY else stage.days)
            day = max(order.ordered, (order.ordered if with_order else ready) + days)
            found.append(Payment(day, order.quote, DEPOSIT if with_order else BALANCE, stage.amount, stage.called))
    if shopping.cost:
        found.append(Payment(min(order.ordered for order in orders), "", MATERIALS, -shopping.cost))
    return sorted(found, key=lambda each: (each.day, each.what != DEPOSIT, each.quote))


def _stages(order: Order) -> list[Stage]:
    """The stages in which an order is paid: those of its costing where they come to what was promised, else deposit and balance."""
    planned = order.costing.payments[0]
    if math.isclose(sum(stage.amount for stage in planned), order.payable, rel_tol=1e-9, abs_tol=1e-6):
        return planned
    return [stage for stage in deposit_and_balance(order.deposit, order.payable) if stage.amount]


def weeks_of(payments: Sequence[Payment]) -> list[datetime.date]:
    """The Mondays of the weeks in which money moves."""
    return sorted({each.week for each in payments})
