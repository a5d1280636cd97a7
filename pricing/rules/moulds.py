"""What a mould costs, how many are needed, and what it costs to make it ready again between casts."""

from __future__ import annotations

from pricing.algebra.expressions import Value, choose, larger, positive_part, whole_up
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
    Quantity("refit_every", "Refit every", "mould", "casts", 0, "Casts between one making ready and the next.", 0.1, 100_000.0),
    Quantity("refit_minutes", "Refit minutes", "minute", "min", 1, "Minutes to clean and make a mould ready again.", 0.0, 100_000.0),
    Quantity("refit_hourly_cost", "Refit wage", "currency/hour", "money per h", 2, "Hourly cost of who makes moulds ready."),
    Quantity("casts_per_mould", "Casts a mould survives", "dimensionless", "casts", 0, "How often a mould can be filled.", 1.0, 100_000.0),
    Quantity("pieces_per_mould", "Pieces per mould", "piece/mould", "pieces", 0, "Pieces that one filling of the mould gives.", 1.0, 1_000.0),
    Quantity("mould_life", "Pieces a mould gives", "piece/mould", "pieces", 0, "Pieces that can be cast in a mould before it is worn."),
    Quantity("is_bought", "Bought ready", "dimensionless", "flag", 0, "1 where the mould is bought ready: no board, and nothing to build."),
    Quantity("mould_price", "Mould price", "currency/mould", "money", 2, "What a mould bought ready costs.", 0.0, 1e6),
    Quantity("mould_resale", "Resale of a mould", "currency/mould", "money", 2, "What a worn or idle mould still brings.", 0.0, 1e6),
    Quantity("pattern_price", "Pattern price", "currency", "money", 2, "What the pattern costs from which moulds are taken.", 0.0, 1e6),
    Quantity("moulds_of_pattern", "Moulds of a pattern", "mould", "moulds", 0, "How many moulds are taken from a pattern.", 1.0, 10_000.0),
    Quantity("bought_mould_cost", "Bought for a mould", "currency/mould", "money", 2,
             "Price of a mould less its resale, and its share of the pattern.", float("-inf")),
    Quantity("sealant_volume", "Sealant per m", "litre/metre", "L", 5, "Sealant in a metre of inner joint."),
    Quantity("joint_cost", "Cost per m of joint", "currency/metre", "money per m", 3, "Sealant, fixings and tape of a metre of joint."),
    Quantity("release_cost", "Release per m²", "currency/metre**2", "money per m²", 2, "Release on a square metre of mould face."),
    Quantity("rejects", "Rejects", "dimensionless", "%", 1, "Share of the pieces cast that do not pass inspection.", 0.0, 0.99),
    Quantity("quantity", "Quantity", "piece", "pieces", 0, "Good pieces ordered.", 1.0, 1e6),
    Quantity("casts", "Casts", "piece", "casts", 2, "Pieces that must be cast to have the good ones, on average."),
    Quantity("made_for_stock", "Made for stock", "dimensionless", "flag", 0, "1 where a mould's cost is spread over all its casts."),
    Quantity("has_mould", "Has a mould", "dimensionless", "flag", 0, "1 where the piece has a mould plan."),
    Quantity("moulds_at_once", "Moulds at once", "mould", "moulds", 0, "Moulds that stand ready at the same time, those of the rack among them."),
    Quantity("moulds_kept", "Moulds kept", "mould", "moulds", 0, "Moulds that already stand in the rack.", 0.0, 10_000.0),
    Quantity("places", "Places", "piece", "pieces", 0, "Pieces that the moulds of the line hold at once."),
    Quantity("rounds", "Rounds", "dimensionless", "rounds", 2,
             "Days of casting: whole ones for the good pieces, or what the casts come to where that is more."),
    Quantity("moulds_worn", "Moulds worn", "mould", "moulds", 2, "Share of moulds that the casts use up, on average."),
    Quantity("moulds_needed", "Moulds for the wear", "mould", "moulds", 0, "Whole moulds that the good pieces use up."),
    Quantity("moulds_built", "Moulds built", "mould", "moulds", 0, "Whole moulds that are built for the line."),
    Quantity("moulds_charged", "Moulds charged", "mould", "moulds", 2, "Moulds that this line pays for."),
    Quantity("mould_board", "Mould board", "metre**2/piece", "m²", 3, "Area of the panels of a mould for one piece."),
    Quantity("joint", "Joints", "metre/piece", "m", 3, "Inner joints of a mould for one piece that get sealant."),
    Quantity("release_face", "Release face", "metre**2/piece", "m²", 3, "Inner faces of a mould that the concrete touches."),
    Quantity("board_by_sheets", "Board by whole sheets", "dimensionless", "flag", 0, "1 where board is charged by the sheets bought."),
    Quantity("sheet_board", "Sheets for a mould", "metre**2/mould", "m²", 3, "A mould's share of the whole sheets that its panels are cut from."),
    Quantity("board_charged", "Board charged", "metre**2/mould", "m²", 3, "Board that one mould pays for."),
    Quantity("mould_materials", "Materials of a mould", "currency/mould", "money", 2, "Board, sealant, fixings and tape of one mould."),
    Quantity("mould_material_cost", "Mould materials", "currency/piece", "money", 2, "Mould materials per good piece."),
    Quantity("mould_labour_cost", "Mould building", "currency/piece", "money", 2, "Wages of building moulds per good piece."),
    Quantity("refits", "Refits", "1/piece", "per piece", 3, "Makings ready per good piece."),
    Quantity("refit_hours", "Refit hours", "hour/piece", "h", 4, "Hours of making ready per good piece."),
    Quantity("refit_cost", "Refitting", "currency/piece", "money", 2, "Wages of making ready, per good piece."),
    Quantity("release_per_piece", "Release", "currency/piece", "money", 2, "Release on the mould at every cast, per good piece."),
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


def mould_life(casts_per_mould: Value, pieces_per_mould: Value) -> Value:
    """Pieces that can be cast in a mould before it is worn [pieces/mould].

    >>> mould_life(10.0, 4.0)
    40.0
    """
    return casts_per_mould * pieces_per_mould


def bought_mould_cost(mould_price: Value, mould_resale: Value, pattern_price: Value, moulds_of_pattern: Value) -> Value:
    """What is bought for a mould: its price less its resale, and its share of the pattern [currency/mould].

    >>> bought_mould_cost(80.0, 20.0, 300.0, 6.0)
    110.0
    """
    return mould_price - mould_resale + pattern_price / moulds_of_pattern


def places(has_mould: Value, moulds_at_once: Value, pieces_per_mould: Value, quantity: Value) -> Value:
    """Pieces that the moulds of a line hold at once; all of them where the piece needs no mould [pieces].

    >>> float(places(1.0, 2.0, 4.0, 100.0)), float(places(0.0, 0.0, 1.0, 100.0))
    (8.0, 100.0)
    """
    return choose(has_mould, moulds_at_once * pieces_per_mould, quantity)


def rounds(quantity: Value, casts: Value, places: Value) -> Value:
    """Days of casting: whole ones for the good pieces, an expectation for those that fail [1].

    >>> float(rounds(10.0, 10.0, 4.0)), float(rounds(12.0, 12.6, 4.0))
    (3.0, 3.15)
    """
    return larger(whole_up(quantity / places), casts / places)


def moulds_worn(has_mould: Value, casts: Value, mould_life: Value) -> Value:
    """Moulds, and parts of moulds, that the casts use up; none where the piece has no mould plan [moulds]."""
    return has_mould * casts / mould_life


def moulds_needed(has_mould: Value, quantity: Value, mould_life: Value) -> Value:
    """Whole moulds that the good pieces use up; a piece that may fail needs none of its own [moulds].

    >>> float(moulds_needed(1.0, 10.0, 10.0)), float(moulds_needed(1.0, 11.0, 10.0))
    (1.0, 2.0)
    """
    return whole_up(has_mould * quantity / mould_life)


def moulds_built(moulds_needed: Value, moulds_at_once: Value, moulds_kept: Value) -> Value:
    """Whole moulds that are built: enough for the wear and for the days, less those that stand in the rack [moulds].

    >>> float(moulds_built(2.0, 4.0, 1.0)), float(moulds_built(1.0, 2.0, 3.0))
    (3.0, 0.0)
    """
    return positive_part(larger(moulds_needed, moulds_at_once) - moulds_kept)


def moulds_charged(made_for_stock: Value, moulds_worn: Value, moulds_built: Value, moulds_kept: Value) -> Value:
    """Moulds that a line pays for: its wear where made for stock; where made for the order those that are built, and the
    wear beyond them that pieces which fail bring on average [moulds].

    >>> float(moulds_charged(0.0, 1.001, 1.0, 0.0)), float(moulds_charged(1.0, 0.25, 1.0, 0.0))
    (1.001, 0.25)
    """
    return choose(made_for_stock, moulds_worn, larger(moulds_built, moulds_worn - moulds_kept))


def board_charged(board_by_sheets: Value, sheet_board: Value, mould_board: Value, pieces_per_mould: Value) -> Value:
    """Board that a mould pays for: its share of the whole sheets bought, or just what is cut from them [m²/mould]."""
    return choose(board_by_sheets, sheet_board, mould_board * pieces_per_mould)


def mould_materials(
    is_bought: Value, bought_mould_cost: Value, board_charged: Value, board_price: Value, joint: Value, joint_cost: Value,
    pieces_per_mould: Value,
) -> Value:
    """What is bought for one mould; for one that is built also its board, sealant, fixings and tape [currency/mould]."""
    return bought_mould_cost + (1 - is_bought) * (board_charged * board_price + joint * pieces_per_mould * joint_cost)


def mould_material_cost(mould_materials: Value, moulds_charged: Value, quantity: Value) -> Value:
    """Mould materials per good piece [currency/piece]."""
    return mould_materials * moulds_charged / quantity


def refits(casts: Value, pieces_per_mould: Value, moulds_charged: Value, quantity: Value, refit_every: Value) -> Value:
    """Makings ready per good piece: one every so many fillings after a mould's first; none where that is 0 [1/piece].

    >>> float(refits(10.0, 1.0, 1.0, 10.0, 1.0)), float(refits(1.0, 1.0, 1.0, 1.0, 1.0))
    (0.9, 0.0)
    """
    return choose(refit_every > 0, positive_part(casts / pieces_per_mould - moulds_charged) / quantity / refit_every, 0)


def refit_hours(refits: Value, refit_minutes: Value, minutes_per_hour: Value) -> Value:
    """Hours of making ready per good piece [h/piece]."""
    return refits * refit_minutes / minutes_per_hour


def refit_cost(refit_hours: Value, refit_hourly_cost: Value) -> Value:
    """Wages of making ready, per good piece [currency/piece]."""
    return refit_hours * refit_hourly_cost


def release_per_piece(per_cast: Value, release_face: Value, release_cost: Value) -> Value:
    """Release on the mould at every cast, the first among them, per good piece [currency/piece]."""
    return per_cast * release_face * release_cost


def mould_cost(mould_material_cost: Value, mould_labour_cost: Value, refit_cost: Value, release_per_piece: Value) -> Value:
    """Moulds built, worn, oiled and made ready, per good piece [currency/piece]."""
    return mould_material_cost + mould_labour_cost + refit_cost + release_per_piece
