"""What a material costs in the unit in which a rule uses it.

Method: price per unit = (pack price + carriage) / pack size x (1 + wastage); common practice, no source.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose
from pricing.glossary import Quantity, define

define([
    Quantity("pack_size", "Pack size", "count", "pack units", 3, "How many pack units one pack holds.", 1e-3, 1e7),
    Quantity("pack_price", "Pack price", "currency", "money", 2, "What one pack costs, without tax.", 0.0, 1e13),
    Quantity("carriage_in", "Carriage", "currency", "money", 2, "What bringing one pack in costs.", 0.0, 1e13),
    Quantity("wastage", "Wastage", "dimensionless", "%", 1, "Bought beyond what is used, as a share of what is used.", 0.0, 10.0),
    Quantity("unit_price_of_material", "Price per pack unit", "currency/count", "money", 3,
             "What one pack unit costs when used, carriage and wastage included."),
    Quantity("kilograms_per_pack_unit", "Mass of a pack unit sold by mass", "kilogram/count", "kg", 0,
             "1 where the material is sold by the kilogram, otherwise 0."),
    Quantity("litres_per_pack_unit", "Volume of a pack unit sold by volume", "litre/count", "L", 0,
             "1 where the material is sold by the litre, otherwise 0."),
    Quantity("square_metres_per_pack_unit", "Area of a pack unit sold by area", "metre**2/count", "m²", 0,
             "1 where the material is sold by the square metre, otherwise 0."),
    Quantity("sheets_per_pack_unit", "Sheets in a pack unit", "1/count", "", 0,
             "1 where the material is sold by the sheet, otherwise 0."),
    Quantity("sheet_length", "Sheet length", "metre", "m", 3, "Length of a whole sheet.", 0.01, 20.0),
    Quantity("sheet_width", "Sheet width", "metre", "m", 3, "Width of a whole sheet.", 0.01, 20.0),
    Quantity("sold_density", "Density as sold", "kilogram/metre**3", "kg/m³", 0,
             "Bulk density of a loose material, density of a liquid."),
    Quantity("pack_unit_mass", "Mass of a pack unit", "kilogram/count", "kg", 4, "Mass of what one pack unit holds."),
    Quantity("pack_unit_area", "Area of a pack unit", "metre**2/count", "m²", 4, "Area of what one pack unit holds."),
    Quantity("pack_unit_volume", "Volume of a pack unit", "litre/count", "L", 4, "Volume of what one pack unit holds."),
    Quantity("price_per_kilogram", "Price per kg", "currency/kilogram", "money per kg", 3, "What a kilogram costs."),
    Quantity("price_per_square_metre", "Price per m²", "currency/metre**2", "money per m²", 2, "What a square metre costs."),
    Quantity("price_per_litre", "Price per L", "currency/litre", "money per L", 2, "What a litre costs."),
])


def unit_price_of_material(pack_price: Value, carriage_in: Value, pack_size: Value, wastage: Value) -> Value:
    """What one pack unit costs when used [currency/pack unit].

    >>> unit_price_of_material(8.0, 2.0, 25.0, 0.05)
    0.42000000000000004
    """
    return (pack_price + carriage_in) / pack_size * (1 + wastage)


def sold_density(density: Value, bulk_density: Value) -> Value:
    """Density of a material as it is sold: loose where a bulk density is given [kg/m³]."""
    return choose(bulk_density > 0, bulk_density, density)


def pack_unit_mass(
    kilograms_per_pack_unit: Value, litres_per_pack_unit: Value, sold_density: Value, litres_per_cubic_metre: Value
) -> Value:
    """Mass of what one pack unit holds [kg/pack unit]: 1 kg where sold by mass, a litre's mass where sold by volume."""
    return kilograms_per_pack_unit + litres_per_pack_unit * sold_density / litres_per_cubic_metre


def pack_unit_area(
    square_metres_per_pack_unit: Value, sheets_per_pack_unit: Value, sheet_length: Value, sheet_width: Value
) -> Value:
    """Area of what one pack unit holds [m²/pack unit]: a sheet's area, or 1 m² where sold by area."""
    return square_metres_per_pack_unit + sheets_per_pack_unit * sheet_length * sheet_width


def pack_unit_volume(
    litres_per_pack_unit: Value, kilograms_per_pack_unit: Value, sold_density: Value, litres_per_cubic_metre: Value
) -> Value:
    """Volume of what one pack unit holds [L/pack unit]: 1 L where sold by volume, a kilogram's volume where by mass."""
    return litres_per_pack_unit + kilograms_per_pack_unit * litres_per_cubic_metre / sold_density


def price_per_kilogram(unit_price_of_material: Value, pack_unit_mass: Value) -> Value:
    """What a kilogram of an ingredient costs [currency/kg]."""
    return unit_price_of_material / pack_unit_mass


def price_per_square_metre(unit_price_of_material: Value, pack_unit_area: Value) -> Value:
    """What a square metre of board costs [currency/m²]."""
    return unit_price_of_material / pack_unit_area


def price_per_litre(unit_price_of_material: Value, pack_unit_volume: Value) -> Value:
    """What a litre of sealant or release costs [currency/L]."""
    return unit_price_of_material / pack_unit_volume
