"""The sheets that say more of a piece than its dimensions: cut-outs, outlines and layers."""

from __future__ import annotations

import math

from pricing.book.declared.column import Column, SheetDeclaration

FORMS = ("rectangle", "round")
LAYERS_ON = ("face", "underside", "face and inside")


def _size(
    heading: str, meaning: str, example: str, *, lower: float = 0.0, upper: float = 12.0
) -> Column:
    return Column(
        heading, "number", meaning, unit="m", shown="mm", lower=lower, upper=upper, example=example, decimals=0, width=10
    )


CUT_OUTS = SheetDeclaration(
    "Cut-outs", "a cut-out, or several alike",
    "Cut-outs of a product; or, with Quote and Line instead, of a line of a quote, in place of those of its product.",
    "cut-out", "cut-outs",
    (
        Column("Product", "choice", "The product that has it.", refers_to="Products", default="", width=22),
        Column("Quote", "name", "Instead of a product: the quote whose line has it.", default="", example="Q-1001", width=10),
        Column("Line", "number", "Number of the line in that quote, counted from 1.", lower=1.0, upper=10_000.0, whole=True,
               example="1", decimals=0, width=8),
        Column("Form", "choice", "rectangle: with Length and Width. round: with Diameter.", choices=FORMS, needed=True, width=12),
        _size("Length", "Of a rectangle, along the length of the piece.", "560", lower=0.001),
        _size("Width", "Of a rectangle, along the width of the piece.", "490", lower=0.001),
        _size("Corner radius", "By which its corners are rounded; blank: sharp.", "20", upper=3.0),
        _size("Diameter", "Of a round one.", "35", lower=0.001, upper=6.0),
        _size("From left", "From the left edge of the piece to the cut-out. With both distances the sketch shows it; without them it is "
              "placed as agreed.", "300"),
        _size("From front", "From the front edge of the piece to the cut-out.", "60"),
        Column("Count", "number", "How many alike a piece has.", default=1.0, lower=1.0, upper=1000.0, whole=True, example="1",
               decimals=0, width=8),
    ),
    in_starter=False,
)

OUTLINES = SheetDeclaration(
    "Outlines", "a corner of an outline",
    "Outlines of slabs, seen from above: their corners in order, either way round.", "outline", "outlines",
    (
        Column("Outline", "name", "Name of the outline, repeated on every corner of it.", needed=True, example="Island", width=20),
        Column("Point", "name", "Number or name of the corner.", needed=True, example="1", width=8),
        _size("X", "To the right.", "1200", lower=-math.inf),
        _size("Y", "To the back.", "600", lower=-math.inf),
        _size("Radius", "By which the corner is rounded; blank: sharp.", "50"),
    ),
    key=("outline", "point"), in_starter=False,
)

LAYERS = SheetDeclaration(
    "Layers", "a layer of another mix",
    "A face mix on a backing: each layer takes its share of the piece, the rest is the product's own mix.", "layer", "layers",
    (
        Column("Product", "choice", "The product that has it.", refers_to="Products", needed=True, width=22),
        Column("Mix", "choice", "What the layer is cast of.", refers_to="Mixes", needed=True, width=20),
        Column("Thickness", "number", "Of the layer.", unit="m", shown="mm", needed=True, lower=0.001, upper=1.0, example="12", decimals=0,
               width=10),
        Column("On", "choice", "face: what is seen and finished, without the inside of a vessel. face and inside: with it. underside: what "
               "lies below.", choices=LAYERS_ON, needed=True, width=16),
    ),
    key=("product", "mix", "on"), in_starter=False,
)
