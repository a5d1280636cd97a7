"""What to be careful of at each step of the work: the usual caution, which defers to local rules and to the makers.

None says that anything is safe. A step gets a caution by what it is counted by, by its machine, and by the words of its
name; a step of another name than the usual ones is covered by what it is counted by.
"""

from __future__ import annotations

from dataclasses import dataclass

from pricing.costing.workshop.steps import REFIT, WorkStep
from pricing.reports.quote.wording import weight_text

#: Stands wherever cautions stand.
DEFERENCE = "Usual caution only; local rules and the makers' instructions come first."


@dataclass(frozen=True, slots=True)
class StepCaution:
    """Something to be careful of at a step.

    Parameters
    ----------
    title : its subject
    short : as it stands beside a step; ``{weight}`` is filled in
    full : what is usual, as it stands once below the steps
    pers : words of the Per column that call for it
    names : parts of a step's name that call for it, in small letters
    unless : words of the Per column that rule it out
    """

    title: str
    short: str
    full: str
    pers: frozenset[str]
    names: tuple[str, ...]
    unless: frozenset[str] = frozenset()


_BUILDING = frozenset({"mould", "m2 mould", "m joint"})

CAUTIONS: tuple[StepCaution, ...] = (
    StepCaution(
        "Wet cement", "Wet cement is caustic: gloves, eyes, covered skin.",
        "Cement and wet concrete are caustic and burn skin and eyes, often unnoticed at first. Waterproof gloves, eye protection, covered "
        "arms and legs; wash splashes off at once with plenty of water, change soaked clothes, and see a doctor about anything in the eye.",
        frozenset({"batch", "cast"}), ("mix", "fill", "cast", "pour", "vibrat", "slurry", "demould", "wash"), _BUILDING,
    ),
    StepCaution(
        "Silica dust", "Silica dust: wet or with extraction, respirator that fits.",
        "Cutting, grinding, polishing, sanding and sweeping concrete, and tipping dry sand and cement, make respirable crystalline silica, "
        "which harms the lungs for good. Work wet or with extraction made for such dust, wear respiratory protection that fits and suits "
        "it, do not sweep dry or blow down, and wash off slurry before it dries.",
        frozenset({"batch", "m2 open side", "m arris"}), ("grind", "polish", "hone", "sand", "rub", "arris", "drill", "cut", "weigh"),
        _BUILDING,
    ),
    StepCaution(
        "Saws and drivers", "Saw and driver: guard, eyes, ears, wood dust.",
        "Saws and drivers: guards in place, eye and hearing protection, extraction for the dust of board, no gloves near a turning blade, "
        "and the plug out before a blade is changed.",
        frozenset({"m2 mould", "mould"}), ("saw", "board"),
    ),
    StepCaution(
        "Sealants, sealers, release", "Vapours: ventilate, gloves, the maker's data sheet.",
        "Sealants, sealers, oils, waxes and release agents: read the maker's data sheet first, ventilate, keep flames and sparks away, "
        "wear the gloves and the respiratory protection that it names, and keep soaked rags where they cannot heat up.",
        frozenset({"m joint"}), ("seal", "wax", "oil", "coat", "lacquer", "resin", "glue", "release", REFIT.casefold()),
    ),
    StepCaution(
        "Lifting", "Lifting: {weight}",
        "Pieces and filled moulds are heavy and hard-edged, and wet concrete adds the mould's own weight. Plan the way, share the load or "
        "use a lifting aid, keep hands and feet from under it, carry slabs on edge, and let no piece hang from a fresh arris.",
        frozenset(), ("take out", "demould", "strip", "turn", "lift", "pack", "stack", "wrap", "load", "carry", "move", "fill the mould"),
        _BUILDING,
    ),
    StepCaution(
        "Electricity and water", "Electricity and water: residual-current protection, sound leads.",
        "Machines that run wet or stand in the wet: residual-current protection, leads and plugs that are sound and off the floor, dry "
        "hands, and the plug out before cleaning or reaching into a mixer.",
        frozenset(), (), _BUILDING,
    ),
)

#: The caution of machines in the wet, and that of lifting, are given by more than words.
_WET_MACHINE, _LIFTING = CAUTIONS[-1], CAUTIONS[-2]


def cautions_of(step: WorkStep) -> tuple[StepCaution, ...]:
    """What to be careful of at a step.

    >>> step = WorkStep(0, "Grind the open side", "Finisher", "Wet polisher", "m2 open side", 24, 1, 0, False, 2)
    >>> [caution.title for caution in cautions_of(step)]
    ['Silica dust', 'Electricity and water']
    """
    name = step.step.casefold()
    if not step.total:
        return ()
    found = []
    for caution in CAUTIONS:
        named = any(part in name for part in caution.names)
        if step.per not in caution.unless and (step.per in caution.pers or named or (caution is _WET_MACHINE and step.machine)):
            found.append(caution)
    return tuple(found)


def short_text(step: WorkStep, mass: float, lift: float, unit: str = "kg") -> str:
    """The cautions of a step as they stand beside it; empty where there is none.

    Parameters
    ----------
    mass : of one piece [unit]
    lift : the most that one person should lift [unit]
    unit : ``kg`` or ``lb``
    """
    heavy = "more than one person should lift; more people or a lifting aid." if mass > lift + 1e-9 else "carry on edge, keep feet clear."
    weight = f"one piece is about {weight_text(mass)} {unit}, {heavy}"
    return " ".join(caution.short.format(weight=weight) for caution in cautions_of(step))
