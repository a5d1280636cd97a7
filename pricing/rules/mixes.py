"""What one cubic metre of placed concrete holds, weighs and costs: the method of absolute volumes.

Absolute volume of an ingredient = mass / density; absolute volumes and air add up to the volume placed
(ACI 211.1; US Navy NAVEDTRA 14070, chapter 17). A recipe in parts is scaled until they fill one cubic metre; what is
stated per cubic metre is taken as stated, and its yield is reported.

Every ingredient is *driven* by something: parts by the scale of the recipe, amounts per cubic metre by the cubic metre
itself, shares of the binder by the binder's mass. Its mass and volume are those per unit of its driver, times the driver.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose
from pricing.glossary import Quantity, define

define([
    Quantity("density", "Density", "kilogram/metre**3", "kg/m³", 0, "Density of the solid or liquid itself.", 10.0, 25_000.0),
    Quantity("bulk_density", "Bulk density", "kilogram/metre**3", "kg/m³", 0, "Density of the loose material, voids included.",
             10.0, 25_000.0),
    Quantity("amount", "Amount", "dimensionless", "", 4, "The amount in the recipe, in the unit of its basis.", 1e-5, 1e6),
    Quantity("plain_amount", "Amount is a mass", "kilogram", "flag", 0, "1 where the amount is a mass or a share by mass."),
    Quantity("bulk_amount", "Amount is a bulk volume", "metre**3", "flag", 0, "1 where the amount is a loose volume."),
    Quantity("volume_of_amount", "Volume of one of the amount", "metre**3", "m³", 6,
             "0.001 for litres, 0.000001 for millilitres, 1 for a share of the volume, otherwise 0."),
    Quantity("by_parts", "Driven by parts", "dimensionless", "flag", 0, "1 where the amount is in parts."),
    Quantity("by_cubic_metre", "Driven by the cubic metre", "metre**-3", "flag", 0, "1 where the amount is per cubic metre."),
    Quantity("by_binder", "Driven by the binder", "kilogram**-1", "flag", 0, "1 where the amount is per kilogram of binder."),
    Quantity("is_binder", "Is a binder", "dimensionless", "flag", 0, "1 where the material binds."),
    Quantity("water_share", "Water in it", "dimensionless", "%", 0, "All of the water, and what an admixture holds besides its solids."),
    Quantity("is_pigment", "Is a pigment", "dimensionless", "flag", 0, "1 where the material colours."),
    Quantity("is_air", "Is air", "dimensionless", "flag", 0, "1 for air."),
    Quantity("driven_mass", "Mass for one", "kilogram", "kg", 5, "Mass of the ingredient for one of what its amount is multiplied by."),
    Quantity("driven_volume", "Volume for one", "metre**3", "m³", 7, "Absolute volume for one of what its amount is multiplied by."),
    Quantity("binder_in_parts", "Binder in parts", "kilogram", "kg", 5, "Mass that binds, for one part."),
    Quantity("binder_as_stated", "Binder as stated", "kilogram/metre**3", "kg/m³", 2, "Mass that binds, stated per cubic metre."),
    Quantity("volume_in_parts", "Volume in parts", "metre**3", "m³", 7, "Absolute volume for one part."),
    Quantity("volume_as_stated", "Volume as stated", "dimensionless", "m³", 5, "Absolute volume stated per cubic metre."),
    Quantity("volume_with_binder", "Volume with binder", "metre**3/kilogram", "m³", 7, "Absolute volume for a kilogram of binder."),
    Quantity("air_free_volume", "Volume without air", "dimensionless", "m³", 5, "Absolute volume in a cubic metre, air left out."),
    Quantity("parts_binder_mass", "Binder in parts", "kilogram", "kg", 4, "Mass of the binders of one part."),
    Quantity("fixed_binder_mass", "Binder per m³", "kilogram/metre**3", "kg/m³", 2, "Binder stated per cubic metre."),
    Quantity("parts_volume", "Volume of the parts", "metre**3", "m³", 7, "Absolute volume of one part."),
    Quantity("fixed_volume", "Volume stated per m³", "dimensionless", "m³", 5, "Share of the cubic metre that is stated as such."),
    Quantity("binder_volume", "Volume per kg of binder", "metre**3/kilogram", "m³", 7, "What goes with each kilogram of binder."),
    Quantity("one_cubic_metre", "One cubic metre", "dimensionless", "m³", 0, "The volume that a mix is made up to."),
    Quantity("has_parts", "Has parts", "dimensionless", "flag", 0, "1 where an ingredient of the mix is in parts."),
    Quantity("no_parts", "Has no parts", "metre**3", "flag", 0, "1 where no ingredient of the mix is in parts."),
    Quantity("parts_in_cubic_metre", "Parts in a m³", "metre**-3", "", 4, "How many times one part goes into a cubic metre."),
    Quantity("binder_content", "Binder content", "kilogram/metre**3", "kg/m³", 1, "Mass of binder in a cubic metre."),
    Quantity("driver", "Multiplied by", "metre**-3", "", 4, "What the amount is multiplied by: parts, one, or kilograms of binder."),
    Quantity("ingredient_mass", "Mass per m³", "kilogram/metre**3", "kg/m³", 2, "Mass of the ingredient in a cubic metre placed."),
    Quantity("ingredient_volume", "Volume per m³", "dimensionless", "m³", 5, "Absolute volume in a cubic metre placed."),
    Quantity("dry_content", "Dry", "kilogram/metre**3", "kg per m³", 3, "The ingredient without any water in it."),
    Quantity("bought_mass", "As bought", "kilogram/metre**3", "kg per m³", 3, "The ingredient as it lies, with its moisture."),
    Quantity("aggregates_saturated", "Aggregates stated saturated", "dimensionless", "flag", 0, "1 where recipes state aggregates saturated."),
    Quantity("ingredient_cost", "Cost per m³", "currency/metre**3", "money per m³", 2, "What the ingredient costs in a cubic metre."),
    Quantity("binder_mass", "Binder mass", "kilogram/metre**3", "kg/m³", 1, "Mass of the ingredient that binds."),
    Quantity("water_mass", "Water mass", "kilogram/metre**3", "kg/m³", 1, "Mass of the ingredient that is water."),
    Quantity("pigment_mass", "Pigment mass", "kilogram/metre**3", "kg/m³", 1, "Mass of the ingredient that colours."),
    Quantity("solid_volume", "Volume before air", "dimensionless", "m³", 4, "Absolute volume of all but the air."),
    Quantity("placed_volume", "Volume placed", "dimensionless", "m³", 4, "Absolute volume of everything, air included."),
    Quantity("water_content", "Water content", "kilogram/metre**3", "kg/m³", 1, "Water in a cubic metre."),
    Quantity("pigment_content", "Pigment content", "kilogram/metre**3", "kg/m³", 1, "Pigment in a cubic metre."),
    Quantity("fresh_density", "Fresh density", "kilogram/metre**3", "kg/m³", 0, "Mass of a cubic metre of fresh concrete."),
    Quantity("mix_price", "Price of a m³", "currency/metre**3", "money per m³", 2, "What a cubic metre of the mix costs."),
    Quantity("water_binder_ratio", "Water / binder", "dimensionless", "", 3, "Mass of water over mass of binder."),
    Quantity("pigment_share", "Pigment / binder", "dimensionless", "%", 1, "Mass of pigment over mass of binder."),
])


def driven_mass(
    amount: Value, plain_amount: Value, bulk_amount: Value, bulk_density: Value, volume_of_amount: Value, density: Value
) -> Value:
    """Mass of an ingredient per unit of its driver [kg]."""
    return amount * (plain_amount + bulk_amount * bulk_density + volume_of_amount * density)


def driven_volume(driven_mass: Value, amount: Value, volume_of_amount: Value, density: Value) -> Value:
    """Absolute volume of an ingredient per unit of its driver [m³]: its mass over its density, air as stated."""
    return choose(volume_of_amount > 0, amount * volume_of_amount, driven_mass / density)


def binder_in_parts(driven_mass: Value, is_binder: Value, by_parts: Value) -> Value:
    """Mass of an ingredient that binds and is in parts, for one part [kg]."""
    return driven_mass * is_binder * by_parts


def binder_as_stated(driven_mass: Value, is_binder: Value, by_cubic_metre: Value) -> Value:
    """Mass of an ingredient that binds and is stated per cubic metre [kg/m³]."""
    return driven_mass * is_binder * by_cubic_metre


def volume_in_parts(driven_volume: Value, by_parts: Value) -> Value:
    """Absolute volume of an ingredient in parts, for one part [m³]."""
    return driven_volume * by_parts


def volume_as_stated(driven_volume: Value, by_cubic_metre: Value) -> Value:
    """Absolute volume of an ingredient stated per cubic metre [m³/m³]."""
    return driven_volume * by_cubic_metre


def volume_with_binder(driven_volume: Value, by_binder: Value) -> Value:
    """Absolute volume of an ingredient that goes with each kilogram of binder [m³/kg]."""
    return driven_volume * by_binder


def parts_in_cubic_metre(
    one_cubic_metre: Value, fixed_volume: Value, fixed_binder_mass: Value, binder_volume: Value, parts_volume: Value,
    parts_binder_mass: Value, has_parts: Value, no_parts: Value,
) -> Value:
    """How many times one part goes into what is left of the cubic metre [1/m³]; 0 where nothing is in parts."""
    left = one_cubic_metre - fixed_volume - fixed_binder_mass * binder_volume
    return has_parts * left / (parts_volume + parts_binder_mass * binder_volume + no_parts)


def binder_content(parts_in_cubic_metre: Value, parts_binder_mass: Value, fixed_binder_mass: Value) -> Value:
    """Mass of binder in a cubic metre [kg/m³]."""
    return parts_in_cubic_metre * parts_binder_mass + fixed_binder_mass


def driver(
    by_parts: Value, parts_in_cubic_metre: Value, by_cubic_metre: Value, by_binder: Value, binder_content: Value
) -> Value:
    """What an ingredient's amount is multiplied by to give a cubic metre [1/m³]."""
    return by_parts * parts_in_cubic_metre + by_cubic_metre + by_binder * binder_content


def ingredient_mass(driven_mass: Value, driver: Value) -> Value:
    """Mass of an ingredient in a cubic metre placed [kg/m³]."""
    return driven_mass * driver


def ingredient_volume(driven_volume: Value, driver: Value) -> Value:
    """Absolute volume of an ingredient in a cubic metre placed [m³/m³]."""
    return driven_volume * driver


def dry_content(ingredient_mass: Value, aggregates_saturated: Value, absorption: Value) -> Value:
    """An ingredient without any water in it: a recipe may state its aggregates saturated, as ACI 211.1 does [kg/m³].

    >>> dry_content(1010.0, 1.0, 0.01), dry_content(1010.0, 0.0, 0.01)
    (1000.0, 1010.0)
    """
    return ingredient_mass / (1 + aggregates_saturated * absorption)


def bought_mass(dry_content: Value, moisture: Value) -> Value:
    """An ingredient as it lies, with the moisture that is bought and paid for with it [kg/m³].

    >>> bought_mass(1000.0, 0.05)
    1050.0
    """
    return dry_content * (1 + moisture)


def ingredient_cost(bought_mass: Value, price_per_kilogram: Value) -> Value:
    """What an ingredient costs in a cubic metre [currency/m³]."""
    return bought_mass * price_per_kilogram


def binder_mass(ingredient_mass: Value, is_binder: Value) -> Value:
    """Mass of an ingredient in a cubic metre, as far as it binds [kg/m³]."""
    return ingredient_mass * is_binder


def water_mass(ingredient_mass: Value, water_share: Value) -> Value:
    """Mass of an ingredient in a cubic metre, as far as it is water [kg/m³]."""
    return ingredient_mass * water_share


def pigment_mass(ingredient_mass: Value, is_pigment: Value) -> Value:
    """Mass of an ingredient in a cubic metre, as far as it colours [kg/m³]."""
    return ingredient_mass * is_pigment


def air_free_volume(ingredient_volume: Value, is_air: Value) -> Value:
    """Absolute volume of an ingredient in a cubic metre, air left out [m³/m³]."""
    return ingredient_volume * (1 - is_air)


def water_binder_ratio(water_content: Value, binder_content: Value) -> Value:
    """Water over binder, by mass [1]."""
    return choose(binder_content > 0, water_content / binder_content, 0)


def pigment_share(pigment_content: Value, binder_content: Value) -> Value:
    """Pigment over binder, by mass [1]; above 0.10 it is reported (ASTM C979, 1.4)."""
    return choose(binder_content > 0, pigment_content / binder_content, 0)
