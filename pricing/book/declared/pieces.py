"""The sheets that say more of a piece than its dimensions: cut-outs, outlines and layers."""

from __future__ import annotations

from pricing.book.declared.column import Column, SheetDeclaration
from pricing.rules import cut_outs, layers, outlines

#: The modules whose glossary says what makes sense here.
_BOUNDS = (cut_outs, layers, outlines)

FORMS = ("rectangle", "round")
LAYERS_ON = ("face", "underside", "face and inside")


def _size(heading: str, quantity: str, meaning: str, example: str) -> Column:
    return Column(heading, "number", meaning, quantity=quantity, unit="m", shown="mm", example=example, decimals=0, width=10)


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
        _size("Length", "cut_out_length", "Of a rectangle, along the length of the piece.", "560"),
        _size("Width", "cut_out_width", "Of a rectangle, along the width of the piece.", "490"),
        _size("Corner radius", "corner_radius", "By which its corners are rounded; blank: sharp.", "20"),
        _size("Diameter", "cut_out_diameter", "Of a round one.", "35"),
        _size("From left", "from_left", "From the left edge of the piece to the near edge of the cut-out, not to its middle. With both "
              "distances the sketch shows it; without them it is placed as agreed.", "300"),
        _size("From front", "from_front", "From the front edge of the piece to the near edge of the cut-out.", "60"),
        Column("Count", "number", "How many alike a piece has.", quantity="cut_outs_alike", default=1.0, whole=True, example="1",
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
        _size("X", "x", "To the right.", "1200"),
        _size("Y", "y", "To the back.", "600"),
        _size("Radius", "point_radius", "By which the corner is rounded; blank: sharp.", "50"),
    ),
    key=("outline", "point"), in_starter=False,
)

LAYERS = SheetDeclaration(
    "Layers", "a layer of another mix",
    "A face mix on a backing: each layer takes its share of the piece, the rest is the product's own mix.", "layer", "layers",
    (
        Column("Product", "choice", "The product that has it.", refers_to="Products", needed=True, width=22),
        Column("Mix", "choice", "What the layer is cast of.", refers_to="Mixes", needed=True, width=20),
        Column("Thickness", "number", "Of the layer.", quantity="layer_thickness", unit="m", shown="mm", needed=True, example="12",
               decimals=0, width=10),
        Column("On", "choice", "face: what is seen and finished, without the inside of a vessel. face and inside: with it. underside: what "
               "lies below.", choices=LAYERS_ON, needed=True, width=16),
    ),
    key=("product", "mix", "on"), in_starter=False,
)
