"""The invented workshop of the demo price book: every name and price is made up, none is anybody's."""

from __future__ import annotations

import datetime

from pricing.book.starter.data import BookData, Row, rows
from pricing.book.starter.demo_products import ENQUIRIES, PRODUCTS

day = datetime.date


def _steps(plan: str, *values: tuple[object, ...]) -> list[Row]:
    headings = "Step|Trade|Minutes|Per|Machine|Wait|Lost on reject|Finish"
    return [{"Labour plan": plan, **row, "Wait": row["Wait"] or None} for row in rows(headings, *((*step, "")[:8] for step in values))]


_SETTINGS: Row = {
    "Business name": "Quillbeck Castworks",
    "Address": "The Old Ropewalk\nQuillbeck\nQX9 4ZZ",
    "Contact": "01632 960 117 · studio@quillbeck.example",
    "Tax number": "GB 000 0000 00",
    "Currency": "GBP",
    "Tax name": "VAT",
    "Tax rate": 0.20,
    "Target margin": 0.18,
    "Lowest margin": 0.10,
    "Overhead per year": 27_000.0,
    "Productive hours per year": 1_150.0,
    "Price step": 1.0,
    "Price rounding": "up",
    "Smallest order": 150.0,
    "Quote valid for": 60,
    "Deposit": 0.5,
    "Mix allowance": 0.10,
    "Mixer load": 60.0,
    "Electricity price": 0.26,
    "Hours per day": 7.5,
    "One-person lift": 25.0,
    "Release covers": 12.0,
    "Refit trade": "Maker",
    "Tax rounding": "nearest",
    "Start within": 5,
    "People": 1,
    "Mould places": 12,
    "Page size": "A4",
}

_A, _B, _C = day(2026, 2, 2), day(2026, 6, 1), day(2026, 10, 5)
_MATERIALS = rows(
    "Material|Kind|Pack size|Pack unit|Pack price|Carriage|Wastage|Density|Bulk density|Supplier|Priced on",
    ("White cement", "binder", 25, "kg", 17.20, 1.10, 0.03, 3080, 1100, "Quernlow Merchants", _A),
    ("White cement", "binder", 25, "kg", 18.40, 1.10, 0.03, 3080, 1100, "Quernlow Merchants", _B),
    ("White cement", "binder", 25, "kg", 19.90, 1.20, 0.03, 3080, 1100, "Quernlow Merchants", _C),
    ("Grey cement", "binder", 25, "kg", 6.90, 0.60, 0.03, 3140, 1440, "Quernlow Merchants", _A),
    ("Grey cement", "binder", 25, "kg", 7.25, 0.60, 0.03, 3140, 1440, "Quernlow Merchants", _C),
    ("Metakaolin", "binder", 20, "kg", 27.00, 2.00, 0.03, 2550, 500, "Ochrewent Pigments", _A),
    ("Fine silica sand", "aggregate", 25, "kg", 6.20, 0.80, 0.05, 2650, 1550, "Quernlow Merchants", _A),
    ("Washed sand", "aggregate", 850, "kg", 58.00, 12.00, 0.08, 2630, 1600, "Quernlow Merchants", _A),
    ("Washed sand", "aggregate", 850, "kg", 62.00, 12.00, 0.08, 2630, 1600, "Quernlow Merchants", _C),
    ("Crushed stone 6 mm", "aggregate", 850, "kg", 66.00, 12.00, 0.08, 2680, 1500, "Quernlow Merchants", _A),
    ("Water", "water", 1000, "L", 2.40, 0.0, 0.10, 1000, 1000, "Mains", _A),
    ("Charcoal pigment", "pigment", 5, "kg", 31.00, 2.50, 0.02, 4600, 900, "Ochrewent Pigments", _A),
    ("Clay red pigment", "pigment", 5, "kg", 29.50, 2.50, 0.02, 4800, 900, "Ochrewent Pigments", _A),
    ("Superplasticiser", "admixture", 5, "L", 38.50, 2.00, 0.03, 1060, None, "Ochrewent Pigments", _A),
    ("Glass fibre", "fibre", 20, "kg", 96.00, 4.00, 0.05, 2680, 700, "Ochrewent Pigments", _A),
    ("Silicone", "sealant", 0.31, "L", 4.20, 0.20, 0.20, 1020, None, "Plankmarrow Timber", _A),
    ("Mould screw 50", "fixing", 200, "each", 7.90, 0.40, 0.10, None, None, "Plankmarrow Timber", _A),
    ("Corner tape", "tape", 50, "m", 6.40, 0.30, 0.10, None, None, "Plankmarrow Timber", _A),
    ("Release wax", "release", 5, "L", 36.00, 2.00, 0.05, 880, None, "Ochrewent Pigments", _A),
    ("Diamond pad 50", "abrasive", 1, "each", 14.50, 0.50, 0.0, None, None, "Gritwenn Abrasives", _A),
    ("Diamond pad 100", "abrasive", 1, "each", 14.50, 0.50, 0.0, None, None, "Gritwenn Abrasives", _A),
    ("Diamond pad 200", "abrasive", 1, "each", 14.50, 0.50, 0.0, None, None, "Gritwenn Abrasives", _A),
    ("Diamond pad 400", "abrasive", 1, "each", 14.50, 0.50, 0.0, None, None, "Gritwenn Abrasives", _A),
    ("Hand pad", "abrasive", 4, "each", 22.00, 0.50, 0.0, None, None, "Gritwenn Abrasives", _A),
    ("Penetrating sealer", "sealer", 5, "L", 118.00, 4.00, 0.08, None, None, "Ochrewent Pigments", _A),
    ("Penetrating sealer", "sealer", 5, "L", 124.00, 4.00, 0.08, None, None, "Ochrewent Pigments", _B),
    ("Hard wax", "sealer", 1, "kg", 24.00, 1.50, 0.10, None, None, "Ochrewent Pigments", _A),
    ("Silicate hardener", "sealer", 5, "L", 58.00, 4.00, 0.08, None, None, "Ochrewent Pigments", _A),
    ("Hidden bracket", "bought in", 2, "each", 13.60, 0.90, 0.0, None, None, "Plankmarrow Timber", _A),
    ("Foam wrap", "packing", 100, "m2", 46.00, 3.00, 0.10, None, None, "Plankmarrow Timber", _A),
    ("Corner guard", "packing", 100, "each", 18.00, 1.00, 0.0, None, None, "Plankmarrow Timber", _A),
) + rows(
    "Material|Kind|Pack size|Pack unit|Pack price|Carriage|Wastage|Sheet length|Sheet width|Sheet thickness|Supplier"
    "|Priced on",
    ("Melamine board 18", "board", 1, "sheet", 31.50, 3.00, 0.15, 2440, 1220, 18, "Plankmarrow Timber", _A),
    ("Melamine board 18", "board", 1, "sheet", 34.50, 3.00, 0.15, 2440, 1220, 18, "Plankmarrow Timber", _B),
    ("Faced plywood 18", "board", 1, "sheet", 62.00, 3.00, 0.15, 2440, 1220, 18, "Plankmarrow Timber", _A),
) + rows(
    # A polymer counts by its solids: the rest is water of the mix.
    "Material|Kind|Pack size|Pack unit|Pack price|Carriage|Wastage|Density|Solids|Supplier|Priced on",
    ("Acrylic polymer", "admixture", 25, "L", 92.00, 4.00, 0.03, 1050, 0.46, "Ochrewent Pigments", _B),
) + rows(
    # Unit mass: nominal mass of bars by EN 10080:2005, table 6, from memory.
    "Material|Kind|Pack size|Pack unit|Pack price|Carriage|Wastage|Unit mass|Supplier|Priced on",
    ("Ribbed bar 6", "reinforcement", 6, "m", 3.90, 0.40, 0.08, 0.222, "Quernlow Merchants", _A),
    ("Ribbed bar 8", "reinforcement", 6, "m", 5.60, 0.40, 0.08, 0.395, "Quernlow Merchants", _A),
    ("Leg socket M8", "cast in", 20, "each", 26.00, 1.20, 0.0, 0.05, "Quernlow Merchants", _A),
)

_MIXES = rows(
    "Mix|Material|Amount|Basis",
    ("White face mix", "White cement", 90, "parts by mass"),
    ("White face mix", "Metakaolin", 10, "parts by mass"),
    ("White face mix", "Fine silica sand", 100, "parts by mass"),
    ("White face mix", "Water", 27, "parts by mass"),
    ("White face mix", "Acrylic polymer", 0.11, "% of binder"),
    ("White face mix", "Superplasticiser", 8, "mL/kg binder"),
    ("White face mix", "Glass fibre", 0.02, "% of volume"),
    ("White face mix", "Air", 0.03, "% of volume"),
    ("Charcoal mix", "Grey cement", 420, "kg/m3"),
    ("Charcoal mix", "Washed sand", 820, "kg/m3"),
    ("Charcoal mix", "Crushed stone 6 mm", 900, "kg/m3"),
    ("Charcoal mix", "Water", 185, "L/m3"),
    ("Charcoal mix", "Charcoal pigment", 0.04, "% of binder"),
    ("Charcoal mix", "Superplasticiser", 6, "mL/kg binder"),
    ("Charcoal mix", "Air", 0.02, "% of volume"),
    ("Garden mix", "Grey cement", 1, "parts by volume"),
    ("Garden mix", "Washed sand", 2, "parts by volume"),
    ("Garden mix", "Crushed stone 6 mm", 2, "parts by volume"),
    ("Garden mix", "Water", 0.65, "parts by volume"),
    ("Garden mix", "Air", 0.02, "% of volume"),
    ("Clay red mix", "Grey cement", 1, "parts by mass"),
    ("Clay red mix", "Washed sand", 1.7, "parts by mass"),
    ("Clay red mix", "Crushed stone 6 mm", 1.9, "parts by mass"),
    ("Clay red mix", "Water", 0.43, "parts by mass"),
    ("Clay red mix", "Clay red pigment", 0.05, "% of binder"),
    ("Clay red mix", "Superplasticiser", 6, "mL/kg binder"),
    ("Clay red mix", "Air", 0.02, "% of volume"),
)

_TRADES = rows(
    "Trade|Hourly cost|From",
    ("Maker", 19.20, None), ("Maker", 19.80, _C),
    ("Finisher", 18.05, None), ("Finisher", 18.60, _C),
    ("Designer", 26.00, None),
)

_MACHINES = rows(
    "Machine|Price|Resale|Life|Upkeep|Power",
    ("Pan mixer", 1850.0, 300.0, 4000, 0.60, 1.5),
    ("Vibrating table", 940.0, 150.0, 5000, 0.30, 0.75),
    ("Panel saw", 2400.0, 600.0, 6000, 0.80, 2.2),
    ("Wet polisher", 620.0, 50.0, 1500, 1.40, 1.2),
)

#: Minutes grow with the size of a piece: by the cast or the piece and by its square metres, metres and kilograms.
#: Common practice, no source.
_CUT = ("Cut the boards", "Maker", 25, "m2 mould", "Panel saw", 0, False)
_SCREW = ("Screw the mould together", "Maker", 30, "mould", "", 0, False)
_TRUE = ("Set the sides true", "Maker", 5, "m joint", "", 0, False)
_SEAL_JOINTS = ("Seal the joints, let cure", "Maker", 4, "m joint", "", 12, False)
#: A mixer load takes its time, however small, and the rest by what is weighed into it: 24 minutes for a full one.
_SET_UP = ("Set up and clean the mixer", "Maker", 10, "batch", "", 0, True)
_MIX = ("Weigh and mix", "Maker", 0.1, "kg", "Pan mixer", 0, True)
_CAST_STEPS: tuple[tuple[object, ...], ...] = (
    _SET_UP, _MIX,
    ("Fill the mould", "Maker", 8, "cast", "", 0, True),
    ("Tamp and level", "Maker", 0.25, "kg", "", 0, True),
    ("Vibrate, leave in the mould", "Maker", 4, "cast", "Vibrating table", 48, True),
    ("Take out of the mould", "Maker", 9, "cast", "", 0, True),
    ("Turn and carry", "Maker", 0.15, "kg", "", 0, True),
)
_GRIND = ("Grind the open side", "Finisher", 24, "m2 open side", "Wet polisher", 0, True)
_STEEL = ("Tie and place the steel", "Maker", 8, "m length", "", 0, True)
_FINISH_STEPS: tuple[tuple[object, ...], ...] = (
    ("Look over", "Finisher", 10, "piece", "", 0, False),
    ("Fill the pinholes, rub back", "Finisher", 30, "m2 face", "", 0, False),
    ("Polish the face", "Finisher", 110, "m2 face", "Wet polisher", 0, False, "Honed and sealed"),
    ("Polish the face", "Finisher", 90, "m2 face", "Wet polisher", 0, False, "Waxed"),
    ("Polish the face", "Finisher", 90, "m2 face", "Wet polisher", 0, False, "Honed for a hearth"),
    ("Rub down", "Finisher", 20, "m2 face", "", 0, False, "Sealed only"),
    ("Ease the arrises", "Finisher", 5, "m arris", "", 0, False),
    ("Dry before sealing", "", None, "", "", 24, False),
    ("Seal, two coats", "Finisher", 24, "m2 face", "", 24, False),
    ("Pack", "Maker", 7, "piece", "", 0, False),
    ("Wrap", "Maker", 10, "m2 face", "", 0, False),
)
_VESSEL_STEPS = (*_CAST_STEPS, ("Strike the core, clean the inside", "Maker", 15, "cast", "", 0, True), *_FINISH_STEPS)

_LABOUR = (
    _steps(
        "Worktop", ("Visit, template and drawing", "Designer", 150, "line", "", 0, False),
        _CUT, _SCREW, _TRUE, _SEAL_JOINTS, _STEEL, *_CAST_STEPS, _GRIND, *_FINISH_STEPS,
    )
    + _steps(
        "Commission", ("Drawing and papers", "Designer", 40, "line", "", 0, False),
        _CUT, _SCREW, _TRUE, _SEAL_JOINTS, *_CAST_STEPS, _GRIND, *_FINISH_STEPS,
    )
    + _steps(
        "Treads", ("Drawing and papers", "Designer", 40, "line", "", 0, False),
        _CUT, ("Build the stepped mould", "Maker", 90, "mould", "", 0, False), _TRUE, _SEAL_JOINTS, _STEEL, *_CAST_STEPS, _GRIND,
        *_FINISH_STEPS,
    )
    + _steps(
        "Bench", ("Drawing and papers", "Designer", 40, "line", "", 0, False),
        _CUT, ("Build the mould, seat and legs", "Maker", 180, "mould", "", 0, False), _TRUE, _SEAL_JOINTS, _STEEL, *_CAST_STEPS, _GRIND,
        *_FINISH_STEPS,
    )
    + _steps(
        "Vessel", ("Drawing and papers", "Designer", 30, "line", "", 0, False),
        _CUT, ("Build the mould and its core", "Maker", 90, "mould", "", 0, False), _TRUE, _SEAL_JOINTS, *_VESSEL_STEPS,
    )
    + _steps(
        "Tapered vessel", ("Drawing and papers", "Designer", 40, "line", "", 0, False),
        ("Cut the boards to bevels", "Maker", 45, "m2 mould", "Panel saw", 0, False),
        ("Build the tapered mould and its core", "Maker", 210, "mould", "", 0, False), _SEAL_JOINTS,
        ("Press in the face mix", "Maker", 25, "m2 face", "", 0, True), *_VESSEL_STEPS,
    )
    + _steps(
        "Catalogue", ("Order papers", "Designer", 12, "quote", "", 0, False),
        _CUT, _SCREW, _TRUE, _SEAL_JOINTS, *_CAST_STEPS, _GRIND, *_FINISH_STEPS,
    )
    + _steps(
        "Garden", ("Order papers", "Designer", 12, "quote", "", 0, False),
        _CUT, ("Screw the mould together", "Maker", 60, "mould", "", 0, False),
        ("Set up and clean the mixer", "Maker", 8, "batch", "", 0, True),
        ("Weigh and mix", "Maker", 0.07, "kg", "Pan mixer", 0, True),
        ("Fill the mould", "Maker", 1.5, "cast", "", 0, True),
        ("Tamp and level", "Maker", 0.05, "kg", "", 0, True),
        ("Vibrate, leave in the mould", "Maker", 1.5, "cast", "Vibrating table", 48, True),
        ("Take out of the mould", "Maker", 1.5, "cast", "", 0, True),
        ("Turn and carry", "Maker", 0.05, "kg", "", 0, True),
        ("Rub down", "Finisher", 6, "m2 face", "", 0, False),
        ("Stack and wrap", "Maker", 1.5, "piece", "", 0, False),
    )
    + _steps(
        "Fitting", ("Drive there and back", "Maker", 90, "line", "", 0, False),
        ("Set, level and seal, by two", "Maker", 600, "piece", "", 0, False),
    )
)

_MOULDS = rows(
    "Mould plan|Board|Lasts|Sealant|Sealant radius|Fixing|Fixing spacing|Tape|Release|Refit every|Refit minutes|Pieces per mould|Price",
    ("Melamine, once", "Melamine board 18", 1, "Silicone", 5, "Mould screw 50", 150, "", "Release wax", None, None, None, None),
    ("Melamine, a few", "Melamine board 18", 4, "Silicone", 5, "Mould screw 50", 120, "Corner tape", "Release wax", 1, 12, None, None),
    ("Plywood, a run", "Faced plywood 18", 30, "Silicone", 4, "Mould screw 50", 120, "", "Release wax", 1, 10, None, None),
    ("Bought mould", "", 60, "", None, "", None, "", "Release wax", 1, 8, None, 185.0),
    ("Bought mould, four slabs", "", 120, "", None, "", None, "", "Release wax", 1, 3, 4, 128.0),
    ("Bought mould, two copings", "", 120, "", None, "", None, "", "Release wax", 1, 3, 2, 96.0),
)

_FINISHES = rows(
    "Finish|Material|Covers|Coats|Surface",
    ("Honed and sealed", "Diamond pad 50", 8, 1, "m2 face"),
    ("Honed and sealed", "Diamond pad 100", 8, 1, "m2 face"),
    ("Honed and sealed", "Diamond pad 200", 10, 1, "m2 face"),
    ("Honed and sealed", "Diamond pad 400", 10, 1, "m2 face"),
    ("Honed and sealed", "Hand pad", 60, 1, "m arris"),
    ("Honed and sealed", "Penetrating sealer", 9, 2, "m2 face"),
    ("Honed for a hearth", "Diamond pad 50", 8, 1, "m2 face"),
    ("Honed for a hearth", "Diamond pad 100", 8, 1, "m2 face"),
    ("Honed for a hearth", "Diamond pad 200", 10, 1, "m2 face"),
    ("Honed for a hearth", "Hand pad", 60, 1, "m arris"),
    ("Honed for a hearth", "Silicate hardener", 7, 2, "m2 face"),
    ("Waxed", "Diamond pad 100", 8, 1, "m2 face"),
    ("Waxed", "Diamond pad 200", 10, 1, "m2 face"),
    ("Waxed", "Diamond pad 400", 10, 1, "m2 face"),
    ("Waxed", "Hand pad", 60, 1, "m arris"),
    ("Waxed", "Hard wax", 14, 2, "m2 face"),
    ("Sealed only", "Penetrating sealer", 8, 1, "m2 face"),
)

_EXTRAS = rows(
    "Product|Material|Amount|Per",
    ("Shelf 600", "Hidden bracket", 2, "piece"),
    ("Shelf 900", "Hidden bracket", 2, "piece"),
    ("Shelf 1200", "Hidden bracket", 3, "piece"),
    ("Shelf 1200", "Corner guard", 4, "piece"),
    ("Worktop 1800", "Foam wrap", 1.5, "m2 face"),
    ("Worktop 2400", "Foam wrap", 1.5, "m2 face"),
    ("Trough 800", "Corner guard", 4, "piece"),
    ("Trough 800", "Ribbed bar 6", 4, "m length"),
    ("Hearth 1000", "Foam wrap", 1.2, "m2 face"),
    ("Worktop 1800", "Ribbed bar 6", 3, "m length"),
    ("Worktop 2400", "Ribbed bar 8", 3, "m length"),
    ("Worktop 2400", "Ribbed bar 6", 5, "m width"),
    ("Worktop corner", "Ribbed bar 8", 3, "m length"),
    ("Worktop corner", "Ribbed bar 8", 3, "m width"),
    ("Island 1900", "Ribbed bar 8", 4, "m length"),
    ("Stair tread 900", "Ribbed bar 6", 4, "m length"),
    ("Bench 1400", "Ribbed bar 8", 4, "m length"),
    ("Table disc 700", "Leg socket M8", 4, "piece"),
)

_CUT_OUTS = rows(
    "Product|Quote|Line|Form|Length|Width|Corner radius|Diameter|From left|From front|Count",
    ("Worktop 2400", "", None, "rectangle", 560, 490, 6, None, 1300, 65, None),
    ("Island 1900", "", None, "round", None, None, None, 60, None, None, 1),
)

_OUTLINES = rows(
    "Outline|Point|X|Y|Radius",
    ("Round end", "1", 0, 0, 20), ("Round end", "2", 1900, 0, 425), ("Round end", "3", 1900, 900, 425), ("Round end", "4", 0, 900, 20),
)

_LAYERS = rows("Product|Mix|Thickness|On", ("Planter 400", "White face mix", 12, "face"))

_DELIVERY = rows(
    "Zone|Up to|Charge",
    ("Local", 60, 25.0), ("Local", 250, 45.0), ("Local", 800, 85.0), ("Local", 2500, 140.0),
    ("Away", 30, 38.0), ("Away", 120, 79.0), ("Away", 400, 140.0), ("Away", 1000, 240.0), ("Away", 2500, 390.0),
)

_CUSTOMERS = rows(
    "Customer|Address|Discount|Tax rate|Delivery zone",
    ("Ottilie Marrable", "3 Sorrel Rise, Quillbeck QX9 2ZZ", None, None, "Local"),
    ("Brindlecote Joinery", "Yard 7, Brindlecote QX4 8ZZ", 0.05, None, "Local"),
    ("Vellmoor Garden Rooms", "Vellmoor Park, Harlthwen QX2 1ZZ", 0.06, None, "Away"),
    ("Sloe & Pennick Interiors", "12 Cask Street, Tarnhope QX1 5ZZ", 0.03, None, "Away"),
    ("Atelier Ozwelin", "Ul. Przykladowa 4, 00-000 Ozwelin", None, 0.0, ""),
)

_ACTUALS = rows(
    "Quote|Product|Item|Kind|Quantity|Cost",
    ("Q-1041", "Shelf 900", "White cement", "material", 21, 16.80),
    ("Q-1041", "Shelf 900", "Fine silica sand", "material", 24, 6.72),
    ("Q-1041", "Shelf 900", "Penetrating sealer", "material", 0.35, 8.96),
    ("Q-1041", "Shelf 900", "Hidden bracket", "material", 6, 43.50),
    ("Q-1041", "Shelf 900", "Polish the face", "step", 2.15, None),
    ("Q-1041", "Shelf 900", "Ease the arrises", "step", 0.95, None),
    ("Q-1041", "Shelf 900", "Fill the mould", "step", 0.45, None),
    ("Q-1041", "Shelf 900", "Maker", "labour", 2.7, 53.46),
    ("Q-1041", "Shelf 900", "Finisher", "labour", 1.6, 29.76),
    ("Q-1041", "Shelf 900", "Air holes on the face", "rejected", 1, None),
    ("Q-1041", "Hearth 1000", "Grey cement", "material", 8.5, 2.55),
    ("Q-1041", "Hearth 1000", "Melamine board 18", "material", 0.25, 9.40),
    ("Q-1041", "Hearth 1000", "Polish the face", "step", 0.7, None),
    ("Q-1041", "Hearth 1000", "Maker", "labour", 2.6, 51.48),
    ("Q-1041", "Hearth 1000", "Finisher", "labour", 1.0, 18.60),
    ("Q-1041", "Hearth 1000", "All passed", "rejected", 0, None),
    ("Q-1041", "Shelf 900", "Acrylic polymer", "material", 2.3, 8.90),
    ("Q-1041", "", "Designer", "labour", 0.45, 11.70),
    ("Q-1041", "", "Wet polisher", "machine", 3.2, 6.80),
    ("Q-1043", "", "Grey cement", "material", 450, 130.50),
    ("Q-1043", "", "Washed sand", "material", 1010, 83.20),
    ("Q-1043", "", "Crushed stone 6 mm", "material", 930, 85.30),
    ("Q-1043", "Bench 1400", "Melamine board 18", "material", 0.7, 26.25),
    ("Q-1043", "Bench 1400", "Penetrating sealer", "material", 0.46, 11.80),
    ("Q-1043", "", "Fill the mould", "step", 2.9, None),
    ("Q-1043", "", "Take out of the mould", "step", 2.4, None),
    ("Q-1043", "", "Stack and wrap", "step", 2.7, None),
    ("Q-1043", "", "Maker", "labour", 23.5, 465.30),
    ("Q-1043", "", "Finisher", "labour", 7.4, 140.60),
    ("Q-1043", "Stepping stone 450", "Broken corners", "rejected", 1, None),
    ("Q-1043", "Coping 600", "All passed", "rejected", 0, None),
    ("Q-1043", "Bench 1400", "Cracked leg", "rejected", 1, None),
    ("Q-1043", "Stepping stone 450", "Bought mould, four slabs", "mould casts", 131, None),
    ("Q-1043", "Stepping stone 450", "Bought mould, four slabs", "mould casts", 118, None),
    ("Q-1043", "", "Designer", "labour", 1.3, 33.80),
    ("Q-1043", "Bench 1400", "Ribbed bar 8", "material", 13.0, 13.00),
    ("Q-1043", "", "Pan mixer", "machine", 5.8, 8.40),
)

_SERVICES: list[Row] = [
    {"Service": "Fitting day", "Description": "Fitting on site: setting, levelling, joints in silicone", "Labour plan": "Fitting",
     "When": "after"},
]

_SETS: list[Row] = [
    {"Set": "Terrace set", "Description": "Terrace set: a planter with three stools around it", "Product": "Planter 400", "Quantity": 1},
    {"Set": "Terrace set", "Product": "Stool", "Quantity": 3},
]

#: Everything that the demo price book holds: each row by its headings, figures in the units of the starter book.
DEMO: BookData = {
    "Workshop": [_SETTINGS, {"Setting": "Electricity price", "Value": 0.28, "From": _C, "Note": "The new contract."}],
    "Materials": _MATERIALS,
    "Mixes": _MIXES,
    "Trades": _TRADES,
    "Machines": _MACHINES,
    "Labour": _LABOUR,
    "Moulds": _MOULDS,
    "Finishes": _FINISHES,
    "Outlines": _OUTLINES,
    "Products": PRODUCTS,
    "Layers": _LAYERS,
    "Services": _SERVICES,
    "Sets": _SETS,
    "Extras": _EXTRAS,
    "Delivery": _DELIVERY,
    "Customers": _CUSTOMERS,
    "Enquiries": ENQUIRIES,
    "Cut-outs": _CUT_OUTS,
    "Actuals": _ACTUALS,
}
