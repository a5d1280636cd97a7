"""The whole method a second time, from the price book's page alone: plain loops over rows, which share no code with the package.

What the page does not say of a shape (joints and boards of a mould whose sides are not all alike) is lent by the engine.
"""

from __future__ import annotations

import datetime
import math
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Any

Row = dict[str, Any]
Line = dict[str, Any]

#: One of each unit in metres, kilograms, litres, square metres, minutes, hours, kilowatts.
SI = {"mm": 0.001, "m": 1.0, "kg": 1.0, "L": 1.0, "m2": 1.0, "min": 1.0, "h": 1.0, "kW": 1.0, "%": 0.01, "m2/L": 1.0}
ALWAYS = datetime.date(1, 1, 1)
CASTIN = ("reinforcement", "cast in")
ONCE = ("line", "order", "quote")
BUILDS = ("mould", "m2 mould", "m joint", "ft2 mould", "ft joint")
OF_A_CAST = ("cast", "batch", *BUILDS)
TAKE_OFF = {"face": "face", "underside": "underside", "open side": "open", "top of mould": "open", "mould": "mould", "arris": "arris",
            "joint": "joint", "length": "length", "width": "width"}
METRIC = {"m": 1.0, "m2": 1.0, "ft": 0.3048, "ft2": 0.3048**2}


def figure(value: Any, blank: float = 0.0) -> float:
    """A cell in the units above."""
    if value is None:
        return blank
    return value[1] * SI[value[0]] if isinstance(value, tuple) else value


def same(one: Any, other: Any) -> bool:
    """Whether two names are one."""
    return str(one).casefold() == str(other).casefold()


def rounded(amount: float, places: int = 2, how: str = ROUND_HALF_UP) -> float:
    """Money."""
    return float(Decimal(f"{amount:.15g}").quantize(Decimal(1).scaleb(-places), how))


def whole(number: float) -> int:
    """The next whole number, noise of the arithmetic aside."""
    return math.ceil(float(f"{number:.12g}"))


def shared(weights: list[float], amount: float) -> list[float]:
    """An amount by weights, to the cent, by largest remainder."""
    total = sum(weights)
    if not total:
        return [amount, *[0.0] * (len(weights) - 1)]
    exact = [amount * 100 * weight / total for weight in weights]
    cents = [math.floor(each + 1e-7) for each in exact]
    first = sorted(range(len(weights)), key=lambda at: (-round(exact[at] - cents[at], 7), at))
    for at in first[: round(amount * 100) - sum(cents)]:
        cents[at] += 1
    return [each / 100 for each in cents]


def take_off(piece: Row, lent: Row) -> Row:
    """Volume, areas and lengths of a piece."""
    shape, length, width, thick = piece["Shape"].casefold(), *(figure(piece.get(name)) for name in ("Length", "Width", "Thickness"))
    off: Row = {"length": length, "width": width}
    if shape.startswith("slab with o") or shape == "slab":
        around = 2 * (length + width)
        holes, across = piece.get("Holes") or 0, figure(piece.get("Hole diameter"))
        openings, long, wide = piece.get("Openings") or 0, figure(piece.get("Opening length")), figure(piece.get("Opening width"))
        run = openings * 2 * (long + wide) + holes * math.pi * across
        plan = length * width - openings * long * wide - holes * math.pi * across**2 / 4
        seen = [2 - (piece[name] if piece.get(name) is not None else 2) for name in ("Seen long edges", "Seen short edges")]
        hidden = seen[0] * length + seen[1] * width
        corners = min(4, 2 * seen[0] + 2 * seen[1] - seen[0] * seen[1])
        off |= {"volume": plan * thick, "face": plan + (around + run - hidden) * thick, "underside": plan, "open": plan,
                "arris": around + 4 * thick + run - hidden - corners * thick, "release": plan + (around + run) * thick,
                "joint": around + 4 * thick + run}
    elif shape in ("disc", "ring"):
        outer, inner = figure(piece["Diameter"]), figure(piece.get("Inner diameter"))
        plan, run = math.pi * (outer**2 - inner**2) / 4, math.pi * (outer + inner)
        off |= {"length": outer, "width": outer, "volume": plan * thick, "face": plan + run * thick, "underside": plan, "open": plan,
                "arris": run, "release": plan + run * thick, "joint": run}
    elif shape == "solid":
        names = {"face": "Face area", "underside": "Underside area", "open": "Open side area", "arris": "Arris length",
                 "mould": "Mould area", "joint": "Joint length", "release": "Release area"}
        off |= {name: figure(piece.get(column)) for name, column in names.items()} | {"volume": figure(piece["Volume"]) / 1000}
    return {**lent, **off}


class Calculator:
    """A price book by its rows.

    Parameters
    ----------
    sheets : rows of each sheet by their headings; figures with a unit are pairs of both
    """

    def __init__(self, sheets: dict[str, list[Any]]) -> None:
        self.sheets = {name: [] for name in ("Extras", "Services", "Sets", "Levels", "Quotes", "Delivery", "Cut-outs", "Layers")} | sheets

    def setting(self, name: str, blank: Any = 0.0, day: datetime.date = datetime.date.max) -> Any:
        """What a setting is on a day."""
        found = [(row[2] if len(row) > 2 else ALWAYS, row[1]) for row in self.sheets["Workshop"] if row[0] == name]
        held = [each for each in found if each[0] <= day]
        value = max(held, key=lambda each: each[0])[1] if held else blank
        return value if isinstance(value, str) else figure(value)

    def row(self, sheet: str, heading: str, name: Any) -> Row:
        """The row of a name; nothing where there is none."""
        return next((row for row in self.sheets.get(sheet, []) if name and same(row.get(heading), name)), {})

    def material(self, name: str, day: datetime.date) -> Row:
        """A material as it is on a day: what a later row leaves blank is as in the row before it."""
        rows = sorted((row for row in self.sheets["Materials"] if same(row["Material"], name)), key=lambda row: row["Priced on"])
        found: Row = {}
        for row in rows:
            if row["Priced on"] <= day:
                found |= {heading: value for heading, value in row.items() if value is not None}
        return found

    def price(self, name: str, day: datetime.date, per: str = "") -> float:
        """Of one pack unit, or of a kg, an L or a m2."""
        row = self.material(name, day)
        one = (row["Pack price"] + row.get("Carriage", 0)) / row["Pack size"] * (1 + figure(row.get("Wastage")))
        if per == "m2" and row["Pack unit"] == "sheet":
            return one / (figure(row["Sheet length"]) * figure(row["Sheet width"]))
        heavy = row.get("Density", 1000) / 1000
        return one / heavy if (per, row["Pack unit"]) == ("kg", "L") else one * heavy if (per, row["Pack unit"]) == ("L", "kg") else one

    def mix(self, name: str, day: datetime.date) -> tuple[float, float]:
        """Mass and cost of a cubic metre."""
        parts, fixed, of_binder, air = {}, {}, {}, 0.0
        for row in (row for row in self.sheets["Mixes"] if same(row["Mix"], name)):
            what, amount, basis = row["Material"], figure(row["Amount"]), row["Basis"]
            if what == "Air":
                air = amount
                continue
            of = self.material(what, day)
            into = parts if basis.startswith("parts") else of_binder if "binder" in basis else fixed
            factor = {"parts by volume": of.get("Bulk density", 0), "L/m3": of["Density"] / 1000, "mL/kg binder": of["Density"] / 1e6,
                      "% of volume": of["Density"]}
            into[what] = amount * factor.get(basis, 1.0)
        materials = {what: self.material(what, day) for what in (*parts, *fixed, *of_binder)}

        def binder(masses: dict[str, float]) -> float:
            return sum(mass for what, mass in masses.items() if materials[what]["Kind"] == "binder")

        def volume(masses: dict[str, float]) -> float:
            own = sum(mass / materials[what]["Density"] for what, mass in masses.items())
            return own + sum(share * binder(masses) / materials[what]["Density"] for what, share in of_binder.items())

        times = (1 - air - volume(fixed)) / volume(parts) if parts else 0.0
        masses = {what: times * part for what, part in parts.items()} | fixed
        content = binder(masses)
        masses |= {what: share * content for what, share in of_binder.items()}
        cost = 0.0
        for what, mass in masses.items():
            of = materials[what]
            if of["Kind"] == "aggregate":
                soaked = figure(of.get("Absorption")) if self.setting("Aggregates in recipes") == "saturated" else 0.0
                cost += mass / (1 + soaked) * (1 + figure(of.get("Moisture"))) * self.price(what, day, "kg")
            else:
                cost += mass * self.price(what, day, "kg")
        return sum(masses.values()), cost

    def wage(self, trade: str, day: datetime.date) -> float:
        """Of an hour."""
        rows = [(row.get("From") or ALWAYS, row["Hourly cost"]) for row in self.sheets["Trades"] if same(row["Trade"], trade)]
        return float(max(each for each in rows if each[0] <= day)[1])

    def machine(self, name: str, day: datetime.date) -> float:
        """Of an hour."""
        row = self.row("Machines", "Machine", name)
        resale, life = row.get("Resale") or 0, figure(row["Life"])
        electricity = self.setting("Electricity price", 0.0, day)
        rate = (row["Price"] - resale) / life + (row.get("Upkeep") or 0) + figure(row.get("Power")) * electricity
        if row.get("Hours per year"):
            years = life / figure(row["Hours per year"])
            tied_up = (row["Price"] - resale) * (years + 1) / (2 * years) + resale
            rate += tied_up * self.setting("Interest rate") / figure(row["Hours per year"])
        return float(rate)

    def lines(self, quote: str) -> list[Line]:
        """What is asked for, options left out, sets by their parts."""
        found: list[Line] = []
        asked = [row for row in self.sheets["Enquiries"] if row["Quote"] == quote]
        for number, row in enumerate(asked, 1):
            parts = [part for part in self.sheets["Sets"] if part["Set"] == row["Product"]]
            for name, times in [(part["Product"], part["Quantity"]) for part in parts] or [(row["Product"], 1)]:
                base = self.row("Services", "Service", name) or self.row("Products", "Product", name)
                own = {heading: value for heading, value in row.items() if value is not None and (not parts or heading == "Finish")}
                changed = {heading: own[heading] for heading in ("Length", "Mix", "Finish", "Labour plan") if heading in own}
                service = "Service" in base
                found.append({
                    "asked": row, "number": number, "name": name, "quantity": row["Quantity"] * times, "day": row["Date"], "base": base,
                    "piece": base if service else base | changed, "changed": bool(changed), "service": service, "part": bool(parts)})
        return [line for line in found if not line["asked"].get("Offer")]

    def measure(self, quote: str, line: Line, moulds: float, lent: Row) -> None:
        """Take-off, mixes, moulds and days of casting of a line."""
        piece, day, quantity = line["piece"], line["day"], line["quantity"]
        line["rejects"] = figure(piece.get("Rejects"))
        line["casts"] = quantity / (1 - line["rejects"])
        line |= {"plan": self.row("Moulds", "Mould plan", piece.get("Mould plan")), "mixes": [], "rounds": 0.0, "charged": 0.0, "held": 1}
        line["off"] = dict.fromkeys(("volume", "mass", *TAKE_OFF.values()), 0.0)
        if line["service"]:
            return
        off = line["off"] = take_off(piece, lent)
        own = [row for row in self.sheets["Cut-outs"] if row.get("Quote") == quote and row["Line"] == line["number"]]
        line["changed"] |= bool(own)
        for cut in own or [row for row in self.sheets["Cut-outs"] if row.get("Product") == line["name"]]:
            count, depth = cut.get("Count") or 1, figure(piece["Thickness"])
            long, wide = figure(cut.get("Length")), figure(cut.get("Width"))
            radius = figure(cut.get("Corner radius")) if long else figure(cut["Diameter"]) / 2
            long, wide = (long, wide) if long else (2 * radius, 2 * radius)
            plan, girth = long * wide - (4 - math.pi) * radius**2, 2 * (long + wide) - (8 - 2 * math.pi) * radius
            for name, gain in (("volume", -plan * depth), ("face", girth * depth - plan), ("underside", -plan), ("open", -plan),
                               ("arris", girth), ("release", girth * depth - plan), ("joint", girth)):
                off[name] += count * gain
        mixes = [[piece["Mix"].casefold(), off["volume"], *self.mix(piece["Mix"], day)]]
        for layer in (row for row in self.sheets["Layers"] if row["Product"] == line["name"]):
            volume = lent["layers"][layer["Mix"].casefold(), layer["On"]]
            mixes.append([layer["Mix"].casefold(), volume, *self.mix(layer["Mix"], day)])
            mixes[0][1] -= volume
        line["mixes"] = mixes
        off["mass"] = sum(volume * mass for _, volume, mass, _ in mixes)
        line["rounds"] = 1 / (1 - line["rejects"])
        if plan := line["plan"]:
            line["held"] = held = plan.get("Pieces per mould") or 1
            life, kept = plan["Lasts"] * held, piece.get("Moulds kept") or 0
            worn = line["casts"] / life
            stock = piece.get("Made for") == "stock"
            line["charged"] = worn if stock else max(max(whole(quantity / life), moulds) - kept, worn - kept, 0)
            line["rounds"] = max(whole(quantity / moulds / held), line["casts"] / moulds / held)

    def loads(self, lines: list[Line]) -> dict[str, float]:
        """Mixer loads of each mix; each line is given its share."""
        more, mixer = 1 + self.setting("Mix allowance"), self.setting("Mixer load") / 1000
        good, cast, rounds = {}, {}, {}
        for line in lines:
            for mix, volume, *_ in line["mixes"]:
                good[mix] = good.get(mix, 0.0) + line["quantity"] * volume * more
                cast[mix] = cast.get(mix, 0.0) + line["casts"] * volume * more
                rounds[mix] = max(rounds.get(mix, 0.0), line["rounds"])
        by_day = self.setting("Mixer loads", "") != "by volume"
        found = {mix: max(whole(good[mix] / mixer), cast[mix] / mixer, rounds[mix] * by_day) for mix in good}
        for line in lines:
            line["loads"] = sum(found[mix] * line["casts"] * volume * more / cast[mix] for mix, volume, *_ in line["mixes"])
        return found

    def count(self, line: Line, per: str, sharing: int = 1) -> float:
        """Of what something is counted by, how much a good piece has."""
        quantity = line["quantity"]
        built = line["charged"] / quantity if line["plan"].get("Board") else 0.0
        plain = {"line": 1 / quantity, "order": 1 / quantity, "quote": 1 / quantity / sharing, "batch": line["loads"] / quantity,
                 "piece": 1.0, "cast": 0.0 if line["service"] else line["casts"] / quantity, "mould": built, "m3": line["off"]["volume"],
                 "ft3": line["off"]["volume"] / 0.3048**3, "kg": line["off"]["mass"], "lb": line["off"]["mass"] / 0.45359237}
        if per in plain:
            return float(plain[per])
        unit, _, name = per.partition(" ")
        times = built * line["held"] if name in ("mould", "joint") else 1.0
        return float(line["off"][TAKE_OFF[name]] / METRIC[unit] * times)

    def steps(self, line: Line) -> list[Row]:
        """The steps of a line."""
        plan, finish = line["piece"].get("Labour plan"), line["piece"].get("Finish")
        return [row for row in self.sheets["Labour"] if plan and row["Labour plan"] == plan and row.get("Minutes") and
                (not row.get("Finish") or row["Finish"] == finish)]

    def needs(self, quote: str, line: Line) -> list[Row]:
        """What is bought in for a line."""
        return [row for row in self.sheets["Extras"] if row.get("Quote") == quote or row.get("Product") == line["name"]]

    def hours(self, step: Row, line: Line, lines: list[Line]) -> float:
        """Hours of a step for a good piece."""
        per, lost = step["Per"], step.get("Lost on reject") == "yes"
        having = [each for each in lines if any(row["Step"] == step["Step"] and row["Per"] == "quote" for row in self.steps(each))]
        hours = figure(step["Minutes"]) / 60 * self.count(line, per, len(having) or 1)
        if lost and per not in (*OF_A_CAST, *ONCE):
            hours /= 1 - line["rejects"]
        slope = figure(step.get("Learning"), 1.0)
        done = {"cast": line["casts"], "batch": line["loads"]}.get(per, line["charged"] if per in BUILDS else line["quantity"])
        if slope == 1 or per in ONCE or not done:
            return hours
        power, full = math.log2(slope), math.floor(done + 1e-12)
        if self.setting("Learning form", "unit") == "cumulative average":
            return float(hours * max(done, 1.0) ** power)
        return float(hours * (sum(n**power for n in range(1, full + 1)) + (done - full) * (full + 1) ** power) / done)

    def cost(self, quote: str, line: Line, lines: list[Line]) -> None:
        """What a good piece costs, part by part."""
        day, piece, plan, quantity = line["day"], line["piece"], line["plan"], line["quantity"]
        cost = dict.fromkeys(("concrete", "mould", "labour", "machine", "finish", "extras"), 0.0)
        line["hours"] = steel = 0.0
        more = 1 + self.setting("Mix allowance")
        cost["concrete"] = sum(volume * price for _, volume, _, price in line["mixes"]) * more * line["casts"] / quantity
        for step in self.steps(line):
            hours = self.hours(step, line, lines)
            cost["machine"] += hours * self.machine(step["Machine"], day) if step.get("Machine") else 0.0
            if step.get("Trade"):
                line["hours"] += hours
                cost["mould" if step["Per"] in BUILDS else "labour"] += hours * self.wage(step["Trade"], day)
        if plan:
            pattern = (plan.get("Pattern price") or 0) / (plan.get("Moulds of a pattern") or 1)
            each = (plan.get("Price") or 0) - (plan.get("Resale") or 0) + pattern
            if plan.get("Board"):
                fillet = (1 - math.pi / 4) * figure(plan.get("Sealant radius")) ** 2 * 1000
                joint = fillet * self.price(plan["Sealant"], day, "L") if plan.get("Sealant") else 0.0
                joint += self.price(plan["Fixing"], day) / figure(plan["Fixing spacing"]) if plan.get("Fixing") else 0.0
                joint += self.price(plan["Tape"], day) if plan.get("Tape") else 0.0
                each += (line["off"]["mould"] * self.price(plan["Board"], day, "m2") + line["off"]["joint"] * joint) * line["held"]
            cost["mould"] += each * line["charged"] / quantity
            if plan.get("Refit minutes"):
                refits = max(line["casts"] / line["held"] - line["charged"], 0.0) / plan["Refit every"] / quantity
                refitting = refits * figure(plan["Refit minutes"]) / 60
                line["hours"] += refitting
                cost["mould"] += refitting * self.wage(self.setting("Refit trade", "") or self.sheets["Trades"][0]["Trade"], day)
            if plan.get("Release"):
                oil = self.price(plan["Release"], day, "L") / self.setting("Release covers", 12.0)
                cost["mould"] += line["off"]["release"] * line["casts"] / quantity * oil
        for row in self.sheets["Finishes"]:
            if row["Finish"] == piece.get("Finish"):
                used = self.count(line, row["Surface"]) * (row.get("Coats") or 1) / row["Covers"]
                cost["finish"] += used * self.price(row["Material"], day)
        for need in self.needs(quote, line):
            material, per, bought = self.material(need["Material"], day), need["Per"], bool(need.get("Quote"))
            same_thing = [row for row in self.sheets["Extras"] if (row["Material"], row["Per"]) == (need["Material"], per)]
            alike = [row for row in same_thing if bool(row.get("Quote")) == bought]
            having = [each for each in lines if any(row in alike for row in self.needs(quote, each))]
            used = need["Amount"] * self.count(line, per, len(having))
            if cast_in := material["Kind"] in CASTIN:
                steel += used * figure(material.get("Unit mass"), 1.0)
            if (need.get("Lost on reject") or ("yes" if cast_in else "no")) == "yes" and per not in (*OF_A_CAST, *ONCE):
                used /= 1 - line["rejects"]
            cost["extras"] += used * self.price(need["Material"], day)
        hourly = self.setting("Overhead per labour hour", 0.0, day)
        if yearly := self.setting("Overhead per year", 0.0, day):
            hourly = yearly / self.setting("Productive hours per year", 0.0, day)
        cost["overhead"] = line["hours"] * hourly
        line |= {"cost": cost, "unit_cost": sum(cost.values()), "mass": line["off"]["mass"] + steel}

    def price_of(self, line: Line) -> None:
        """What a line is sold for: the price of one, its discount, its net."""
        asked, base, quantity = line["asked"], line["base"], line["quantity"]
        customer = self.row("Customers", "Customer", asked["Customer"])
        per = base.get("Price per") or "piece"
        of_one = {"piece": 1.0, "m2": line["off"]["underside"], "m": line["off"].get("length"), "kg": line["off"]["mass"]}[per]
        margin = self.setting("Target margin") if asked.get("Margin") is None else figure(asked["Margin"])
        target = line["unit_cost"] / (1 - margin - self.setting("Taken from the price")) / of_one
        step = self.setting("Price step") or 0.01
        steps = round(target / step, 9)
        up = self.setting("Price rounding", "up") == "up"
        rate = rounded((math.ceil(steps) if up else rounded(steps, 0)) * Decimal(f"{step:.15g}").__float__())
        levels = [row for row in self.sheets["Levels"] if row["Level"] == customer.get("Level")]
        own = [row for row in levels if row.get("Product") == line["name"]]
        level = (own or [row for row in levels if not row.get("Product")] or [{}])[0]
        typed, listed = asked.get("Unit price"), base.get("Price" if line["service"] else "List price")
        run, holds = base.get("Usual run") or 1, self.setting("List price holds", "at any quantity")
        stands = line["service"] or {"at any quantity": True, "at the usual run": quantity == run}.get(holds, quantity >= run)
        found, discount = rate, None
        if typed is not None and not line["part"]:
            found, discount = typed, 0.0
        elif asked.get("Margin") is None and level.get("Price") is not None:
            found, discount = level["Price"], 0.0
        elif asked.get("Margin") is None and listed is not None and stands and not line["changed"]:
            found = listed
        if asked.get("Discount") is not None:
            discount = figure(asked["Discount"])
        elif discount is None and level.get("Discount") is not None:
            discount = figure(level["Discount"])
        line["on_line"] = discount is not None
        terms = self.row("Quotes", "Quote", asked["Quote"])
        usual = customer.get("Discount") if terms.get("Discount") is None else terms["Discount"]
        line["usual_discount"] = figure(usual)
        charged = quantity if per == "piece" else rounded(quantity * of_one)
        line["net"] = rounded(charged * found * (1 - (discount or 0.0)))

    def quote(self, quote: str, moulds: list[float], lent: list[Row]) -> tuple[list[Line], dict[str, Any]]:
        """A quote's lines and totals.

        Parameters
        ----------
        moulds : of each line, how many stand at once
        lent : of each line, what the page does not say of its shape
        """
        lines = self.lines(quote)
        for line, at_once, more in zip(lines, moulds, lent, strict=True):
            self.measure(quote, line, at_once, more)
        found: dict[str, Any] = {"loads": self.loads(lines)}
        for line in lines:
            self.cost(quote, line, lines)
            self.price_of(line)
        for number in {line["number"] for line in lines if line["part"] and line["asked"].get("Unit price") is not None}:
            parts = [line for line in lines if line["number"] == number]
            asked = parts[0]["asked"]
            amount = rounded(asked["Unit price"] * asked["Quantity"] * (1 - figure(asked.get("Discount"))))
            for line, net in zip(parts, shared([line["unit_cost"] * line["quantity"] for line in parts], amount), strict=True):
                line |= {"net": net, "on_line": True}
        return lines, found | self.totals(quote, lines)

    def totals(self, quote: str, lines: list[Line]) -> dict[str, Any]:
        """Net, taxes, what is payable and in which stages."""
        customer = self.row("Customers", "Customer", lines[0]["asked"]["Customer"])
        terms = self.row("Quotes", "Quote", quote)
        groups: dict[float, list[float]] = {}
        kinds: dict[tuple[str, float], list[Line]] = {}
        for line in lines:
            tax = self.row("Taxes", "Tax", customer.get("Tax") or (None if customer.get("Tax rate") else line["base"].get("Tax")))
            rate = figure(tax.get("Rate")) if tax else figure(customer.get("Tax rate"), self.setting("Tax rate"))
            kinds.setdefault((str(tax.get("Tax")), rate), []).append(line)
        nets = [sum(line["net"] for line in kind) for kind in kinds.values()]
        discounts = [rounded(sum(line["net"] * line["usual_discount"] for line in kind if not line["on_line"])) for kind in kinds.values()]
        goods = [rounded(net - discount) for net, discount in zip(nets, discounts, strict=True)]
        small = rounded(max(0.0, self.setting("Smallest order") - sum(goods)))
        mass = rounded(sum(line["quantity"] * line["mass"] for line in lines), 3)
        bands = sorted((figure(row["Up to"]), row["Charge"]) for row in self.sheets["Delivery"])
        carriage = next(charge for up_to, charge in bands if mass <= up_to) if mass and customer.get("Delivery zone") else 0.0
        charges = shared(goods if sum(goods) else [1.0] * len(goods), rounded(small + carriage))
        bases = [rounded(good + charge) for good, charge in zip(goods, charges, strict=True)]
        how = ROUND_FLOOR if self.setting("Tax rounding", "nearest") == "down" else ROUND_HALF_UP
        for (_, rate), base in zip(kinds, bases, strict=True):
            groups.setdefault(rate, []).append(rounded(base * rate, 2, how))
        net, tax = rounded(sum(bases)), rounded(sum(sum(amounts) for amounts in groups.values()))
        gross = payable = rounded(net + tax)
        if cash := self.setting("Cash step"):
            payable = rounded(rounded(gross / cash, 0) * cash)
        plan = terms.get("Payments") or (customer.get("Payments") if terms.get("Deposit") is None else None)
        stages = [row for row in self.sheets.get("Payments", []) if row["Payments"] == plan]
        if stages:
            stated = [figure(row.get("Share")) for row in stages]
            amounts = shared([share or 1 - sum(stated) for share in stated], payable)
        else:
            deposit = rounded(payable * (self.setting("Deposit") if terms.get("Deposit") is None else figure(terms["Deposit"])))
            amounts = [deposit, rounded(payable - deposit)] if deposit else [payable]
        kept = [line["net"] * (1 if line["on_line"] else 1 - line["usual_discount"]) for line in lines]
        cost = sum(line["unit_cost"] * line["quantity"] for line in lines) + carriage + self.setting("Taken from the price") * sum(kept)
        return {"discount": rounded(sum(discounts)), "small_order_charge": small, "carriage": carriage, "net": net, "tax": tax,
                "gross": gross, "payable": payable, "quote_mass": mass, "quote_cost": cost, "stages": amounts}
