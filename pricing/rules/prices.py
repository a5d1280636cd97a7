"""From the cost of a piece to its price, its line and its margin."""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, larger, round_to, whole_nearest, whole_up
from pricing.glossary import Quantity, define

define([
    Quantity("cast_volume", "Volume", "metre**3/piece", "m³", 5, "Concrete in one piece."),
    Quantity("face", "Face", "metre**2/piece", "m²", 4, "What is seen and finished: top and edges."),
    Quantity("underside", "Underside", "metre**2/piece", "m²", 4, "What lies below."),
    Quantity("arris", "Arrises", "metre/piece", "m", 3, "Edges to polish."),
    Quantity("open_side", "Open side", "metre**2/piece", "m²", 4, "The side that lies open in the mould and is ground flat."),
    Quantity("mass", "Mass", "kilogram/piece", "kg", 1, "Mass of one piece, of fresh concrete."),
    Quantity("mix_allowance", "Mix allowance", "dimensionless", "%", 1, "Mixed beyond what is cast.", 0.0, 0.99),
    Quantity("concrete_per_cast", "Concrete per cast", "currency/piece", "money", 2, "Concrete of one cast, what is left in the mixer included."),
    Quantity("concrete_cost", "Concrete", "currency/piece", "money", 2, "Concrete per good piece."),
    Quantity("good_volume", "Mixed for good pieces", "metre**3", "m³", 4, "Concrete mixed for the good pieces of the line."),
    Quantity("mixed_volume", "Mixed volume", "metre**3", "m³", 4, "Concrete mixed for the line, for pieces that fail as well."),
    Quantity("good_volume_of_mix", "Mixed for good pieces", "metre**3", "m³", 4, "Concrete of this mix for the good pieces of the whole quote."),
    Quantity("mixed_volume_of_mix", "Mixed for the quote", "metre**3", "m³", 4, "Concrete of this mix mixed for the whole quote."),
    Quantity("rounds_of_mix", "Days of this mix", "dimensionless", "rounds", 2, "The most days of casting of any line of this mix."),
    Quantity("loads_by_day", "Loads by casting day", "batch", "flag", 0, "1 where each casting day has a load of its own."),
    Quantity("mixer_load", "Mixer load", "litre/batch", "L", 0, "Fresh concrete of one mixer load.", 0.1, 20_000.0),
    Quantity("loads", "Mixer loads", "batch", "loads", 2,
             "Mixer loads of this mix for the whole quote: whole ones for the good pieces."),
    Quantity("loads_of_line", "Loads of the line", "batch", "loads", 3, "The line's share of the mixer loads, by volume."),
    Quantity("per_line", "per line", "1/piece", "", 5, "The line, per good piece."),
    Quantity("per_quote", "per quote", "1/piece", "", 5, "The line's quote, per good piece, before lines that have the same share it."),
    Quantity("per_batch", "per batch", "batch/piece", "", 5, "Mixer loads per good piece."),
    Quantity("per_mould", "per mould", "mould/piece", "", 5, "Moulds per good piece."),
    Quantity("per_cast", "per cast", "dimensionless", "", 5, "Casts per good piece."),
    Quantity("per_piece", "per piece", "1/piece", "", 0, "One."),
    Quantity("per_mould_area", "per m2 mould", "metre**2/piece", "", 5, "Mould board per good piece."),
    Quantity("per_joint", "per m joint", "metre/piece", "", 5, "Mould joints per good piece."),
    Quantity("per_volume", "per m3", "metre**3/piece", "", 5, "Volume of the piece."),
    Quantity("per_mass", "per kg", "kilogram/piece", "", 3, "Mass of the piece."),
    Quantity("per_face", "per m2 face", "metre**2/piece", "", 4, "Face of the piece."),
    Quantity("per_underside", "per m2 underside", "metre**2/piece", "", 4, "Underside of the piece."),
    Quantity("per_open_side", "per m2 open side", "metre**2/piece", "", 4, "Open side of the piece."),
    Quantity("per_arris", "per m arris", "metre/piece", "", 3, "Arrises of the piece."),
    Quantity("overhead_per_labour_hour", "Overhead per labour hour", "currency/hour", "money per h", 2, "As given in the workshop's settings.",
             0.0, 1e13),
    Quantity("applied_overhead_rate", "Overhead rate", "currency/hour", "money per h", 2, "Overhead carried by each labour hour."),
    Quantity("overhead_cost", "Overhead", "currency/piece", "money", 2, "Overhead carried by the piece's labour hours."),
    Quantity("unit_cost", "Unit cost", "currency/piece", "money", 2, "What a good piece costs."),
    Quantity("target_margin", "Target margin", "dimensionless", "%", 1, "Wanted share of the selling price.", 0.0, 0.99),
    Quantity("has_own_margin", "Own target margin", "dimensionless", "flag", 0, "1 where the line has a target margin of its own."),
    Quantity("own_margin", "Margin of the line", "dimensionless", "%", 1, "Wanted share of the price of this line.", 0.0, 0.99),
    Quantity("wanted_margin", "Wanted margin", "dimensionless", "%", 1, "The line's own target margin, or the workshop's."),
    Quantity("taken_share", "Taken from the price", "dimensionless", "%", 1,
             "Share of every price that commission, cards and warranty take.", 0.0, 0.9),
    Quantity("taken", "Taken from the price", "currency", "money", 2, "What commission, cards and warranty take of the line."),
    Quantity("target_price", "Target price", "currency/piece", "money", 2, "Price that earns the target margin."),
    Quantity("price_step", "Price step", "currency/piece", "money", 2, "Prices are multiples of this.", 0.0, 1e13),
    Quantity("round_up", "Round up", "dimensionless", "flag", 0, "1 where prices are rounded up, 0 where to the nearest step."),
    Quantity("minor_digits", "Decimals of money", "dimensionless", "", 0, "Decimal places of the currency's smallest unit."),
    Quantity("price_steps", "Price in steps", "dimensionless", "steps", 4, "Target price counted in price steps."),
    Quantity("whole_steps", "Whole steps", "dimensionless", "steps", 0, "The same, rounded."),
    Quantity("rounded_price", "Rounded price", "currency/piece", "money", 2, "Target price, rounded by the price step."),
    Quantity("usual_run", "Usual run", "piece", "pieces", 0, "How many of the product are usually ordered at once.", 1.0, 1e6),
    Quantity("list_at_usual_run", "List price holds at the usual run", "dimensionless", "flag", 0,
             "1 where a list price holds for the product's usual run alone, 0 where it holds at any quantity."),
    Quantity("list_from_usual_run", "List price holds from the usual run", "dimensionless", "flag", 0,
             "1 where a list price holds for the product's usual run and any larger number."),
    Quantity("from_usual_run", "From the usual run", "dimensionless", "flag", 0, "1 where the quantity is the product's usual run or more."),
    Quantity("at_usual_run", "At the usual run", "dimensionless", "flag", 0, "1 where the quantity is the product's usual run."),
    Quantity("price_is_typed", "Price typed", "dimensionless", "flag", 0, "1 where the enquiry states the price, the customer's level, or the sheet Services."),
    Quantity("price_is_listed", "Price listed", "dimensionless", "flag", 0,
             "1 where the product has a list price, the line overrides nothing, and no price is typed."),
    Quantity("price_is_given", "Price given", "dimensionless", "flag", 0, "1 where a list price or a typed price stands."),
    Quantity("given_price", "Given price", "currency/piece", "money", 2, "The list price, or the price typed in the enquiry or on the customer's level.", 0.0, 1e13),
    Quantity("unit_price", "Unit price", "currency/piece", "money", 2, "What the customer pays for one, without tax."),
    Quantity("line_net", "Net", "currency", "money", 2, "Quantity times unit price, less the line's own discount."),
    Quantity("discount_is_own", "Own discount", "dimensionless", "flag", 0,
             "1 where the customer's discount is not taken off: the price is typed, or the line or the customer's level has a discount of its own."),
    Quantity("own_discount", "Discount of the line", "dimensionless", "%", 1, "Of the line or of the customer's level.", 0.0, 1.0),
    Quantity("discountable_net", "Net that is discounted", "currency", "money", 2, "Net of the line where the customer's discount is taken off it."),
    Quantity("line_cost", "Cost", "currency", "money", 2, "Quantity times unit cost."),
    Quantity("line_margin", "Margin before the customer's discount", "dimensionless", "%", 1,
             "Share of the line's net that is left after cost and what is taken from the price.", float("-inf"), 1),
    Quantity("quote_discount", "Customer's discount", "dimensionless", "%", 1, "The customer's discount on the lines."),
    Quantity("discount_rate", "Discount", "dimensionless", "%", 1, "The customer's discount, or the line's own.", 0.0, 1.0),
    Quantity("discounted_net", "Net after discount", "currency", "money", 2, "Net less the line's share of the discount."),
    Quantity("discounted_margin", "Margin after discount", "dimensionless", "%", 1, "The same after the customer's discount.", float("-inf"), 1),
    Quantity("contribution", "Contribution", "currency", "money", 2, "Net after discount, less the costs that the line causes.", float("-inf")),
    Quantity("lowest_margin", "Lowest margin", "dimensionless", "%", 1, "A line that earns less is reported.", 0.0, 0.99),
    Quantity("one_person_lift", "One-person lift", "kilogram/piece", "kg", 0, "A heavier piece is marked: it is for more people or a lifting aid.",
             1.0, 100.0),
    Quantity("below_lowest", "Below lowest margin", "dimensionless", "flag", 0, "1 where the margin after discount is below the lowest."),
    Quantity("too_heavy", "Heavier than one person should lift", "dimensionless", "flag", 0, "1 where one piece is."),
    Quantity("line_mass", "Mass of the line", "kilogram", "kg", 1, "Quantity times mass."),
])


def mass(cast_volume: Value, fresh_density: Value) -> Value:
    """Mass of one piece [kg/piece].

    >>> mass(0.01, 2400.0)
    24.0
    """
    return cast_volume * fresh_density


def concrete_per_cast(cast_volume: Value, mix_allowance: Value, mix_price: Value) -> Value:
    """Concrete of one cast [currency/cast]."""
    return cast_volume * (1 + mix_allowance) * mix_price


def concrete_cost(concrete_per_cast: Value, rejects: Value) -> Value:
    """Concrete per good piece: a rejected cast takes its concrete with it [currency/piece]."""
    return concrete_per_cast / (1 - rejects)


def good_volume(quantity: Value, cast_volume: Value, mix_allowance: Value) -> Value:
    """Concrete mixed for the good pieces of a line [m³]."""
    return quantity * cast_volume * (1 + mix_allowance)


def mixed_volume(casts: Value, cast_volume: Value, mix_allowance: Value) -> Value:
    """Concrete mixed for a line [m³]."""
    return casts * cast_volume * (1 + mix_allowance)


def loads(
    good_volume_of_mix: Value, mixed_volume_of_mix: Value, mixer_load: Value, litres_per_cubic_metre: Value, loads_by_day: Value,
    rounds_of_mix: Value,
) -> Value:
    """Mixer loads of a mix for a quote: whole ones for the good pieces, an expectation for those that fail, and no fewer
    than the days on which the mix is poured [loads].

    >>> float(loads(0.12, 0.12, 40.0, 1000.0, 0.0, 5.0)), float(loads(0.12, 0.124, 40.0, 1000.0, 1.0, 5.0))
    (3.0, 5.0)
    """
    by_volume = larger(
        whole_up(good_volume_of_mix * litres_per_cubic_metre / mixer_load), mixed_volume_of_mix * litres_per_cubic_metre / mixer_load)
    return larger(by_volume, loads_by_day * rounds_of_mix)


def loads_of_line(loads: Value, mixed_volume: Value, mixed_volume_of_mix: Value) -> Value:
    """The line's share of the mixer loads, by volume [loads]."""
    return choose(mixed_volume_of_mix > 0, loads * mixed_volume / mixed_volume_of_mix, 0)


def per_line(quantity: Value) -> Value:
    """The line, per good piece [1/piece]."""
    return 1 / quantity


def per_quote(per_line: Value) -> Value:
    """The line's quote, per good piece: whole, as the lines that have the same share it out afterwards [1/piece]."""
    return per_line


def per_batch(loads_of_line: Value, quantity: Value) -> Value:
    """Mixer loads per good piece [loads/piece]."""
    return loads_of_line / quantity


def per_mould(is_bought: Value, moulds_charged: Value, quantity: Value) -> Value:
    """Moulds that are built and paid for, per good piece; a mould that is bought ready is not built [moulds/piece]."""
    return (1 - is_bought) * moulds_charged / quantity


def per_cast(casts: Value, quantity: Value) -> Value:
    """Casts per good piece [1]."""
    return casts / quantity


def per_volume(cast_volume: Value) -> Value:
    """Volume of the piece [m³/piece]."""
    return +cast_volume


def per_mass(mass: Value) -> Value:
    """Mass of the piece [kg/piece]."""
    return +mass


def per_face(face: Value) -> Value:
    """Face of the piece [m²/piece]."""
    return +face


def per_underside(underside: Value) -> Value:
    """Underside of the piece [m²/piece]."""
    return +underside


def per_open_side(open_side: Value) -> Value:
    """Open side of the piece [m²/piece]."""
    return +open_side


def per_arris(arris: Value) -> Value:
    """Arrises of the piece [m/piece]."""
    return +arris


def per_mould_area(mould_board: Value, pieces_per_mould: Value, per_mould: Value) -> Value:
    """Mould board per good piece [m²/piece]."""
    return mould_board * pieces_per_mould * per_mould


def per_joint(joint: Value, pieces_per_mould: Value, per_mould: Value) -> Value:
    """Mould joints per good piece [m/piece]."""
    return joint * pieces_per_mould * per_mould


def applied_overhead_rate(overhead_per_labour_hour: Value, overhead_rate: Value) -> Value:
    """Overhead carried by each labour hour: as given, or overhead per year over productive hours [currency/h]."""
    return choose(overhead_per_labour_hour > 0, overhead_per_labour_hour, overhead_rate)


def overhead_cost(applied_overhead_rate: Value, labour_hours: Value) -> Value:
    """Overhead carried by the piece [currency/piece]."""
    return applied_overhead_rate * labour_hours


def unit_cost(
    concrete_cost: Value, mould_cost: Value, labour_cost: Value, machine_cost: Value, finish_cost: Value,
    extras_cost: Value, overhead_cost: Value,
) -> Value:
    """What a good piece costs [currency/piece]."""
    return concrete_cost + mould_cost + labour_cost + machine_cost + finish_cost + extras_cost + overhead_cost


def wanted_margin(has_own_margin: Value, own_margin: Value, target_margin: Value) -> Value:
    """The line's own target margin, or the workshop's [1]."""
    return choose(has_own_margin, own_margin, target_margin)


def target_price(unit_cost: Value, wanted_margin: Value, taken_share: Value) -> Value:
    """Price that earns the wanted margin once commission, cards and warranty have their share; both are shares of the price and
    not of the cost [currency/piece].

    >>> target_price(144.0, 0.4, 0.0), target_price(144.0, 0.4, 0.12)
    (240.0, 300.0)
    """
    return unit_cost / (1 - wanted_margin - taken_share)


def price_steps(target_price: Value, price_step: Value) -> Value:
    """Target price counted in price steps [1]."""
    return target_price / price_step


def whole_steps(round_up: Value, price_steps: Value) -> Value:
    """Price steps, rounded up or to the nearest [1]."""
    return choose(round_up, whole_up(price_steps), whole_nearest(price_steps))


def rounded_price(whole_steps: Value, price_step: Value, minor_digits: Value) -> Value:
    """Target price, rounded by the price step [currency/piece]."""
    return round_to(whole_steps * price_step, minor_digits)


def at_usual_run(quantity: Value, usual_run: Value) -> Value:
    """1 where the quantity is the product's usual run [flag]."""
    return choose(abs(quantity - usual_run) > 0, 0, 1)


def from_usual_run(quantity: Value, usual_run: Value) -> Value:
    """1 where the quantity is the product's usual run or more [flag]."""
    return choose(quantity < usual_run, 0, 1)


def price_is_given(
    price_is_typed: Value, price_is_listed: Value, list_at_usual_run: Value, at_usual_run: Value, list_from_usual_run: Value,
    from_usual_run: Value,
) -> Value:
    """1 where a price stands: a typed one always, a list price at any quantity, at the usual run alone, or from it on [flag].

    >>> [float(price_is_given(0.0, 1.0, at, 0.0, on, 1.0)) for at, on in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))]
    [1.0, 0.0, 1.0]
    """
    return price_is_typed + price_is_listed * (1 - list_at_usual_run * (1 - at_usual_run) - list_from_usual_run * (1 - from_usual_run))


def unit_price(price_is_given: Value, given_price: Value, rounded_price: Value) -> Value:
    """What the customer pays for one, without tax [currency/piece]."""
    return choose(price_is_given, given_price, rounded_price)


def line_net(quantity: Value, unit_price: Value, own_discount: Value, minor_digits: Value) -> Value:
    """Quantity times unit price less the line's own discount, rounded (EN 16931, BT-131 with BT-136) [currency].

    >>> float(line_net(3.0, 0.335, 0.0, 2)), float(line_net(10.0, 8.0, 0.05, 2))
    (1.01, 76.0)
    """
    return round_to(quantity * unit_price * (1 - own_discount), minor_digits)


def line_cost(quantity: Value, unit_cost: Value) -> Value:
    """Quantity times unit cost, not rounded [currency]."""
    return quantity * unit_cost


def line_margin(line_net: Value, line_cost: Value, taken_share: Value) -> Value:
    """Share of a line's net, before the customer's discount, that is left after its cost and what is taken from the price [1]; 0 where
    nothing is charged."""
    return choose(line_net > 0, (line_net - line_cost) / line_net - taken_share, 0)


def discountable_net(line_net: Value, discount_is_own: Value) -> Value:
    """Net of a line where the customer's discount is taken off it [currency]."""
    return line_net * (1 - discount_is_own)


def discount_rate(discount_is_own: Value, own_discount: Value, quote_discount: Value) -> Value:
    """The line's own discount, or the customer's [1]."""
    return choose(discount_is_own, own_discount, quote_discount)


def discounted_net(line_net: Value, quote_discount: Value, discount_is_own: Value) -> Value:
    """Net less the line's share of the customer's discount [currency]."""
    return line_net * (1 - quote_discount * (1 - discount_is_own))


def taken(discounted_net: Value, taken_share: Value) -> Value:
    """What commission, cards and warranty take of a line [currency]."""
    return discounted_net * taken_share


def discounted_margin(discounted_net: Value, taken: Value, line_cost: Value) -> Value:
    """Share of a line's net after discount that is left after its cost and what is taken from the price [1]; 0 where nothing is
    charged."""
    return choose(discounted_net > 0, (discounted_net - taken - line_cost) / discounted_net, 0)


def contribution(discounted_net: Value, taken: Value, line_cost: Value, quantity: Value, overhead_cost: Value) -> Value:
    """Net after discount and what is taken from it, less the costs that the line causes: all but the overhead [currency]."""
    return discounted_net - taken - line_cost + quantity * overhead_cost


def line_mass(quantity: Value, mass: Value) -> Value:
    """Mass of all pieces of a line [kg]."""
    return quantity * mass


def below_lowest(discounted_margin: Value, lowest_margin: Value) -> Value:
    """1 where a line's margin after discount is below the lowest, to nine places [flag]."""
    return choose(round_to(discounted_margin - lowest_margin, 9) < 0, 1, 0)


def too_heavy(mass: Value, one_person_lift: Value) -> Value:
    """1 where a piece is heavier than one person should lift, to nine places [flag]."""
    return choose(round_to(mass - one_person_lift, 9) > 0, 1, 0)
