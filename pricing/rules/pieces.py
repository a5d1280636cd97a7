"""The take-off of a piece as it is made: that of its shape, less its cut-outs and the edges that touch a wall."""

from __future__ import annotations

from pricing.algebra.expressions import Value
from pricing.glossary import Quantity, define

define([
    Quantity("whole_volume", "Volume uncut", "metre**3/piece", "m³", 5, "Of the shape, without cut-outs."),
    Quantity("whole_face", "Face uncut", "metre**2/piece", "m²", 4, "Of the shape, without cut-outs, all edges seen."),
    Quantity("whole_underside", "Underside uncut", "metre**2/piece", "m²", 4, "Of the shape, without cut-outs."),
    Quantity("whole_arris", "Arrises uncut", "metre/piece", "m", 3, "Of the shape, without cut-outs, all edges seen."),
    Quantity("whole_open_side", "Open side uncut", "metre**2/piece", "m²", 4, "Of the shape, without cut-outs."),
    Quantity("whole_mould_board", "Mould board uncut", "metre**2/piece", "m²", 3, "Of the shape, without cores."),
    Quantity("whole_joint", "Joints uncut", "metre/piece", "m", 3, "Of the shape, without cores."),
    Quantity("whole_release_face", "Release face uncut", "metre**2/piece", "m²", 3, "Of the shape, without cores."),
    Quantity("cut_volume", "Cut-outs: volume", "metre**3/piece", "m³", 5, "What the cut-outs take."),
    Quantity("cut_top", "Cut-outs: top", "metre**2/piece", "m²", 4, "What the cut-outs take."),
    Quantity("cut_underside", "Cut-outs: underside", "metre**2/piece", "m²", 4, "What the cut-outs take."),
    Quantity("cut_reveal", "Cut-outs: faces inside", "metre**2/piece", "m²", 4, "What the cut-outs add."),
    Quantity("cut_arris", "Cut-outs: arrises", "metre/piece", "m", 3, "What the cut-outs add."),
    Quantity("core_board", "Cores: board", "metre**2/piece", "m²", 3, "What the cores of the cut-outs add to a mould."),
    Quantity("core_joint", "Cores: joints", "metre/piece", "m", 3, "What the cores of the cut-outs add to a mould."),
    Quantity("core_release", "Cores: release face", "metre**2/piece", "m²", 3, "What the cores of the cut-outs change.", float("-inf")),
    Quantity("hidden_face", "Face at a wall", "metre**2/piece", "m²", 4, "Edges that are not seen."),
    Quantity("hidden_arris", "Arrises at a wall", "metre/piece", "m", 3, "Outward edges beside a face that is not seen."),
])


def cast_volume(whole_volume: Value, cut_volume: Value) -> Value:
    """Concrete in one piece, cut-outs left out [m³/piece]."""
    return whole_volume - cut_volume


def face(whole_face: Value, cut_top: Value, hidden_face: Value, cut_reveal: Value) -> Value:
    """What is seen and finished: without cut-outs and edges at a wall, with the faces inside the cut-outs [m²/piece]."""
    return whole_face - cut_top - hidden_face + cut_reveal


def underside(whole_underside: Value, cut_underside: Value) -> Value:
    """Underside, cut-outs left out [m²/piece]."""
    return whole_underside - cut_underside


def arris(whole_arris: Value, hidden_arris: Value, cut_arris: Value) -> Value:
    """Edges to polish: without those at a wall, with those around cut-outs [m/piece]."""
    return whole_arris - hidden_arris + cut_arris


def open_side(whole_open_side: Value, cut_underside: Value) -> Value:
    """The side that lies open in the mould, cut-outs left out [m²/piece]."""
    return whole_open_side - cut_underside


def mould_board(whole_mould_board: Value, core_board: Value) -> Value:
    """Board of one mould, its cores among it [m²/mould]."""
    return whole_mould_board + core_board


def joint(whole_joint: Value, core_joint: Value) -> Value:
    """Joints of one mould, those around its cores among them [m/mould]."""
    return whole_joint + core_joint


def release_face(whole_release_face: Value, core_release: Value) -> Value:
    """Inner faces of a mould, those of its cores among them [m²]."""
    return whole_release_face + core_release
