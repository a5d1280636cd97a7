"""The totals against published example invoices.

Sources: github.com/ConnectingEurope/eInvoicing-EN16931 (EUPL 1.2), github.com/OpenPEPPOL/peppol-bis-invoice-3,
github.com/itplr-kosit/xrechnung-testsuite (Apache 2.0); figures as collected in the data set en16931_examples.json.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import pytest
from data_sets import read_json

from pricing.rules.prices import line_net
from pricing.rules.totals import gross, lines_net, net, payable, tax

IDS = (
    "cen-example8", "cen-example5", "cen-example4", "cen-discount-price", "peppol-allowance", "peppol-vat-S", "peppol-base",
    "peppol-negative", "peppol-no-1", "kosit-01.11", "kosit-01.14", "kosit-01.17", "kosit-03.06", "cen-cii-netting-zero",
)


def example(name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(each for each in read_json("en16931_examples.json")["examples"] if each["id"] == name)
    return found


def number(text: str | None) -> float:
    return float(text or 0)


def line_amount(line: dict[str, Any]) -> float:
    """Quantity times net price over base quantity, rounded, and the line's own allowances and charges, already rounded."""
    own = sum(number(each["amount"]) * (1 if each["kind"] == "charge" else -1) for each in line.get("line_allowances_charges", ()))
    price = number(line["net_price"]) / (number(line.get("base_quantity")) or 1.0)
    return float(lines_net(line_net(number(line["quantity"]), price, 0.0, 2) + own, 2))


def test_the_list_of_examples_is_complete() -> None:
    """Every example of the data set is checked here, and no other is named."""
    assert {each["id"] for each in read_json("en16931_examples.json")["examples"]} == set(IDS)


@pytest.mark.parametrize("name", IDS)
def test_an_example_invoice_adds_up_to_the_cent(name: str) -> None:
    """Lines, document amounts, tax per rate on the summed base, total: each equals the published amount."""
    invoice = example(name)
    bases: dict[tuple[str, str], float] = defaultdict(float)
    total = charges = 0.0
    for line in invoice["lines"]:
        amount = line_amount(line)
        assert amount == number(line["line_net_amount"])
        bases[line["vat_category"], f"{number(line['vat_rate']):g}"] += amount
        total += amount
    for each in invoice["document_allowances_charges"]:
        amount = number(each["amount"]) * (1 if each["kind"] == "charge" else -1)
        charges += amount
        bases[each["vat_category"], f"{number(each['vat_rate']):g}"] += amount
    published = {(row["vat_category"], f"{number(row['vat_rate']):g}"): row for row in invoice["vat_breakdown"]}
    taxes = 0.0
    for key, base in bases.items():
        assert lines_net(base, 2) == number(published[key]["taxable_amount"])
        amount = float(tax(lines_net(base, 2), number(published[key]["vat_rate"]) / 100, 0.0, 2))
        assert amount == number(published[key]["tax_amount"])
        taxes += amount
    totals = invoice["totals"]
    without = float(net(lines_net(total, 2), 0.0, charges, 2))
    assert without == number(totals["total_without_vat"])
    with_tax = float(gross(without, lines_net(taxes, 2), 2))
    assert with_tax == number(totals["total_with_vat"])
    due = lines_net(with_tax - number(totals.get("paid_amount")) + number(totals.get("rounding_amount")), 2)
    assert due == number(totals["amount_due"])


def test_tax_of_the_sum_is_not_the_sum_of_taxes() -> None:
    """On the ten lines of cen-example8, tax on the summed base is 190.87; line by line it would be 190.88."""
    invoice = example("cen-example8")
    amounts = [number(line["line_net_amount"]) for line in invoice["lines"]]
    assert tax(lines_net(sum(amounts), 2), 0.21, 0.0, 2) == 190.87
    assert lines_net(sum(float(tax(amount, 0.21, 0.0, 2)) for amount in amounts), 2) == number(invoice["sum_of_line_level_rounded_vat"])


def test_half_a_cent_goes_up() -> None:
    """1460.50 at 25 % is 365.125 and becomes 365.13 (peppol-no-1); half to even and binary rounding give 365.12."""
    assert tax(1460.5, 0.25, 0.0, 2) == 365.13
    assert round(1460.5 * 0.25, 2) == 365.12


@pytest.mark.parametrize(("rate", "published"), [(0.05, 0.0), (0.10, 0.0)])
def test_cash_steps_of_five_cents(rate: float, published: float) -> None:
    """A cash amount goes to the nearest 5 cents, exactly 2.5 cents up (Australian Taxation Office, regulation 168-5.11)."""
    assert float(payable(rate + 0.025, 0.05, 0.05, 2)) == pytest.approx(rate + 0.05 + published)
    assert float(payable(rate + 0.024, 0.05, 0.05, 2)) == pytest.approx(rate + published)


@pytest.mark.parametrize(
    ("amount", "down"),
    [(86.769, 86.76), (86.765, 86.76), (86.76, 86.76), (0.019, 0.01)],
)
def test_total_tax_may_be_rounded_down(amount: float, down: float) -> None:
    """An invoice trader may round the total tax down to a whole penny (HMRC VAT Trader Records manual, vatrec12010)."""
    assert tax(amount, 1.0, 1.0, 2) == down


#: Published rule tests by the arithmetic that they are about: paths of the total and of its terms with their signs.
def published_rule_tests() -> list[dict[str, Any]]:
    """The rule tests of the validation artefacts that state one total and all its terms (BR-CO-13 and BR-CO-15)."""
    tests: list[dict[str, Any]] = read_json("en16931_examples.json")["rule_unit_tests"]
    return [each for each in tests if {*each["passes"], *each["fails"]} & {"BR-CO-13", "BR-CO-15"}]


def test_the_published_rule_tests_pass_and_fail_as_published() -> None:
    """Each document that the artefacts accept adds up by our rules, and each that they reject does not."""
    seen = 0
    for each in published_rule_tests():
        values: dict[str, float] = defaultdict(float)
        if len({item["currency"] for item in each["doc"] if item.get("currency")}) > 1:
            continue  # tax in a second currency, which is information and no term of the sum
        for item in each["doc"]:
            try:
                values[item["path"].rpartition("/")[2]] += float(item["value"])
            except ValueError:
                continue
        if "LineExtensionAmount" in values and "TaxExclusiveAmount" in values and {*each["passes"], *each["fails"]} == {"BR-CO-13"}:
            ours = net(values["LineExtensionAmount"] - values["AllowanceTotalAmount"], 0.0, values["ChargeTotalAmount"], 2)
            stated = values["TaxExclusiveAmount"]
        elif "TaxExclusiveAmount" in values and "TaxInclusiveAmount" in values:
            ours, stated = gross(values["TaxExclusiveAmount"], values["TaxAmount"], 2), values["TaxInclusiveAmount"]
        else:
            continue
        seen += 1
        assert (float(ours) == stated) is bool(each["passes"]), each["file"]
    assert seen > 20
