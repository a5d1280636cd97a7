"""What to be careful of at each step of the work: the usual caution, which defers to local rules and to the manufacturers.

None says that anything is safe. A step gets a caution by what it is counted by, by its machine, and by the words of its
name; a step of another name than the usual ones is covered by what it is counted by.
"""

from __future__ import annotations

import re

from pricing.costing.workshop.steps import REFIT, WorkStep
from pricing.dataclass import dataclass
from pricing.reports.quote.wording import weight_text

#: Stands wherever cautions stand.
DEFERENCE = "Usual caution only; local rules and the manufacturers' instructions come first."


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

#: Weights that published guidance names, all of them for the best of cases and none a legal limit: manual handling operations guidance
#: L23 and INDG143 of the Health and Safety Executive (lifting and lowering, held close between elbow and knuckle; near the floor, above
#: the shoulder or at arm's length less than half), and the revised lifting equation of NIOSH (publication 94-110, revised 2021, load
#: constant). The figures of L23 are from memory and a transcription, those of NIOSH from a transcription.
GUIDANCE = (
    "Published guidance, no legal limit: one person, close to the body between elbow and knuckle, 16 kg (35 lb) for women and 25 kg "
    "(55 lb) for men, and near the floor, at arm's length or above the shoulder 3 to 10 kg (7 to 22 lb) (HSE L23 and INDG143); 23 kg "
    "(51 lb) at the very best (NIOSH lifting equation). Many people should lift less."
)

#: At the foot of the batch sheets, and of the cut list.
BATCH_CAUTION = (
    "Usual caution: cement, wet or dry, is caustic, and tipping it and dry sand makes dust with respirable crystalline silica. Gloves, eye "
    "protection, respiratory protection that fits; local rules and the manufacturers' instructions come first."
)
CUT_CAUTION = (
    "Usual caution: guards, eye and hearing protection, extraction; local rules and the instructions of the saw's manufacturer come first."
)

CAUTIONS: tuple[StepCaution, ...] = (
    StepCaution(
        "Wet cement", "Wet cement is caustic: gloves, eyes, covered skin.",
        "Cement and wet concrete are caustic and burn skin and eyes, often unnoticed at first. Waterproof gloves, eye protection, covered "
        "arms and legs; wash splashes off at once with plenty of water, change soaked clothes, and see a doctor about anything in the eye.",
        frozenset({"batch", "cast"}), ("mix", "fill", "cast", "pour", "vibrat", "slurry", "demould", "wash"), _BUILDING,
    ),
    StepCaution(
        "Glass fibre", "Glass fibre: gloves, long sleeves, eyes, no dust.",
        "Glass fibre irritates skin, eyes and airways, and fresh concrete drives it into the skin. Gloves, closed cuffs and collar, eye "
        "protection, respiratory protection where it is cut, chopped or sprayed; do not rub, rinse it off, and wash work clothes apart.",
        frozenset(), ("fibre", "fiber", "chop", "spray"), _BUILDING,
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
        "Slurry", "Slurry is alkaline: gloves, eyes; not into the drain.",
        "Slurry and water from grinding and washing are strongly alkaline and burn skin and eyes as wet cement does, and they make floors "
        "slippery. Waterproof gloves and boots, eye protection; let it settle, keep it out of drains, water and soil, and dispose of both "
        "parts as local rules say.",
        frozenset({"m2 open side"}), ("grind", "polish", "hone", "slurry", "wash", "rinse"), _BUILDING,
    ),
    StepCaution(
        "Noise and vibration", "Noise and vibration: ears, short spells, breaks.",
        "Grinders, polishers, drills and vibrating tables are loud and shake hands and arms, which harms hearing and fingers for good. "
        "Hearing protection, tools and pads in good order that shake little, warm hands, short spells with breaks; stop and see a doctor "
        "where fingers tingle, go numb or turn white.",
        frozenset({"m2 open side"}), ("grind", "polish", "hone", "sand", "drill", "vibrat"), _BUILDING,
    ),
    StepCaution(
        "Saws and drivers", "Saw and driver: guard, eyes, ears, wood dust.",
        "Saws and drivers: guards in place, eye and hearing protection, extraction for the dust of board, no gloves near a turning blade, "
        "and the plug out before a blade is changed.",
        frozenset({"m2 mould", "mould"}), ("saw", "board"),
    ),
    StepCaution(
        "Sealants, sealers, release", "Vapours: ventilate, gloves, the manufacturer's data sheet.",
        "Sealants, sealers, oils, waxes and release agents: read the manufacturer's data sheet first, ventilate, keep flames and sparks "
        "away, wear the gloves and the respiratory protection that it names, and keep soaked rags where they cannot heat up.",
        frozenset({"m joint"}), ("seal", "wax", "oil", "coat", "lacquer", "resin", "glue", "release", REFIT.casefold()),
    ),
    StepCaution(
        "Slabs on edge", "On edge: in a rack, secured.",
        "Slabs that stand on edge topple, and what they fall on is crushed. Stand them in a rack or on a frame made for it, leaning and "
        "secured one by one so that none can slide or fall, and let nobody stand or reach where one would fall.",
        frozenset(), ("take out", "demould", "strip", "turn", "stack", "store", "stand", "lean", "load", "carry", "move", "crate", "dry"),
        _BUILDING,
    ),
    StepCaution(
        "Lifting", "Lifting: {weight}",
        "Pieces and filled moulds are heavy and hard-edged, and wet concrete adds the mould's own weight. Plan the way, share the load or "
        "use a lifting aid, keep hands and feet from under it, carry slabs on edge, and let no piece hang from a fresh arris. " + GUIDANCE,
        frozenset(),
        ("take out", "demould", "strip", "turn", "lift", "pack", "crate", "stack", "wrap", "load", "carry", "move", "fit", "hang",
         "fill the mould"),
        _BUILDING,
    ),
    StepCaution(
        "Electricity and water", "Electricity and water: residual-current protection, sound leads.",
        "Machines that run wet or stand in the wet: residual-current protection, leads and plugs that are sound and off the floor, dry "
        "hands, and the plug out before cleaning or reaching into a mixer.",
        frozenset(), (), _BUILDING,
    ),
)

_OF = {caution.title: caution for caution in CAUTIONS}

#: The caution of machines in the wet, and that of fibre, are given by more than words.
_WET_MACHINE, _FIBRE = _OF["Electricity and water"], _OF["Glass fibre"]

#: What is counted by these touches the fresh mix.
_FRESH = frozenset({"batch", "cast"})


def _calls_for(caution: StepCaution, step: WorkStep) -> bool:
    """Whether a step is one that a caution is about; the words that call for it begin words of its name, or follow un- or re-."""
    if step.per in caution.unless:
        return False
    if caution is _FIBRE and step.fibre and step.per in _FRESH:
        return True
    named = re.search(rf"\b(?:un|re)?(?:{'|'.join(map(re.escape, caution.names))})", step.step.casefold()) if caution.names else None
    return step.per in caution.pers or named is not None or (caution is _WET_MACHINE and bool(step.machine))


def cautions_of(step: WorkStep) -> tuple[StepCaution, ...]:
    """What to be careful of at a step.

    >>> step = WorkStep(0, "Grind the open side", "Finisher", "Wet polisher", "m2 open side", 24, 1, 0, False, 2)
    >>> [caution.title for caution in cautions_of(step)]
    ['Silica dust', 'Slurry', 'Noise and vibration', 'Electricity and water']
    """
    return tuple(caution for caution in CAUTIONS if _calls_for(caution, step)) if step.total else ()


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


def in_measures(text: str, unit: str) -> str:
    """A caution that names weights in kilograms and in pounds, in pounds alone where a workshop weighs so.

    >>> in_measures("at the very best 23 kg (51 lb).", "lb"), in_measures("3 to 10 kg (7 to 22 lb)", "kg")
    ('at the very best 51 lb.', '3 to 10 kg (7 to 22 lb)')
    """
    return re.sub(r"[0-9]+(?: to [0-9]+)? kg \(([^()]* lb)\)", r"\1", text) if unit == "lb" else text
