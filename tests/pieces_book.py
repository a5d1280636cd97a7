"""A small workshop whose pieces have all that a price book can say of a piece: cut-outs, outlines, layers, steel, edges at a wall."""

from __future__ import annotations

import copy
import datetime
from typing import Any

from books import DAY, SMALL

_PRICED = datetime.date(2026, 1, 1)
_NOTHING = [None] * 5

#: Nominal mass of bars of 8 and 10 mm (EN 10080:2005, table 6) [kg/m] and of welded mesh A142 (BS 4483:2005, table 1) [kg/m²];
#: all three from memory.
BAR_8, BAR_10, MESH = 0.395, 0.617, 2.22

PRODUCTS: list[list[Any]] = [
    ["Product", "Description", "Shape", "Length (mm)", "Width (mm)", "Thickness (mm)", "Drop (mm)", "Long lips", "Fall (mm)",
     "Return length (mm)", "Return width (mm)", "Height (mm)", "Wall (mm)", "Diameter (mm)", "Outline", "Seen long edges",
     "Seen short edges", "Use", "Mix", "Mould plan", "Labour plan", "Finish", "Rejects", "Made for", "Usual run", "List price"],
    ["Top", "Kitchen top", "slab", 2200, 620, 40, *_NOTHING, None, None, None, None, 1, 2,
     "worktop, food", "Grey", "Melamine", "Plain", "Sealed", "5 %", "order", 1, None],
    ["Lip top", "Vanity with a lip", "slab with a lip", 1200, 500, 30, 60, 1, None, None, None, None, None, None, None, 1, 1,
     "worktop", "Dark", "Melamine", "Plain", "Sealed", "0 %", "order", 1, None],
    ["Corner", "Corner worktop", "L-shaped slab", 1800, 620, 40, None, None, None, 1500, 620, None, None, None, None, None, None,
     None, "Grey", "Melamine", "Plain", "Polished", "0 %", "order", 1, None],
    ["Sill", "Window sill", "sill", 1400, 300, 60, None, None, 20, None, None, None, None, None, None, 1, 0,
     None, "Grey", "Melamine", "Plain", "Sealed", "0 %", "stock", 6, None],
    ["Island", "Island with a round end", "slab by outline", None, None, 50, *_NOTHING, None, None, None, "Island", None, None,
     "worktop", "Grey", "Melamine", "Plain", "Sealed", "0 %", "order", 1, None],
    ["Planter", "White planter on grey", "square planter", None, 500, None, *_NOTHING, 450, 40, None, None, None, None,
     "garden", "Grey", "Melamine", "Plain", "Sealed", "0 %", "stock", 4, None],
    ["Table", "Round table with a parasol hole", "disc", None, None, 45, *_NOTHING, None, None, 900, None, None, None,
     None, "Dark", "Melamine", "Plain", "Polished", "0 %", "order", 2, 410],
]

SHEETS: dict[str, list[list[Any]]] = {
    "Cut-outs": [
        ["Product", "Quote", "Line", "Form", "Length (mm)", "Width (mm)", "Corner radius (mm)", "Diameter (mm)", "From left (mm)",
         "From front (mm)", "Count"],
        ["Top", None, None, "rectangle", 760, 460, 15, None, 250, 80, None],
        ["Top", None, None, "round", None, None, None, 35, 1500, 520, 1],
        ["Lip top", None, None, "rectangle", 400, 300, None, None, None, None, 1],
        ["Corner", None, None, "round", None, None, None, 80, None, None, 3],
        ["Sill", None, None, "rectangle", 200, 100, None, None, 300, 60, 1],
        ["Sill", None, None, "round", None, None, None, 60, 900, 200, 1],
        ["Island", None, None, "rectangle", 500, 400, 50, None, 400, 200, 1],
        ["Table", None, None, "round", None, None, None, 45, 427.5, 427.5, 1],
        [None, "Q-1", 2, "rectangle", 350, 350, 30, None, 400, 90, 1],
    ],
    "Outlines": [
        ["Outline", "Point", "X (mm)", "Y (mm)", "Radius (mm)"],
        ["Island", 1, 0, 0, None], ["Island", 2, 1800, 0, 400], ["Island", 3, 1800, 900, 400], ["Island", 4, 700, 900, 60],
        ["Island", 5, 700, 700, None], ["Island", 6, 0, 700, 30],
    ],
    "Layers": [
        ["Product", "Mix", "Thickness (mm)", "On"],
        ["Planter", "Bucket", 12, "face"], ["Corner", "Dark", 15, "face"], ["Corner", "Bucket", 5, "underside"],
    ],
    "Extras": [
        ["Product", "Material", "Amount", "Per"],
        ["Top", "Bar 8", 3, "m length"], ["Top", "Bar 8", 4, "m width"], ["Top", "Sockets", 6, "piece"], ["Top", "Brackets", 2, "piece"],
        ["Table", "Mesh", 0.9, "m2 underside"], ["Corner", "Bar 10", 2, "m length"],
    ],
    "Enquiries": [
        ["Quote", "Date", "Customer", "Product", "Quantity", "Length (mm)", "Mix", "Finish", "Unit price", "Note"],
        ["Q-1", DAY, "Ada Field", "Top", 1, None, None, None, None, None],
        ["Q-1", DAY, "Ada Field", "Lip top", 2, None, None, None, None, "with its own cut-out"],
        ["Q-1", DAY, "Ada Field", "Corner", 1, None, None, "Sealed", None, None],
        ["Q-2", DAY, "Brook House", "Sill", 6, 1500, None, None, None, None],
        ["Q-2", DAY, "Brook House", "Island", 1, None, None, None, None, None],
        ["Q-2", DAY, "Brook House", "Planter", 4, None, None, None, None, None],
        ["Q-3", DAY, "Ada Field", "Table", 2, None, None, None, None, None],
    ],
}

MATERIALS: list[list[Any]] = [
    ["Bar 8", "reinforcement", 6, "m", 5.4, 0, "5 %", *_NOTHING, "Iron Shed", _PRICED, BAR_8],
    ["Bar 10", "reinforcement", 6, "m", 7.8, 0, "5 %", *_NOTHING, "Iron Shed", _PRICED, BAR_10],
    ["Mesh", "reinforcement", 11.52, "m2", 46, 0, "10 %", *_NOTHING, "Iron Shed", _PRICED, MESH],
    ["Sockets", "cast in", 50, "each", 60, 0, "0 %", *_NOTHING, "Iron Shed", _PRICED, 0.08],
]


def pieces_book() -> dict[str, list[list[Any]]]:
    """The workshop's sheets, which a test may change."""
    sheets = copy.deepcopy(SMALL)
    materials = [[*row, "Unit mass (kg)" if number == 0 else None] for number, row in enumerate(sheets["Materials"])]
    labour = [[*row, "Finish" if number == 0 else None] for number, row in enumerate(sheets["Labour"])]
    labour.append(["Plain", "Polish to a shine", "Maker", 25, "m2 face", None, None, "no", "Polished"])
    sheets |= copy.deepcopy(SHEETS)
    sheets |= {"Products": copy.deepcopy(PRODUCTS), "Materials": materials + copy.deepcopy(MATERIALS), "Labour": labour}
    sheets["Finishes"].append(["Polished", "Sealer", 6, 1, "m2 face"])
    return sheets
