"""What is weighed out for a mixer load: wet aggregates, the water that they bring, and what rounding makes of the yield.

A recipe's masses are of dry aggregate. As it lies, an aggregate holds water: what it soaks up stays in it, the rest is
free and is taken from the water that is added. Source: ACI 211.1 and a US Navy course (NAVEDTRA), checked in the tests.
"""

from __future__ import annotations

from pricing.algebra.expressions import Value, whole_nearest
from pricing.glossary import Quantity, define

define([
    Quantity("moisture", "Moisture", "dimensionless", "%", 1, "All water in an aggregate as it lies, as a share of its dry mass.",
             0.0, 1.0),
    Quantity("absorption", "Absorption", "dimensionless", "%", 1, "Water that an aggregate soaks up and keeps, as a share of its dry mass.",
             0.0, 1.0),
    Quantity("dry_mass", "Dry", "kilogram", "kg", 3, "What the recipe asks for in this load."),
    Quantity("free_water", "Free water", "kilogram", "kg", 3, "Water that an aggregate brings into the load, beyond what it soaks up.",
             float("-inf")),
    Quantity("free_water_sum", "Free water of all", "kilogram", "kg", 3, "Water that all aggregates bring into the load.", float("-inf")),
    Quantity("takes_free_water", "Less the free water", "dimensionless", "", 0,
             "1 for the water that is added, from which the free water is taken; otherwise 0.", 0.0, 1.0),
    Quantity("mass_as_it_lies", "As it lies", "kilogram", "kg", 3, "What goes into the load as it lies: aggregates wet, water less the free water."),
    Quantity("weighing_step", "Step", "kilogram", "kg", 5, "Smallest step of the scale; of a liquid that is measured, the mass of a millilitre.",
             1e-5, 10.0),
    Quantity("weighed_mass", "Weigh out", "kilogram", "kg", 3, "The same, rounded to the step."),
    Quantity("air_share", "Air", "dimensionless", "%", 1, "Share of the load that is air."),
    Quantity("load_litres", "Load", "litre", "L", 1, "Fresh concrete that the load is meant to give."),
    Quantity("volume_in_load", "Volume", "litre", "L", 3, "Absolute volume that the ingredient fills in the load."),
    Quantity("loose_litres", "By the bucket", "litre", "L", 2, "Loose volume of the ingredient, for a recipe in parts by volume."),
])


def free_water(dry_mass: Value, moisture: Value, absorption: Value) -> Value:
    """Water that an aggregate brings into a load [kg]; below zero where it soaks up more than it brings.

    >>> free_water(100.0, 0.06, 0.01)
    5.0
    """
    return dry_mass * (moisture - absorption)


def mass_as_it_lies(dry_mass: Value, moisture: Value, takes_free_water: Value, free_water_sum: Value) -> Value:
    """What goes into a load [kg]: an aggregate wet, the added water less the free water, all else as the recipe says.

    >>> mass_as_it_lies(100.0, 0.06, 0.0, 5.0), mass_as_it_lies(20.0, 0.0, 1.0, 5.0)
    (106.0, 15.0)
    """
    return dry_mass * (1 + moisture) - takes_free_water * free_water_sum


def weighed_mass(mass_as_it_lies: Value, weighing_step: Value) -> Value:
    """A mass, rounded to the step of the scale [kg].

    >>> float(weighed_mass(12.26, 0.5))
    12.5
    """
    return whole_nearest(mass_as_it_lies / weighing_step) * weighing_step


def volume_in_load(
    weighed_mass: Value, takes_free_water: Value, free_water_sum: Value, moisture: Value, density: Value, air_share: Value,
    load_litres: Value, litres_per_cubic_metre: Value,
) -> Value:
    """Absolute volume of an ingredient in a load [L], from what is weighed out; of air, its share of the load.

    >>> volume_in_load(106.0, 0.0, 5.0, 0.06, 2500.0, 0.0, 60.0, 1000.0)
    40.0
    """
    return (weighed_mass + takes_free_water * free_water_sum) / (1 + moisture) / density * litres_per_cubic_metre + air_share * load_litres


def loose_litres(dry_mass: Value, bulk_density: Value, litres_per_cubic_metre: Value) -> Value:
    """Loose volume of an ingredient, for a recipe in parts by volume [L].

    >>> loose_litres(32.0, 1600.0, 1000.0)
    20.0
    """
    return dry_mass / bulk_density * litres_per_cubic_metre
