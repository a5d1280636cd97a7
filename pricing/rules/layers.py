"""What a piece is made of where it is more than one mix: layers on its faces, and whatever is cast in.

A layer takes its thickness times the faces that it covers. Where two of them meet at an arris the corner belongs to both and is
counted once: a square of the thickness for each metre of right-angled arris (the cube where three meet is left out: on a worktop
less than a thousandth of a layer). The rest of the piece is the product's own mix. Steel takes no concrete away (common practice,
no source: it is a hundredth of the volume and less); its mass is added.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, larger
from pricing.glossary import Quantity, define

define([
    Quantity("layer", "No.", "dimensionless", "", 0, "Number of the layer in this workbook."),
    Quantity("layer_thickness", "Thickness", "metre", "m", 4, "Of the layer.", 0.0005, 0.5),
    Quantity("covers_face", "On the face", "dimensionless", "flag", 0, "1 where the layer covers what is seen and finished."),
    Quantity("leaves_inside", "Not inside", "dimensionless", "flag", 0, "1 where it leaves the inside of a vessel."),
    Quantity("covers_underside", "On the underside", "dimensionless", "flag", 0, "1 where the layer covers the underside."),
    Quantity("inside", "Inside", "metre**2/piece", "m²", 4, "Inner faces of a vessel."),
    Quantity("layer_area", "Covers", "metre**2/piece", "m²", 4, "Faces that the layer covers."),
    Quantity("layer_volume", "Volume", "metre**3/piece", "m³", 5, "Concrete of the layer in one piece."),
    Quantity("layer_mass", "Mass", "kilogram/piece", "kg", 2, "Of the layer in one piece."),
    Quantity("layer_cost", "Cost per cast", "currency/piece", "money", 2, "Concrete of the layer in one cast, what is left in the mixer included."),
    Quantity("layer_mixed_volume", "Mixed volume", "metre**3", "m³", 4, "Concrete mixed for the layer of the line."),
    Quantity("layer_loads", "Loads of the layer", "batch", "loads", 3, "Its share of the mixer loads, by volume."),
    Quantity("layers_volume", "Volume of layers", "metre**3/piece", "m³", 5, "Concrete of all layers in one piece."),
    Quantity("layers_mass", "Mass of layers", "kilogram/piece", "kg", 2, "Of all layers in one piece."),
    Quantity("layers_cost", "Layers per cast", "currency/piece", "money", 2, "Concrete of all layers in one cast."),
    Quantity("layers_loads", "Loads of layers", "batch", "loads", 3, "Their share of the mixer loads, by volume."),
    Quantity("backing_volume", "Volume of its own mix", "metre**3/piece", "m³", 5, "What is left of the piece beside its layers."),
    Quantity("backing_mixed_volume", "Mixed of its own mix", "metre**3", "m³", 4, "Concrete of its own mix that is mixed for the line."),
    Quantity("concrete_mass", "Mass of concrete", "kilogram/piece", "kg", 1, "Of one piece, its layers among it, what is cast in left out."),
    Quantity("cast_in_mass", "Mass cast in", "kilogram/piece", "kg", 2, "Steel and whatever else is cast into one piece."),
    Quantity("mixed_volume_of_lines", "Mixed for lines", "metre**3", "m³", 4, "Concrete of this mix that lines are cast of."),
    Quantity("mixed_volume_of_layers", "Mixed for layers", "metre**3", "m³", 4, "Concrete of this mix that layers are cast of."),
    Quantity("layer_good_volume", "Mixed for good pieces", "metre**3", "m³", 4, "Concrete mixed for the layer of the good pieces."),
    Quantity("backing_good_volume", "Own mix for good pieces", "metre**3", "m³", 4, "Concrete of its own mix for the good pieces of the line."),
    Quantity("good_volume_of_lines", "Lines, good pieces", "metre**3", "m³", 4, "Concrete of this mix for the good pieces of lines."),
    Quantity("good_volume_of_layers", "Layers, good pieces", "metre**3", "m³", 4, "Concrete of this mix for layers of the good pieces."),
    Quantity("rounds_of_lines", "Days of lines", "dimensionless", "rounds", 2, "The most days of casting of a line of this mix."),
    Quantity("rounds_of_layers", "Days of layers", "dimensionless", "rounds", 2, "The most days of casting of a line with a layer of it."),
    Quantity("is_cast_in", "Cast in", "dimensionless", "flag", 0, "1 where it is cast into the piece and weighs with it."),
    Quantity("unit_mass", "Mass of a pack unit", "kilogram/count", "kg", 4, "Of one pack unit of what is cast in.", 0.0, 100_000.0),
    Quantity("extra_mass", "Mass per piece", "kilogram/piece", "kg", 3, "What the thing adds to the mass of a piece."),
    Quantity("per_length", "per m length", "metre/piece", "", 3, "Length of the piece."),
    Quantity("per_width", "per m width", "metre/piece", "", 3, "Width of the piece."),
    Quantity("length_of_piece", "Length over all", "metre/piece", "m", 3, "Of the piece, seen from above, from left to right."),
    Quantity("width_of_piece", "Width over all", "metre/piece", "m", 3, "Of the piece, seen from above, from front to back."),
])


def layer_area(
    covers_face: Value, face: Value, leaves_inside: Value, inside: Value, covers_underside: Value, underside: Value
) -> Value:
    """Faces that a layer covers [m²/piece]."""
    return covers_face * face - leaves_inside * inside + covers_underside * underside


def layer_volume(layer_thickness: Value, layer_area: Value, covers_face: Value, arris: Value) -> Value:
    """Concrete of a layer in one piece, corners counted once [m³/piece].

    >>> round(layer_volume(0.01, 1.0, 1, 4.0), 9), layer_volume(0.01, 1.0, 0, 4.0)
    (0.0096, 0.01)
    """
    return layer_thickness * layer_area - covers_face * layer_thickness**2 * arris


def layer_mass(layer_volume: Value, fresh_density: Value) -> Value:
    """Mass of a layer in one piece [kg/piece]."""
    return layer_volume * fresh_density


def layer_cost(layer_volume: Value, mix_allowance: Value, mix_price: Value) -> Value:
    """Concrete of a layer in one cast [currency/cast]."""
    return layer_volume * (1 + mix_allowance) * mix_price


def layer_mixed_volume(casts: Value, layer_volume: Value, mix_allowance: Value) -> Value:
    """Concrete mixed for the layer of a line [m³]."""
    return casts * layer_volume * (1 + mix_allowance)


def layer_good_volume(quantity: Value, layer_volume: Value, mix_allowance: Value) -> Value:
    """Concrete mixed for the layer of the good pieces of a line [m³]."""
    return quantity * layer_volume * (1 + mix_allowance)


def layer_loads(loads: Value, layer_mixed_volume: Value, mixed_volume_of_mix: Value) -> Value:
    """A layer's share of the mixer loads of its mix, by volume [loads]."""
    return choose(mixed_volume_of_mix > 0, loads * layer_mixed_volume / mixed_volume_of_mix, 0)


def backing_volume(cast_volume: Value, layers_volume: Value) -> Value:
    """What is left of a piece beside its layers: the product's own mix [m³/piece]."""
    return cast_volume - layers_volume


def concrete_mass(backing_volume: Value, fresh_density: Value, layers_mass: Value) -> Value:
    """Mass of the concrete in one piece, its layers among it [kg/piece]."""
    return backing_volume * fresh_density + layers_mass


def mass(concrete_mass: Value, cast_in_mass: Value) -> Value:
    """Mass of one piece: its concrete, its layers and whatever is cast in [kg/piece]."""
    return concrete_mass + cast_in_mass


def per_mass(concrete_mass: Value) -> Value:
    """Mass of the concrete in the piece [kg/piece]."""
    return +concrete_mass


def concrete_per_cast(backing_volume: Value, mix_allowance: Value, mix_price: Value, layers_cost: Value) -> Value:
    """Concrete of one cast, its layers among it [currency/cast]."""
    return backing_volume * (1 + mix_allowance) * mix_price + layers_cost


def backing_mixed_volume(casts: Value, backing_volume: Value, mix_allowance: Value) -> Value:
    """Concrete of its own mix that is mixed for a line [m³]."""
    return casts * backing_volume * (1 + mix_allowance)


def backing_good_volume(quantity: Value, backing_volume: Value, mix_allowance: Value) -> Value:
    """Concrete of its own mix that is mixed for the good pieces of a line [m³]."""
    return quantity * backing_volume * (1 + mix_allowance)


def loads_of_line(loads: Value, backing_mixed_volume: Value, mixed_volume_of_mix: Value, layers_loads: Value) -> Value:
    """The line's share of the mixer loads of its own mix, by volume, and those of its layers [loads]."""
    return choose(mixed_volume_of_mix > 0, loads * backing_mixed_volume / mixed_volume_of_mix, 0) + layers_loads


def mixed_volume_of_mix(mixed_volume_of_lines: Value, mixed_volume_of_layers: Value) -> Value:
    """Concrete of a mix that is mixed for a quote, for its lines and for their layers [m³]."""
    return mixed_volume_of_lines + mixed_volume_of_layers


def good_volume_of_mix(good_volume_of_lines: Value, good_volume_of_layers: Value) -> Value:
    """Concrete of a mix that is mixed for the good pieces of a quote, for its lines and for their layers [m³]."""
    return good_volume_of_lines + good_volume_of_layers


def rounds_of_mix(rounds_of_lines: Value, rounds_of_layers: Value) -> Value:
    """The most days of casting of any line that takes of this mix, as its own or as a layer [1]."""
    return larger(rounds_of_lines, rounds_of_layers)


def extra_mass(is_cast_in: Value, extra_amount: Value, count: Value, unit_mass: Value) -> Value:
    """What a thing that is cast in adds to the mass of a piece [kg/piece].

    >>> round(extra_mass(1, 3.0, 2.2, 0.395), 6)
    2.607
    """
    return is_cast_in * extra_amount * count * unit_mass


def per_length(length_of_piece: Value) -> Value:
    """Length of the piece [m/piece]."""
    return +length_of_piece


def per_width(width_of_piece: Value) -> Value:
    """Width of the piece [m/piece]."""
    return +width_of_piece
