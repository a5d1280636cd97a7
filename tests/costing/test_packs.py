"""Whole packs: the cheapest mix, met by hand and by trying everything."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.costing.workshop.packs import Pack, PackError, packs_to_buy

SMALL, LARGE = Pack("10 kg", 10, 4.0), Pack("25 kg", 25, 8.0)


@pytest.mark.parametrize(
    ("need", "packs", "counts", "cost", "left"),
    [
        pytest.param(45, [SMALL], (5,), 20.0, 5, id="five small bags"),
        pytest.param(45, [LARGE], (2,), 16.0, 5, id="two large bags beat five small ones"),
        pytest.param(45, [SMALL, LARGE], (2, 1), 16.0, 0, id="as cheap and nothing left over"),
        pytest.param(46, [SMALL, LARGE], (0, 2), 16.0, 4, id="two large bags"),
        pytest.param(0.3, [Pack("tin", 0.1, 2.0)], (3,), 6.0, 0, id="three tenths are three packs of a tenth"),
        pytest.param(3 * 0.1, [Pack("tin", 0.1, 2.0)], (3,), 6.0, 0, id="even as binary arithmetic puts it"),
        pytest.param(57 / 0.57, [Pack("each", 1, 1.0)], (100,), 100.0, 0, id="57 / 0.57 is a hundred"),
        pytest.param(0.301, [Pack("tin", 0.1, 2.0)], (4,), 8.0, 0.099, id="a little more than three is four"),
        pytest.param(0, [SMALL, LARGE], (0, 0), 0.0, 0, id="nothing needed"),
        pytest.param(30, [Pack("a", 10, 5.0), Pack("b", 15, 7.5)], (0, 2), 15.0, 0, id="a tie goes to fewer packs"),
        pytest.param(1e6, [Pack("grain", 1, 0.01)], (1_000_000,), 10_000.0, 0, id="a million packs"),
    ],
)
def test_the_cheapest_mix_of_packs(need: float, packs: list[Pack], counts: tuple[int, ...], cost: float, left: float) -> None:
    """Worked by hand; the first two and the floating point traps are commonly known sums."""
    bought = packs_to_buy(need, packs)
    assert (bought.counts, bought.cost) == (counts, cost)
    assert bought.left_over == pytest.approx(left, abs=1e-9)
    assert bought.lines == tuple((pack, count) for pack, count in zip(packs, counts, strict=True) if count)


PACKS = st.builds(
    Pack, st.text(), st.sampled_from([0.75, 1.0, 2.0, 2.5, 5.0, 7.0, 10.0, 25.0]), st.integers(1, 60).map(lambda quarters: quarters / 4),
)


def outcome(packs: list[Pack], counts: tuple[int, ...]) -> tuple[Fraction, Fraction, int]:
    """What is paid, what is bought, and how many packs: prices and sizes here are exact in binary."""
    paid = sum(Fraction(p.price) * n for p, n in zip(packs, counts, strict=True))
    bought = sum(Fraction(p.size) * n for p, n in zip(packs, counts, strict=True))
    return Fraction(paid), Fraction(bought), sum(counts)


@settings(deadline=None, max_examples=100)
@given(st.integers(0, 60).map(lambda halves: halves / 2), st.lists(PACKS, min_size=1, max_size=3))
def test_no_other_purchase_is_cheaper(need: float, packs: list[Pack]) -> None:
    """Trying all counts of up to three kinds finds nothing cheaper, nor as cheap with less left over or fewer packs."""
    most = [-int(-need // p.size) for p in packs]
    size = 1
    for count in most:
        size *= count + 1
    if size > 4000:
        packs, most = packs[:1], most[:1]
    best = min(
        (tried for counts in product(*(range(n + 1) for n in most)) if (tried := outcome(packs, counts))[1] >= need),
    )
    bought = packs_to_buy(need, packs)
    assert outcome(packs, bought.counts) == best
    assert bought.bought >= need
    assert bought.left_over == pytest.approx(bought.bought - need, abs=1e-9)


@settings(deadline=None, max_examples=50)
@given(st.floats(0.01, 5000), st.lists(PACKS, min_size=1, max_size=5))
def test_needing_more_never_costs_less(need: float, packs: list[Pack]) -> None:
    """The cost rises with the need, and with fewer kinds to choose from."""
    bought = packs_to_buy(need, packs)
    assert bought == packs_to_buy(need, packs)
    assert bought.cost <= packs_to_buy(need * 1.1, packs).cost
    assert bought.cost <= packs_to_buy(need, packs[:1]).cost


@pytest.mark.parametrize(
    ("need", "packs", "words"),
    [
        (1.0, [], ["no pack"]),
        (-1.0, [SMALL], ["need", "-1"]),
        (float("inf"), [SMALL], ["need", "inf"]),
        (1.0, [Pack("tin", 0.0, 1.0)], ["size", "tin", "0"]),
        (1.0, [Pack("tin", 1.0, -1.0)], ["price", "tin", "below 0"]),
        (1e9, [Pack("tin", 0.1, 1.0)], ["more than a million packs", "units"]),
    ],
)
def test_what_cannot_be_bought_is_refused_with_a_sentence(need: float, packs: list[Pack], words: list[str]) -> None:
    """Each refusal is one sentence that names the pack, the value, and what would do."""
    with pytest.raises(PackError) as refused:
        packs_to_buy(need, packs)
    assert all(word in str(refused.value) for word in words)
    assert str(refused.value).endswith(".")
