"""What a mould costs, how many are needed, and what it costs to make it ready again between casts."""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, larger, whole_up
from pricing.glossary import Quantity, define

define([
    Quantity("board_price", "Board price", "currency/metre**2", "money per m²", 2, "What a square metre of board costs."),
    Quantity("sealant_radius", "Sealant radius", "metre", "m", 4, "Radius of the fillet of sealant in an inner joint.", 5e-4, 0.05),
    Quantity("sealant_price", "Sealant price", "currency/litre", "money per L", 2, "What a litre of sealant costs."),
    Quantity("fixing_price", "Fixing price", "currency/count", "money each", 3, "What one fixing costs."),
    Quantity("fixing_spacing", "Fixing spacing", "metre/count", "m", 3, "One fixing to this length of joint.", 0.005, 5.0),
    Quantity("tape_price", "Tape price", "currency/metre", "money per m", 3, "What a metre of tape costs."),
    Quantity("release_price", "Release price", "currency/litre", "money per L", 2, "What a litre of release oil or wax costs."),
    Quantity("release_covers", "Release covers", "metre**2/litre", "m² per L", 1, "Inner mould face that a litre covers.", 0.1, 1_000.0),
    Quantity("refit_every", "Refit every", "piece", "casts", 0, "Casts between one making ready and the next.", 0.1, 100_000.0),
    Quantity("refit_minutes", "Refit minutes", "minute", "min", 1, "Minutes to clean and make a mould ready again.", 0.0, 100_000.0),
    Quantity("refit_hourly_cost", "Refit wage", "currency/hour", "money per h", 2, "Hourly cost of who makes moulds ready."),
    Quantity("casts_per_mould", "Casts a mould survives", "piece/mould", "casts", 0, "How often a mould can be used.", 1.0, 100_000.0),
    Quantity("sealant_volume", "Sealant per m", "litre/metre", "L", 5, "Sealant in a metre of inner joint."),
    Quantity("joint_cost", "Cost per m of joint", "currency/metre", "money per m", 3, "Sealant, fixings and tape of a metre of joint."),
    Quantity("release_cost", "Release per m²", "currency/metre**2", "money per m²", 2, "Release on a square metre of mould face."),
    Quantity("rejects", "Rejects", "dimensionless", "%", 1, "Share of the pieces cast that do not pass inspection.", 0.0, 0.99),
    Quantity("quantity", "Quantity", "piece", "pieces", 0, "Good pieces ordered.", 1.0, 1e6),
    Quantity("casts", "Casts", "piece", "casts", 2, "Pieces that must be cast to have the good ones, on average."),
    Quantity("made_for_stock", "Made for stock", "dimensionless", "flag", 0, "1 where a mould's cost is spread over all its casts."),
    Quantity("has_mould", "Has a mould", "dimensionless", "flag", 0, "1 where the piece has a mould plan."),
    Quantity("moulds_at_once", "Moulds at once", "mould", "moulds", 0, "Moulds that the wanted date needs at the same time."),
    Quantity("moulds_worn", "Moulds worn", "mould", "moulds", 2, "Share of moulds that the casts use up."),
    Quantity("moulds_made", "Moulds", "mould", "moulds", 0, "Whole moulds that the line needs."),
    Quantity("moulds_charged", "Moulds charged", "mould", "moulds", 2, "Moulds that this line pays for."),
    Quantity("mould_board", "Mould board", "metre**2/mould", "m²", 3, "Area of the panels of one mould."),
    Quantity("joint", "Joints", "metre/mould", "m", 3, "Inner joints of one mould that get sealant."),
    Quantity("release_face", "Release face", "metre**2", "m²", 3, "Inner faces of a mould that the concrete touches."),
    Quantity("board_by_sheets", "Board by whole sheets", "dimensionless", "flag", 0, "1 where board is charged by the sheets bought."),
    Quantity("sheet_board", "Sheets for a mould", "metre**2/mould", "m²", 3, "A mould's share of the whole sheets that its panels are cut from."),
    Quantity("board_charged", "Board charged", "metre**2/mould", "m²", 3, "Board that one mould pays for."),
    Quantity("mould_materials", "Materials of a mould", "currency/mould", "money", 2, "Board, sealant, fixings and tape of one mould."),
    Quantity("mould_material_cost", "Mould materials", "currency/piece", "money", 2, "Mould materials per good piece."),
    Quantity("mould_labour_cost", "Mould building", "currency/piece", "money", 2, "Wages of building moulds per good piece."),
    Quantity("refits", "Refits", "1/piece", "per piece", 3, "Makings ready per good piece."),
    Quantity("refit_hours", "Refit hours", "hour/piece", "h", 4, "Hours of making ready per good piece."),
    Quantity("refit_cost", "Refitting", "currency/piece", "money", 2, "Wages and release of making ready, per good piece."),
    Quantity("mould_cost", "Mould", "currency/piece", "money", 2, "Moulds built, worn and made ready, per good piece."),
])


def sealant_volume(sealant_radius: Value, litres_per_cubic_metre: Value, pi: Value) -> Value:
    """Sealant in a metre of inner joint: the corner that a fillet of that radius fills, (1 - pi/4) r² [L/m].

    >>> import math
    >>> round(sealant_volume(0.01, 1000, math.pi), 6)
    0.02146
    """
    return (1 - pi / 4) * sealant_radius**2 * litres_per_cubic_metre


def joint_cost(
    sealant_volume: Value, sealant_price: Value, fixing_price: Value, fixing_spacing: Value, tape_price: Value
) -> Value:
    """Sealant, fixings and tape of a metre of joint [currency/m]."""
    return sealant_volume * sealant_price + fixing_price / fixing_spacing + tape_price


def release_cost(release_price: Value, release_covers: Value) -> Value:
    """Release on a square metre of mould face [currency/m²]."""
    return release_price / release_covers


def casts(quantity: Value, rejects: Value) -> Value:
    """Pieces that must be cast to have the good ones, on average [pieces].

    >>> casts(19.0, 0.05)
    20.0
    """
    return quantity / (1 - rejects)


def moulds_worn(has_mould: Value, casts: Value, casts_per_mould: Value) -> Value:
    """Moulds, and parts of moulds, that the casts use up; none where the piece has no mould plan [moulds]."""
    return has_mould * casts / casts_per_mould


def moulds_made(moulds_worn: Value, moulds_at_once: Value) -> Value:
    """Whole moulds that a line needs: enough for the wear, and for the calendar [moulds].

    >>> float(moulds_made(1.2, 1.0)), float(moulds_made(1.2, 4.0))
    (2.0, 4.0)
    """
    return larger(whole_up(moulds_worn), moulds_at_once)


def moulds_charged(made_for_stock: Value, moulds_worn: Value, moulds_made: Value) -> Value:
    """Moulds that a line pays for: its wear where made for stock, whole moulds where made for the order [moulds]."""
    return choose(made_for_stock, moulds_worn, moulds_made)


def board_charged(board_by_sheets: Value, sheet_board: Value, mould_board: Value) -> Value:
    """Board that a mould pays for: its share of the whole sheets bought, or just what is cut from them [m²/mould]."""
    return choose(board_by_sheets, sheet_board, mould_board)


def mould_materials(board_charged: Value, board_price: Value, joint: Value, joint_cost: Value) -> Value:
    """Board, sealant, fixings and tape of one mould [currency/mould]."""
    return board_charged * board_price + joint * joint_cost


def mould_material_cost(mould_materials: Value, moulds_charged: Value, quantity: Value) -> Value:
    """Mould materials per good piece [currency/piece]."""
    return mould_materials * moulds_charged / quantity


def refits(casts: Value, quantity: Value, refit_every: Value) -> Value:
    """Makings ready per good piece: one every so many casts; none where that is 0 [1/piece]."""
    return choose(refit_every > 0, casts / quantity / refit_every, 0)


def refit_hours(refits: Value, refit_minutes: Value, minutes_per_hour: Value) -> Value:
    """Hours of making ready per good piece [h/piece]."""
    return refits * refit_minutes / minutes_per_hour


def refit_cost(
    refit_hours: Value, refit_hourly_cost: Value, refits: Value, release_face: Value, release_cost: Value
) -> Value:
    """Wages and release of making ready, per good piece [currency/piece]."""
    return refit_hours * refit_hourly_cost + refits * release_face * release_cost


def mould_cost(mould_material_cost: Value, mould_labour_cost: Value, refit_cost: Value) -> Value:
    """Moulds built, worn and made ready, per good piece [currency/piece]."""
    return mould_material_cost + mould_labour_cost + refit_cost
