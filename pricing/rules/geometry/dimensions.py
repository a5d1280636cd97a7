"""The glossary of the shapes: what a maker measures of a piece, and what its take-off yields.

The labels of the dimensions are the headings of the price book's Products sheet. A dimension that several shapes share
has one name and one meaning; everything is for one piece.
"""

from __future__ import annotations

from pricing.glossary import Quantity, define


def _metres(name: str, label: str, meaning: str, lower: float = 0.0, upper: float = 20.0) -> Quantity:
    return Quantity(name, label, "metre", "m", 3, meaning, lower, upper)


def _square_metres(name: str, label: str, meaning: str) -> Quantity:
    return Quantity(name, label, "metre**2", "m²", 4, meaning, 0.0, 200.0)


def _count(name: str, label: str, meaning: str, upper: float) -> Quantity:
    return Quantity(name, label, "dimensionless", "", 0, meaning, 0.0, upper)


#: What is typed: headings of the Products sheet, in the order in which they are shown there.
DIMENSIONS: tuple[Quantity, ...] = (
    _metres("length", "Length", "Length of the piece, seen from above.", 0.01, 12.0),
    _metres("width", "Width", "Width of the piece, seen from above; of a planter, across its rim.", 0.01, 6.0),
    _metres("thickness", "Thickness", "Thickness of slab, tread or top; at its thickest where it falls.", 0.005, 2.0),
    _metres("drop", "Drop", "How far a lip or a riser hangs below the underside of the slab.", 0.001, 2.0),
    _metres("lip_thickness", "Lip thickness", "Thickness of a lip or riser; blank: that of the slab.", 0.0, 2.0),
    _count("long_lips", "Long lips", "How many of the two edges along the length carry a lip: 0, 1 or 2.", 2),
    _count("short_lips", "Short lips", "How many of the two edges along the width carry a lip: 0, 1 or 2.", 2),
    _count("openings", "Openings", "Number of rectangular openings through the slab, all of one size.", 100),
    _metres("opening_length", "Opening length", "Length of a rectangular opening.", 0.0, 12.0),
    _metres("opening_width", "Opening width", "Width of a rectangular opening.", 0.0, 6.0),
    _count("holes", "Holes", "Number of round holes: through a slab, or draining a vessel.", 1000),
    _metres("hole_diameter", "Hole diameter", "Diameter of a round hole.", 0.0, 3.0),
    _metres("return_length", "Return length", "Outer length of an L's other arm, corner included.", 0.01, 12.0),
    _metres("return_width", "Return width", "Width of an L's other arm.", 0.01, 6.0),
    _metres("diameter", "Diameter", "Diameter of a round piece; of a planter, across its rim.", 0.01, 6.0),
    _metres("inner_diameter", "Inner diameter", "Diameter of the opening of a ring.", 0.001, 6.0),
    _metres("height", "Height", "Height of the piece over all.", 0.01, 5.0),
    _metres("wall", "Wall", "Thickness of a vessel's walls, measured level.", 0.005, 1.0),
    _metres("base_thickness", "Base thickness", "Thickness of a vessel's floor; blank: that of the walls.", 0.0, 1.0),
    _metres("base_width", "Base width", "Width of a planter across its foot; blank: straight.", 0.0, 6.0),
    _metres("base_diameter", "Base diameter", "Diameter of a planter across its foot; blank: straight.", 0.0, 6.0),
    _metres("nosing", "Nosing", "How far a tread stands out before its riser.", 0.001, 0.5),
    _metres("fall", "Fall", "How much lower the top is at its low edge than at its highest.", 0.0, 1.0),
    _count("grooves", "Grooves", "Number of drip grooves along the underside.", 4),
    _metres("groove_width", "Groove width", "Width of a drip groove; blank: none.", 0.0, 0.2),
    _metres("groove_depth", "Groove depth", "Depth of a drip groove; blank: none.", 0.0, 0.2),
    _metres("leg_thickness", "Leg thickness", "Thickness of a bench's legs; blank: that of the top.", 0.0, 2.0),
    _metres("leg_inset", "Leg inset", "How far a bench's legs stand in from its ends.", 0.0, 5.0),
)

#: What a take-off yields, and what is typed of a solid given by its own figures.
FIGURES: tuple[Quantity, ...] = (
    Quantity("volume", "Volume", "metre**3", "m³", 5, "Concrete that the finished piece holds.", 0.0, 50.0),
    _square_metres("face_area", "Face area", "What is seen and finished: top and edges; of a vessel, also its inside."),
    _square_metres("underside_area", "Underside area", "What is turned down or away: underside, back of a lip, foot."),
    _metres("arris_length", "Arris length", "Outward edges where two seen faces meet, to be polished.", 0.0, 1000.0),
    _square_metres("open_side_area", "Open side area", "The side that lies open in the mould and is ground flat."),
    _square_metres("mould_area", "Mould area", "Board of one mould, each panel cut to its rectangle."),
    _metres("joint_length", "Joint length", "Inner joints of the mould that get sealant.", 0.0, 1000.0),
    _square_metres("release_area", "Release area", "Inner faces of the mould that the concrete touches."),
)

#: Names that dimensions had: headings and records under them go on being read.
FORMER_NAMES: dict[str, tuple[str, ...]] = {"open_side_area": ("open_area",)}

#: What shapes work out on the way.
WORKINGS: tuple[Quantity, ...] = (
    _metres("board", "Board thickness", "Thickness of the board that the mould is built of.", 0.0005, 0.2),
    _metres("side_length", "Side board length", "Board along the length: it covers the ends of the boards across."),
    _metres("side_height", "Side board height", "Height of the boards that stand around the base, on the bench."),
    _metres("perimeter", "Perimeter", "Outline of the piece, seen from above."),
    _metres("lip", "Lip", "Thickness of the lip or riser."),
    _metres("inner_length", "Inner length", "Length inside the lips or the walls."),
    _metres("inner_width", "Inner width", "Width inside the lips or the walls."),
    _square_metres("lip_area", "Lip area", "Lower edge of the lips, each corner counted once."),
    _count("lip_ends", "Lip ends", "Ends of lips that show in an edge without a lip.", 4),
    _count("lip_corners", "Lip corners", "Corners of the piece at which a lip stands.", 4),
    _metres("lip_run", "Lip run", "Outline of the lips along the edges of the piece, their ends included."),
    _metres("lip_back", "Lip back", "Length of the inner faces of the lips."),
    _metres("lip_side_height", "Lip side height", "Height of the mould's side at a lip."),
    _metres("plain_side_height", "Plain side height", "Cut height of a side without a lip; full where it is stepped."),
    _metres("plain_end_height", "Plain end height", "Cut height of an end without a lip; full where it is stepped."),
    _count("plain_sides", "Plain sides", "Edges along the length without a lip.", 2),
    _count("plain_ends", "Plain ends", "Edges along the width without a lip.", 2),
    _metres("step_distance", "Step distance", "From the outer face of the lip's board to the step of a stepped board."),
    _metres("end_shutter_length", "End shutter length", "Shutter behind a lip along the width."),
    _square_metres("plan_area", "Plan area", "Area of the piece, seen from above."),
    _square_metres("hole_area", "Hole area", "Round holes together, seen from above."),
    _metres("hole_girth", "Hole girth", "Length around one round hole."),
    _metres("hole_run", "Hole run", "Length around all round holes."),
    _square_metres("opening_area", "Opening area", "Openings and holes together, seen from above."),
    _metres("opening_run", "Opening run", "Length around all openings and holes."),
    _count("opening_boards", "Opening boards", "Boards of one kind that form the openings: two to each.", 200),
    _metres("opening_end_length", "Opening end length", "Board across an opening, between those along it."),
    _metres("inner_side", "Inner side", "Side of an L along its length, from the inner corner."),
    _metres("inner_return", "Inner return", "Side of an L's other arm, from the inner corner."),
    _metres("inner_side_length", "Inner side board length", "Board along the inner side of an L."),
    _metres("inner_return_length", "Inner return board length", "Board along the inner side of an L's other arm."),
    _metres("return_end_length", "Return end board length", "Board at the end of an L's other arm."),
    _metres("girth", "Girth", "Length around a round piece; of a planter, at its rim."),
    _metres("inner_girth", "Inner girth", "Length around a round opening; of a planter, at its rim."),
    _square_metres("section_area", "Section area", "Area of a cut across the piece."),
    _metres("underside_width", "Underside width", "Width of the underside behind the riser."),
    _metres("riser_end_length", "Riser end board length", "Board at the end of a riser, past both shutters."),
    _metres("slope", "Slope", "Across one falling face of the top, measured along it."),
    _metres("edge_thickness", "Edge thickness", "Thickness at the low edge."),
    _metres("groove_girth", "Groove girth", "Across the faces of all drip grooves in a cut."),
    _metres("floor_thickness", "Floor thickness", "Thickness of a vessel's floor."),
    _metres("inner_height", "Inner height", "Depth of a vessel inside."),
    _metres("inner_perimeter", "Inner perimeter", "Outline of a vessel's inside, seen from above."),
    _metres("core_height", "Core height", "Height of the core's walls, below its lid."),
    _metres("core_end_length", "Core end length", "Wall across the core, between those along it."),
    _metres("foot_width", "Foot width", "Width of a planter across its foot."),
    _metres("floor_width", "Floor width", "Inner width of a planter at its floor."),
    _metres("taper", "Taper", "How much wider a planter is at its rim than at its foot."),
    _metres("slant", "Slant", "Height of a planter's outer face, measured along it."),
    _metres("inner_slant", "Inner slant", "Height of a planter's inner face, measured along it."),
    _metres("corner_slant", "Corner slant", "Length of a planter's outer corner, measured along it."),
    Quantity("outer_volume", "Outer volume", "metre**3", "m³", 5, "Volume within the outer faces.", 0.0, 50.0),
    Quantity("inner_volume", "Inner volume", "metre**3", "m³", 5, "What the vessel holds to its rim.", 0.0, 50.0),
    _square_metres("outer_area", "Outer area", "Outer faces of a planter."),
    _square_metres("inner_area", "Inner area", "Inner faces of a planter, its floor included."),
    _square_metres("rim_area", "Rim area", "Upper face of a planter's walls."),
    _metres("foot_diameter", "Foot diameter", "Diameter of a planter across its foot."),
    _metres("mouth_diameter", "Mouth diameter", "Inner diameter of a planter at its rim."),
    _metres("floor_diameter", "Floor diameter", "Inner diameter of a planter at its floor."),
    _metres("leg", "Leg", "Thickness of a bench's legs."),
    _metres("leg_height", "Leg height", "Height of a bench's legs, below its top."),
    _metres("leg_side_length", "Leg side board length", "Board beside a leg: it covers the ends of both shutters."),
    _metres("leg_gap", "Leg gap", "Clear space between a bench's legs."),
    _metres("side_run", "Side boards", "All side boards of an outline, one after another.", 0.0, 1000.0),
)

define((*DIMENSIONS, *FIGURES, *WORKINGS))
