"""The catalogue and the quotes of the demo price book: all of them invented."""

from __future__ import annotations

import datetime

from pricing.book.starter.data import Row, rows

day = datetime.date

_SEALED, _HEARTH = "Honed and sealed", "Honed for a hearth"


def _made(
    mix: str, mould: str, labour: str, finish: str, rejects: float, made_for: str, run: int, price: float | None = None
) -> Row:
    headings = "Mix|Mould plan|Labour plan|Finish|Rejects|Made for|Usual run|List price"
    return rows(headings, (mix, mould, labour, finish, rejects, made_for, run, price))[0]


def _product(name: str, description: str, shape: str, dimensions: Row, made: Row, use: str, **others: object) -> Row:
    more = {heading.replace("_", " ").capitalize(): value for heading, value in others.items()}
    return {"Product": name, "Description": description, "Shape": shape, **dimensions, **more, "Use": use, **made}


def _sized(*figures: float, **others: float) -> Row:
    """Length, width, thickness and drop in their order, other dimensions by name."""
    sizes: Row = dict(zip(("Length", "Width", "Thickness", "Drop"), figures, strict=False))
    return sizes | {name.replace("_", " ").capitalize(): value for name, value in others.items()}


_ONCE, _FEW, _RUN, _BOUGHT = "Melamine, once", "Melamine, a few", "Plywood, a run", "Bought mould"
_FOUR, _TWO = "Bought mould, four slabs", "Bought mould, two copings"
_WHITE, _CHARCOAL, _GARDEN, _RED = "White face mix", "Charcoal mix", "Garden mix", "Clay red mix"
#: The catalogue.
PRODUCTS: list[Row] = [
    _product("Shelf 600", "Wall shelf with a drop lip", "slab with a lip", _sized(600, 250, 25, 40, long_lips=1),
             _made(_WHITE, _RUN, "Catalogue", _SEALED, 0.03, "stock", 4), "wall"),
    _product("Shelf 900", "Wall shelf with a drop lip", "slab with a lip", _sized(900, 250, 25, 40, long_lips=1),
             _made(_WHITE, _RUN, "Catalogue", _SEALED, 0.03, "stock", 4, 169.0), "wall"),
    _product("Shelf 1200", "Wall shelf with a drop lip", "slab with a lip", _sized(1200, 250, 30, 50, long_lips=1),
             _made(_WHITE, _FEW, "Catalogue", _SEALED, 0.04, "order", 2), "wall"),
    _product("Worktop 1800", "Kitchen worktop, front edge turned down", "slab with a lip",
             _sized(1800, 620, 30, 30, long_lips=1), _made(_CHARCOAL, _ONCE, "Worktop", _SEALED, 0.06, "order", 1),
             "worktop, food", seen_long_edges=1, seen_short_edges=2),
    _product("Worktop 2400", "Kitchen worktop", "slab", _sized(2400, 620, 40),
             _made(_CHARCOAL, _ONCE, "Worktop", _SEALED, 0.06, "order", 1), "worktop, food",
             seen_long_edges=1, seen_short_edges=2),
    _product("Worktop corner", "Kitchen worktop around a corner", "L-shaped slab",
             _sized(2100, 620, 40, return_length=1500, return_width=620),
             _made(_CHARCOAL, _ONCE, "Worktop", _SEALED, 0.08, "order", 1), "worktop, food"),
    _product("Island 1900", "Kitchen island with a round end", "slab by outline", _sized(thickness=40),
             _made(_CHARCOAL, _ONCE, "Worktop", _SEALED, 0.08, "order", 1), "worktop, food", outline="Round end"),
    _product("Vanity top 900", "Top for a washstand, cut out for a bowl", "slab with openings",
             _sized(900, 480, 30, openings=1, opening_length=380, opening_width=280, holes=1, hole_diameter=35),
             _made(_WHITE, _ONCE, "Commission", _SEALED, 0.05, "order", 1), "worktop"),
    _product("Table disc 700", "Round table top", "disc", _sized(diameter=700, thickness=30),
             _made(_WHITE, _FEW, "Commission", _SEALED, 0.05, "order", 1), "worktop"),
    _product("Hearth 1000", "Flat hearth", "slab", _sized(1000, 400, 40),
             _made(_CHARCOAL, _FEW, "Catalogue", _HEARTH, 0.03, "order", 2, 249.0), "hearth"),
    _product("Hearth 1200 lipped", "Hearth with a turned-down front and ends", "slab with a lip",
             _sized(1200, 450, 30, 30, long_lips=1, short_lips=2),
             _made(_CHARCOAL, _ONCE, "Commission", _HEARTH, 0.05, "order", 1), "hearth"),
    _product("Stair tread 900", "Tread with nosing and riser", "step", _sized(900, 300, 40, 140, nosing=25),
             _made(_CHARCOAL, _RUN, "Treads", "Sealed only", 0.04, "order", 12), "stair", moulds_kept=3),
    _product("Sill 1100", "Window sill with a drip groove", "sill",
             _sized(1100, 180, 45, fall=10, grooves=1, groove_width=10, groove_depth=8),
             _made(_GARDEN, _RUN, "Garden", "Sealed only", 0.02, "stock", 6), "wall, garden"),
    _product("Coping 600", "Wall coping, falling both ways", "coping",
             _sized(600, 280, 60, fall=15, grooves=2, groove_width=10, groove_depth=8),
             _made(_GARDEN, _TWO, "Garden", "", 0.02, "stock", 20, 18.0), "wall, garden", moulds_kept=4),
    _product("Stepping stone 450", "Garden slab", "slab", _sized(450, 450, 45),
             _made(_GARDEN, _FOUR, "Garden", "", 0.02, "stock", 20), "floor, garden", moulds_kept=4),
    _product("Tree ring 1000", "Ring around a tree", "ring", _sized(diameter=1000, inner_diameter=420, thickness=60),
             _made(_GARDEN, _FEW, "Garden", "", 0.02, "order", 2), "garden"),
    _product("Trough 800", "Planting trough", "trough",
             _sized(800, 320, height=320, wall=30, base_thickness=35, holes=3, hole_diameter=20),
             _made(_RED, _FEW, "Vessel", "Sealed only", 0.06, "order", 2), "vessel, garden"),
    _product("Planter 400", "Tapered square planter, white face on grey", "square planter",
             _sized(width=400, base_width=320, height=420, wall=30, holes=1, hole_diameter=25),
             _made(_GARDEN, _FEW, "Tapered vessel", "Sealed only", 0.06, "order", 2), "vessel, garden"),
    _product("Planter round 450", "Tapered round planter", "round planter",
             _sized(diameter=450, base_diameter=340, height=400, wall=30, holes=1, hole_diameter=25),
             _made(_RED, _BOUGHT, "Catalogue", "Sealed only", 0.05, "stock", 4), "vessel, garden"),
    _product("Bench 1400", "Garden bench in one piece", "bench", _sized(1400, 400, 60, height=430, leg_inset=150),
             _made(_GARDEN, _FEW, "Bench", "Sealed only", 0.05, "order", 2), "seat, garden"),
    _product("Stool", "Turned stool, cast in a bought mould", "solid",
             _sized(length=300, width=300, height=450, volume=19.5, face_area=0.62, underside_area=0.09, arris_length=2.2,
                    open_side_area=0.09, release_area=0.71),
             _made(_RED, _BOUGHT, "Catalogue", "Waxed", 0.04, "stock", 4), "seat"),
]


def _quote(number: str, date: datetime.date, customer: str, *lines: tuple[str, int, Row]) -> list[Row]:
    head: Row = {"Quote": number, "Date": date, "Customer": customer}
    return [{**head, "Product": product, "Quantity": quantity, **others} for product, quantity, others in lines]


#: What customers ask for.
ENQUIRIES: list[Row] = [
    *_quote("Q-1041", day(2026, 11, 9), "Ottilie Marrable", ("Shelf 900", 3, {}), ("Hearth 1000", 1, {})),
    *_quote("Q-1042", day(2026, 11, 16), "Brindlecote Joinery",
            ("Worktop 2400", 1, {"Length": 2150, "Note": "Hob cut-out cast in, by your template"}),
            ("Worktop 1800", 1, {}),
            ("Shelf 1200", 2, {"Mix": _CHARCOAL})),
    *_quote("Q-1043", day(2026, 11, 18), "Vellmoor Garden Rooms",
            ("Stepping stone 450", 60, {}),
            ("Coping 600", 24, {"Unit price": 17.0, "Note": "Price agreed in October"}),
            ("Bench 1400", 2, {}),
            ("Sill 1100", 6, {})),
    *_quote("Q-1044", day(2026, 11, 23), "Sloe & Pennick Interiors",
            ("Vanity top 900", 2, {"Length": 850, "Thickness": 35, "Finish": "Waxed"}),
            ("Table disc 700", 2, {}),
            ("Shelf 600", 8, {})),
    *_quote("Q-1045", day(2026, 11, 25), "Atelier Ozwelin",
            ("Terrace set", 2, {"Note": "Collected by the customer"}),
            ("Stair tread 900", 12, {})),
    *_quote("Q-1042", day(2026, 11, 16), "Brindlecote Joinery",
            ("Fitting day", 1, {"Offer": "option", "Note": "Two of us, from eight o'clock; access on the level"})),
]
