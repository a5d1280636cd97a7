"""A second invented workshop, which works in inches, pounds and US gallons: every name and price is made up.

Run ``python -m pricing.book.starter.demo_imperial "workbooks/demo price book imperial.xlsx"`` to write it. Pack units stay the words
of the price book (kg, L, m, m2); a cell that is counted otherwise says so itself: ``94 lb``. Minutes are counted by the square foot,
the foot and the pound, as the words under Per say.
"""

from __future__ import annotations

import datetime
import sys
from pathlib import Path

from pricing.book.shown_units import MEASURES
from pricing.book.starter.data import BookData, Row, rows

day = datetime.date

_SETTINGS: Row = {
    "Business name": "Thornquill Hollow Castings",
    "Address": "12 Kiln Spur\nThornquill Hollow 00000",
    "Contact": "555-0142 · hello@thornquillhollow.example",
    "Tax number": "",
    "Currency": "USD",
    "Tax name": "Sales tax",
    "Tax rate": 0.0625,
    "Target margin": 0.18,
    "Lowest margin": 0.10,
    "Overhead per labour hour": 24.0,
    "Price step": 1.0,
    "Price rounding": "up",
    "Smallest order": 180.0,
    "Quote valid for": 60,
    "Deposit": 0.5,
    "Mix allowance": 0.08,
    "Mixer load": 18.0,
    "Electricity price": 0.15,
    "Hours per day": 8.0,
    "One-person lift": 50.0,
    "Release covers": 450.0,
    "Refit trade": "Caster",
    "Tax rounding": "nearest",
    "Start within": 5,
    "People": 2,
    "Mould places": 10,
    "Saw kerf": 0.125,
    "Scale step": 0.02,
    "Measures": "inches and pounds",
}

_A, _B = day(2026, 2, 2), day(2026, 9, 7)
_MATERIALS = rows(
    "Material|Kind|Pack size|Pack unit|Pack price|Carriage|Wastage|Density|Bulk density|Supplier|Priced on",
    ("White portland", "binder", "94 lb", "kg", 31.50, 2.00, 0.03, 194, 94, "Oxgrist Supply", _A),
    ("White portland", "binder", "94 lb", "kg", 33.25, 2.00, 0.03, 194, 94, "Oxgrist Supply", _B),
    ("Gray portland", "binder", "94 lb", "kg", 16.80, 1.25, 0.03, 196, 94, "Oxgrist Supply", _A),
    ("Pozzolan", "binder", "55 lb", "kg", 38.00, 3.00, 0.03, 160, 40, "Oxgrist Supply", _A),
    ("Silica sand 30", "aggregate", "50 lb", "kg", 9.40, 1.00, 0.05, 165, 95, "Oxgrist Supply", _A),
    ("Concrete sand", "aggregate", "2000 lb", "kg", 42.00, 25.00, 0.08, 164, 100, "Pebblewarne Pit", _A),
    ("Pea gravel", "aggregate", "2000 lb", "kg", 46.00, 25.00, 0.08, 166, 96, "Pebblewarne Pit", _A),
    ("Water", "water", "1000 US gal", "L", 6.50, 0.0, 0.10, 62.4, 62.4, "Town main", _A),
    ("Slate pigment", "pigment", "5 lb", "kg", 24.00, 2.50, 0.02, 290, 55, "Oxgrist Supply", _A),
    ("Water reducer", "admixture", "1 US gal", "L", 46.00, 4.00, 0.03, 66, None, "Oxgrist Supply", _A),
    ("AR glass fiber", "fibre", "5 lb", "kg", 29.00, 2.00, 0.05, 167, 44, "Oxgrist Supply", _A),
    ("Silicone black", "sealant", "10.1 US fl oz", "L", 7.90, 0.20, 0.20, 64, None, "Kerfmarrow Panels", _A),
    ("Screw 2 in", "fixing", 200, "each", 11.50, 0.50, 0.10, None, None, "Kerfmarrow Panels", _A),
    ("Seam tape", "tape", "180 ft", "m", 8.25, 0.25, 0.10, None, None, "Kerfmarrow Panels", _A),
    ("Form release", "release", "1 US gal", "L", 34.00, 3.00, 0.05, 55, None, "Oxgrist Supply", _A),
    ("Resin pad 50", "abrasive", 1, "each", 16.00, 0.50, 0.0, None, None, "Kerfmarrow Panels", _A),
    ("Resin pad 100", "abrasive", 1, "each", 16.00, 0.50, 0.0, None, None, "Kerfmarrow Panels", _A),
    ("Resin pad 200", "abrasive", 1, "each", 16.00, 0.50, 0.0, None, None, "Kerfmarrow Panels", _A),
    ("Resin pad 400", "abrasive", 1, "each", 16.00, 0.50, 0.0, None, None, "Kerfmarrow Panels", _A),
    ("Hand block", "abrasive", 4, "each", 24.00, 0.50, 0.0, None, None, "Kerfmarrow Panels", _A),
    ("Densifying sealer", "sealer", "1 US gal", "L", 96.00, 6.00, 0.08, None, None, "Oxgrist Supply", _A),
    ("Floating bracket", "bought in", 2, "each", 18.00, 1.00, 0.0, None, None, "Kerfmarrow Panels", _A),
    ("Foam sheet", "packing", "250 ft2", "m2", 38.00, 4.00, 0.10, None, None, "Kerfmarrow Panels", _A),
) + rows(
    "Material|Kind|Pack size|Pack unit|Pack price|Carriage|Wastage|Sheet length|Sheet width|Sheet thickness|Supplier"
    "|Priced on",
    ("Melamine panel 3/4", "board", 1, "sheet", 52.00, 4.00, 0.15, 97, 49, 0.75, "Kerfmarrow Panels", _A),
) + rows(
    # A polymer counts by its solids. Unit mass of a metre of No. 3 bar: ASTM A615, table 1 (0.560 kg/m).
    "Material|Kind|Pack size|Pack unit|Pack price|Carriage|Wastage|Density|Solids|Unit mass|Supplier|Priced on",
    ("Acrylic polymer", "admixture", "5 US gal", "L", 118.00, 9.00, 0.03, 65.5, 0.46, None, "Oxgrist Supply", _A),
    ("No. 3 bar", "reinforcement", "20 ft", "m", 9.80, 0.60, 0.08, None, None, "0.560 kg", "Oxgrist Supply", _A),
)

_MIXES = rows(
    "Mix|Material|Amount|Basis",
    ("White GFRC", "White portland", 85, "parts by mass"),
    ("White GFRC", "Pozzolan", 15, "parts by mass"),
    ("White GFRC", "Silica sand 30", 100, "parts by mass"),
    ("White GFRC", "Acrylic polymer", 0.11, "% of binder"),
    ("White GFRC", "Water", 27, "parts by mass"),
    ("White GFRC", "Water reducer", "0.12 US fl oz/lb", "mL/kg binder"),
    ("White GFRC", "AR glass fiber", 0.02, "% of volume"),
    ("White GFRC", "Air", 0.03, "% of volume"),
    ("Slate mix", "Gray portland", "710 lb/yd3", "kg/m3"),
    ("Slate mix", "Concrete sand", "1380 lb/yd3", "kg/m3"),
    ("Slate mix", "Pea gravel", "1510 lb/yd3", "kg/m3"),
    ("Slate mix", "Water", "37.5 US gal/yd3", "L/m3"),
    ("Slate mix", "Slate pigment", 0.04, "% of binder"),
    ("Slate mix", "Water reducer", "0.1 US fl oz/lb", "mL/kg binder"),
    ("Slate mix", "Air", 0.02, "% of volume"),
    ("Yard mix", "Gray portland", "1 ft3", "parts by volume"),
    ("Yard mix", "Concrete sand", "2 ft3", "parts by volume"),
    ("Yard mix", "Pea gravel", "2 ft3", "parts by volume"),
    ("Yard mix", "Water", "0.65 ft3", "parts by volume"),
    ("Yard mix", "Air", 0.02, "% of volume"),
)

_TRADES = rows(
    "Trade|Hourly cost|From",
    ("Caster", 28.0, None), ("Caster", 29.0, _B), ("Finisher", 27.0, None), ("Drafter", 38.0, None),
)

_MACHINES = rows(
    "Machine|Price|Resale|Life|Upkeep|Power",
    ("Mortar mixer", 2900.0, 500.0, 4000, 0.90, 1.5),
    ("Shake table", 1400.0, 200.0, 5000, 0.40, 1),
    ("Wet grinder", 780.0, 80.0, 1500, 1.80, 1.5),
)

#: From the form to the packed piece, by the cast or the piece and by its size: common practice, no source.
_CUT = ("Cut the panels", "Caster", 2.3, "ft2 mould", "", None, False)
_BUILD = ("Build the form", "Caster", 30, "mould", "", None, False)
_SEAMS = ("Seal the seams, let cure", "Caster", 2.4, "ft joint", "", 12, False)
_CASTING: tuple[tuple[object, ...], ...] = (
    ("Set up and clean the mixer", "Caster", 10, "batch", "", None, True),
    ("Batch and mix", "Caster", 0.04, "lb", "Mortar mixer", None, True),
    ("Place", "Caster", 9, "cast", "", None, True),
    ("Tamp and screed", "Caster", 0.11, "lb", "", None, True),
    ("Shake, leave in the form", "Caster", 4, "cast", "Shake table", 48, True),
    ("Strip the form", "Caster", 10, "cast", "", None, True),
    ("Turn and move", "Caster", 0.07, "lb", "", None, True),
)
_FINISHING: tuple[tuple[object, ...], ...] = (
    ("Look over", "Finisher", 11, "piece", "", None, False),
    ("Patch and slurry", "Finisher", 2.8, "ft2 face", "", None, False),
    ("Hone the face", "Finisher", 10.2, "ft2 face", "Wet grinder", None, False),
    ("Ease the edges", "Finisher", 1.5, "ft arris", "", None, False),
    ("Dry before sealing", "", None, "", "", 24, False),
    ("Seal, two coats", "Finisher", 1.9, "ft2 face", "", 24, False),
    ("Crate", "Caster", 12, "piece", "", None, False),
    ("Wrap", "Caster", 0.9, "ft2 face", "", None, False),
)
_OPEN_SIDE = ("Grind the open side", "Finisher", 2.3, "ft2 open side", "Wet grinder", None, True)
_PLANS: dict[str, tuple[tuple[object, ...], ...]] = {
    "Shop": (("Draw and lay out", "Drafter", 30, "line", "", None, False), _CUT, _BUILD, _SEAMS, *_CASTING, _OPEN_SIDE, *_FINISHING),
    "Counter": (
        ("Visit, template and drawing", "Drafter", 150, "line", "", None, False), _CUT, _BUILD, _SEAMS,
        ("Tie and set the bars", "Caster", 2.4, "ft length", "", None, True), *_CASTING, _OPEN_SIDE, *_FINISHING,
    ),
    "Tapered": (
        ("Draw and lay out", "Drafter", 40, "line", "", None, False),
        ("Cut the panels to bevels", "Caster", 4.2, "ft2 mould", "", None, False),
        ("Build the tapered form and its core", "Caster", 180, "mould", "", None, False), _SEAMS, *_CASTING,
        # Half of a planter's face is its inside, which is rubbed and sealed, not honed.
        ("Look over", "Finisher", 11, "piece", "", None, False), ("Patch and slurry", "Finisher", 1.9, "ft2 face", "", None, False),
        ("Hone the outside, rub the inside", "Finisher", 5.6, "ft2 face", "Wet grinder", None, False), *_FINISHING[3:],
    ),
    "Yard": (
        ("Order papers", "Drafter", 12, "quote", "", None, False), _CUT, _BUILD,
        ("Set up and clean the mixer", "Caster", 8, "batch", "", None, True),
        ("Batch and mix", "Caster", 0.03, "lb", "Mortar mixer", None, True),
        ("Place", "Caster", 1.5, "cast", "", None, True), ("Tamp and screed", "Caster", 0.02, "lb", "", None, True),
        ("Shake, leave in the form", "Caster", 1.5, "cast", "Shake table", 48, True),
        ("Strip the form", "Caster", 1.5, "cast", "", None, True), ("Stack", "Caster", 1.5, "piece", "", None, False),
    ),
}
_LABOUR = [
    {"Labour plan": plan, **row}
    for plan, steps in _PLANS.items()
    for row in rows("Step|Trade|Minutes|Per|Machine|Wait|Lost on reject", *steps)
]

_MOULDS = rows(
    "Mould plan|Board|Lasts|Sealant|Sealant radius|Fixing|Fixing spacing|Tape|Release|Refit every|Refit minutes",
    ("Panel, one cast", "Melamine panel 3/4", 1, "Silicone black", 0.1875, "Screw 2 in", 6, "", "Form release", None, None),
    ("Panel, several", "Melamine panel 3/4", 6, "Silicone black", 0.1875, "Screw 2 in", 5, "Seam tape", "Form release", 1, 12),
) + rows(
    "Mould plan|Lasts|Release|Refit every|Refit minutes|Pieces per mould|Price",
    ("Bought form, four slabs", 120, "Form release", 1, 3, 4, 165.0),
)

_FINISHES = rows(
    "Finish|Material|Covers|Coats|Surface",
    ("Honed, sealed", "Resin pad 50", "90 ft2/each", 1, "ft2 face"),
    ("Honed, sealed", "Resin pad 100", "90 ft2/each", 1, "ft2 face"),
    ("Honed, sealed", "Resin pad 200", "90 ft2/each", 1, "ft2 face"),
    ("Honed, sealed", "Resin pad 400", "90 ft2/each", 1, "ft2 face"),
    ("Honed, sealed", "Hand block", "200 ft/each", 1, "ft arris"),
    ("Honed, sealed", "Densifying sealer", "360 ft2/US gal", 2, "ft2 face"),
)

_PRODUCT = ("Mix", "Mould plan", "Labour plan", "Finish", "Rejects", "Made for", "Usual run", "List price")


def _product(name: str, description: str, shape: str, sizes: Row, *made: object) -> Row:
    return {"Product": name, "Description": description, "Shape": shape, **sizes, **dict(zip(_PRODUCT, made, strict=True))}


_PRODUCTS: list[Row] = [
    _product("Shelf 36", "Floating shelf, front edge turned down", "slab with a lip",
             {"Length": 36, "Width": 10, "Thickness": 1, "Drop": 1.5, "Long lips": 1, "Use": "wall"},
             "White GFRC", "Panel, several", "Shop", "Honed, sealed", 0.04, "stock", 4, None),
    _product("Counter 96", "Kitchen counter", "slab", {"Length": "8 ft", "Width": 25.5, "Thickness": 1.5, "Use": "worktop"},
             "Slate mix", "Panel, one cast", "Counter", "Honed, sealed", 0.06, "order", 1, None),
    _product("Hearth 48", "Flat hearth slab", "slab", {"Length": 48, "Width": 18, "Thickness": 2, "Use": "hearth"},
             "Slate mix", "Panel, one cast", "Shop", "Honed, sealed", 0.04, "order", 1, 545.0),
    _product("Stepper 18", "Garden stepping slab", "slab", {"Length": 18, "Width": 18, "Thickness": 1.75, "Use": "floor, garden"},
             "Yard mix", "Bought form, four slabs", "Yard", "", 0.02, "stock", 20, None),
    _product("Bed ring 40", "Ring for a planted bed", "ring", {"Diameter": 40, "Inner diameter": 18, "Thickness": 2.5, "Use": "garden"},
             "Yard mix", "Panel, several", "Yard", "", 0.03, "order", 2, None),
    _product("Planter 16", "Tapered square planter", "square planter",
             {"Width": 16, "Base width": 12.5, "Height": 17, "Wall": 1.25, "Holes": 1, "Hole diameter": 1, "Use": "vessel, garden"},
             "White GFRC", "Panel, several", "Tapered", "Honed, sealed", 0.06, "order", 2, None),
]

_EXTRAS = rows(
    "Product|Material|Amount|Per",
    ("Shelf 36", "Floating bracket", 2, "piece"),
    ("Counter 96", "Foam sheet", "17 ft2", "piece"),
    ("Hearth 48", "Foam sheet", "6.5 ft2", "piece"),
    ("Counter 96", "No. 3 bar", "3 ft", "ft length"),
)

_DELIVERY = rows(
    "Zone|Up to|Charge",
    ("County", 150, 45.0), ("County", 600, 85.0), ("County", 2000, 160.0), ("State", 600, 190.0), ("State", 2500, 340.0),
)

_CUSTOMERS = rows(
    "Customer|Address|Discount|Tax rate|Delivery zone",
    ("Wren Haddowmere", "4 Spindle Court, Thornquill Hollow 00000", None, None, "County"),
    ("Skeldrake Builders", "Lot 9, Skeldrake 00000", 0.05, 0.0, "State"),
)


def _line(quote: str, date: datetime.date, customer: str, product: str, quantity: int, **more: object) -> Row:
    return {"Quote": quote, "Date": date, "Customer": customer, "Product": product, "Quantity": quantity, **more}


_ENQUIRIES: list[Row] = [
    _line("T-201", day(2026, 11, 9), "Wren Haddowmere", "Shelf 36", 3),
    _line("T-201", day(2026, 11, 9), "Wren Haddowmere", "Hearth 48", 1, Length='4 ft 6 in'),
    _line("T-202", day(2026, 11, 23), "Skeldrake Builders", "Counter 96", 2, Length=88.5, Thickness=1.75),
    _line("T-202", day(2026, 11, 23), "Skeldrake Builders", "Stepper 18", 24),
    _line("T-202", day(2026, 11, 23), "Skeldrake Builders", "Planter 16", 2),
]

_ACTUALS = rows(
    "Quote|Product|Item|Kind|Quantity|Cost",
    ("T-201", "Shelf 36", "White portland", "material", "43 lb", 15.60),
    ("T-201", "Shelf 36", "Densifying sealer", "material", "0.075 US gal", 7.65),
    ("T-201", "Shelf 36", "Hone the face", "step", 2.2, None),
    ("T-201", "Hearth 48", "Gray portland", "material", "37 lb", 7.10),
    ("T-201", "", "Caster", "labour", 7.3, 211.70),
    ("T-201", "Shelf 36", "All passed", "rejected", 0, None),
)

#: Everything that the price book holds: figures in the units of its headings.
DEMO_IMPERIAL: BookData = {
    "Workshop": [_SETTINGS],
    "Materials": _MATERIALS,
    "Mixes": _MIXES,
    "Trades": _TRADES,
    "Machines": _MACHINES,
    "Labour": _LABOUR,
    "Moulds": _MOULDS,
    "Finishes": _FINISHES,
    "Products": _PRODUCTS,
    "Extras": _EXTRAS,
    "Delivery": _DELIVERY,
    "Customers": _CUSTOMERS,
    "Enquiries": _ENQUIRIES,
    "Actuals": _ACTUALS,
}


def write_demo_imperial(path: Path) -> None:
    """Write the price book of the second workshop, over an older copy where there is one."""
    from pricing.book.starter.write import write_book

    write_book(path, DEMO_IMPERIAL, overwrite=True, measures=MEASURES)


if __name__ == "__main__":
    write_demo_imperial(Path(sys.argv[1]))
