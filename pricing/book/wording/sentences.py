"""Every kind of problem that reading a price book can find: a closed list of codes, each with sentence and remedy."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import islice

from pricing.text import fold

#: Code of a problem -> what is wrong and how to mend it. The words in braces are filled in from the cell.
CODES: dict[str, str] = {
    # the sheets and their headings
    "not-a-price-book": "this is not a price book: it has none of its sheets, such as {needed}; begin one with: pricing start",
    "misnamed-sheet": 'this sheet is not read: is {found} meant to be {meant}? rename it, or give it other headings if it is not',
    "spelt-otherwise": '"{found}" is spelt "{other}" in row {row}; both are taken as one and the same',
    "like-names": 'the names "{found}" and "{other}" (row {row}) differ by {what} alone; give both the same spelling if one is meant',
    "missing-sheet": 'the sheet "{sheet}" is missing{because}; add it with the headings {headings}',
    "missing-headings": "no row of headings was found; write {headings} in one row",
    "missing-column": 'the column "{heading}" is missing{near}; add it beside the others',
    "duplicate-column": 'the heading "{heading}" stands here and in {other}; keep one of them',
    "unknown-column": '"{heading}" is not a column of this sheet and is left alone; if it should be "{near}", rename '
                      'it',
    "misspelt-column": '"{heading}" is not a column of this sheet, and without "{near}" rows stand twice; rename it to "{near}" if that is '
                       "meant, or keep one row of each",
    "column-without-heading": "the figures in column {letters} have no heading and are not used; write one above them (of "
                              "headings that are merged only the first is left), or clear them",
    "no-rows": "there is no {thing} on this sheet; type at least one row under the headings",
    "empty-sheet": 'the sheet "{sheet}" has no rows{because}; type it there',
    "no-settings": "there is no setting on this sheet; type at least {settings}, each with its value",
    "unknown-heading-unit": 'the heading "{heading}": {reason}; write a unit such as {example} in the brackets',
    "unit-not-stated": "no unit stands beside {headings}; write it in brackets after the heading if another is meant",
    "merged-cells": "the cells {cells} are merged, so that only the first of them holds anything; unmerge them and "
                    "fill in each",
    "hidden-rows": "{rows} hidden and {are} read all the same; show {them} to see what is used",
    "hidden-sheet": "this sheet is hidden and is read all the same; show it to see what is used",
    "not-data": "this row is taken as {taken}, not as data; {remedy}",
    # settings
    "missing-setting": 'the setting "{what}" is missing; add a row for it, such as {example}',
    "unknown-setting": '"{found}" is not a setting and is left alone{near}',
    "same-day": 'the setting "{found}" stands in row {other} and again here from the same day on; keep one of them, or type under From the '
                'day from which this one holds',
    "no-day-here": "{what} cannot change from a day on, and a day stands beside it under From; clear it: only overhead, productive hours "
                   "and the electricity price can",
    "duplicate-setting": 'the setting "{found}" stands here and in row {other}; keep one of them',
    "unknown-currency": '{what} "{found}" is not a currency code; type its three letters, such as {codes}',
    "margin-of-100": '{what} "{found}" is 100 % or more of the selling price, which no price can earn; type less, '
                     'such as 40 %',
    "no-overhead": "no overhead is given; set Overhead per labour hour, or Overhead per year with Productive hours "
                   "per year (0 if none)",
    "two-overheads": "overhead per labour hour is {given} here and {follows} from the figures per year; keep one way",
    "margins-crossed": "the lowest margin, {lowest}, is above the target margin, {target}; lower it or raise the "
                       "target",
    "no-electricity-price": 'the setting "Electricity price" is missing, and {machine} draws electricity; type a '
                            'price per kWh',
    "no-hours-per-year": 'the setting "Interest rate" asks for interest on machines, and {machine} has no Hours per year; type the '
                         "hours that it runs in a year",
    "closed-backwards": "the workshop is closed from {first} to {last}, which comes before; type the last day under To",
    "unknown-holidays": 'the setting "Holidays" is {found}, for which no holidays are known; type the ISO 3166 code of a country or of a '
                        "part of one, such as GB-ENG, or leave it blank and write the days on the sheet Closed",
    "no-holidays": 'the setting "Holidays" is {found}, and the library of public holidays is not installed; install it with: pip install '
                   "'cast-pricing[calendar]', or write the days on the sheet Closed",
    # single cells
    "missing-value": "{what} is missing; type {example}",
    "error-value": "{what} shows the error {found}; mend the formula or type the value",
    "formula-without-result": "{what} is a formula whose result is not stored; open the book in your spreadsheet "
                              "program and save it",
    "doubtful-zero": "{what} is a formula with the stored result 0, which may never have been calculated; "
                     "open the book in your spreadsheet program and save it",
    "long-name": "{what} has {count:,} characters, and a name has {most:,} at most; shorten it",
    "not-a-name": '{what} "{found}" is {is_a}, not a name; format the cell as text and type it again',
    "not-a-number": '{what} "{found}" {reason}; type {example}',
    "ambiguous-number": '{what} "{found}" {reason}; type {example}',
    "ambiguous-percentage": '{what} "{found}" may be {one} or {other}; type {type_one} or {type_other}',
    "unknown-unit": '{what} "{found}": {reason}; type {example}',
    "wrong-dimension": '{what} "{found}" is {is_a}; {needed} is needed, such as {example}',
    "wrong-currency": '{what} "{found}" is not in {currency}, the currency of this book; type the price in {currency}',
    "format-contradicts": '{what} "{found}" is shown as "{printed}" by its number format, but {instead}; change the '
                          'format or the unit',
    "scaled-format": "{what} {found} is shown in {printed} by its number format; the stored value is used",
    "hidden-figure": "{what} {found} is hidden by its number format; the stored value is used",
    "out-of-range": '{what} "{found}" must be {must}; look for a slip of {slip}',
    "not-whole": '{what} "{found}" must be a whole number; type {below} or {above}',
    "not-a-date": '{what} "{found}" {reason}; type a date such as 2025-03-01',
    "date-out-of-range": '{what} "{found}" is before 1990 or after 2100; type a date such as 2025-03-01',
    "not-yes-or-no": '{what} "{found}" is neither yes nor no; type yes or no',
    "unknown-word": '{what} "{found}" is not one of the words that can stand here; {near}choose {choices}',
    "unknown-name": '{what} "{found}" is not on the sheet {sheet}; {near}',
    "kept-name": 'the name "{found}" is kept for where there is none; give this one another name',
    "duplicate-key": '{what} "{found}" stands in row {other} and again here; {remedy}',
    # rows against each other
    "missing-dimension": 'a {shape} needs {what}, and "{product}" has none; type {example}',
    "unused-dimension": "{what} is given, but a {shape} has none; it is not used",
    "impossible-shape": "{sentence}",
    "wrong-pack-unit": '"{material}" is used as {role} and sold by {found}; {needed} is needed',
    "missing-property": '"{material}" is used as {role} and needs {what}; type it on the sheet Materials, such as '
                        '{example}',
    "changed-pack-unit": 'the pack unit of "{material}" is {found} here and {before} in row {other}; keep one unit '
                         'for a material',
    "changed-kind": 'the kind of "{material}" is {found} here and {before} in row {other}; keep one kind for a '
                    'material',
    "odd-kind": '"{material}" is used as {role} and is of the kind {found}; look whether the right one is named',
    "mixed-parts": 'the mix "{mix}" has parts by mass and parts by volume; give all of its parts in one of them',
    "no-binder": 'the mix "{mix}" has {what}, but no binder; add one, or give the amount in another basis',
    "too-much-air": 'the shares of volume of the mix "{mix}" come to {found}; less than 100 % is needed',
    "only-shares": 'the mix "{mix}" has shares only and nothing that they are shares of; add ingredients in parts or '
                   'per m3',
    "too-long": '{what} "{name}" has {count:,} rows, and {most:,} is the most that is worked with; leave out what does not belong to it',
    "too-many-options": 'the quote "{quote}" has {count:,} options, and {most} is the most that is worked with; offer the others in '
                        "another quote",
    "too-many-parts": "the sets that are asked for come to {count:,} lines, and {most:,} is the most that is worked with; ask for fewer",
    "too-many-letters": "the paragraphs of the terms have {count:,} letters in all, and {most:,} is the most that is worked with; shorten "
                        "them",
    "incomplete-step": 'the step "{step}" has {has} but no {lacks}; type one',
    "empty-step": 'the step "{step}" takes no minutes and no waiting; type either, or remove the row',
    "incomplete-mould": 'the mould plan "{plan}" has {has} but no {lacks}; type one',
    "unused-value": "{what} is given without {lacks}; it is not used",
    "resale-above-price": 'the resale {found} of "{machine}" is above its price; type less',
    "no-plan": 'the product "{product}" has no {what}, so that its price carries none of it; choose one if that '
               'is not meant',
    "two-in-a-quote": 'the quote "{quote}" has {what} {found} here and {other} in row {row}; give all its lines the '
                      'same',
    "cut-out-of-nothing": "a cut-out belongs to a product, or to a line of a quote; type Product, or Quote and Line",
    "cut-out-of-both": "a cut-out belongs to a product or to a line of a quote; clear Product, or Quote and Line",
    "unknown-line": 'the quote "{quote}" {has}; type the number of one of its lines under Line',
    "incomplete-cut-out": "a {form} cut-out needs {lacks}; type it",
    "half-a-place": "From left and From front belong together; type both, or leave both blank where it is placed as agreed",
    "no-cut-outs": 'a {shape} has no cut-outs here, and "{product}" is one; take the row out, or choose another shape',
    "impossible-cut-out": "{sentence}",
    "impossible-outline": "{sentence}",
    "impossible-layer": '{sentence} of "{product}"; make Thickness less',
    "unusable-model": "{sentence}",
    "unknown-use": '"{found}" is no use that is known here, and chooses nothing; choose of {choices}',
    "no-unit-mass": '"{material}" is cast in and its mass is not known, so that pieces are heavier than is said; type Unit mass',
    "no-length": '"{product}" is a solid, and what is counted by {per} has nothing to count; give it a Model, or count by the piece',
    "extra-of-nothing": "an extra belongs to a product, a service or a quote; type Product, or Quote",
    "extra-of-both": "an extra belongs to a product or to a quote; clear Product or Quote",
    "extra-unused": 'there is no quote "{quote}" on the sheet Enquiries, so that this is bought for nothing; look at the number',
    "service-and-product": '"{name}" is a product as well; give the service another name, so that an enquiry can tell them apart',
    "free-service": 'the service "{name}" has neither a Labour plan nor a Price, so that it costs nothing; type one',
    "set-and-other": '"{name}" is a {thing} as well; give the set another name, so that an enquiry can tell them apart',
    "set-in-set": 'the set "{name}" holds the set "{part}"; name its parts here instead',
    "set-by-measure": 'the set "{name}" holds "{part}", whose price is per {per}, and a set is sold by the piece; give "{part}" an enquiry '
                      "of its own, or make its Price per piece",
    "set-of-two-taxes": 'the parts of the set "{name}" bear different taxes, {found} here and {other} in row {row}, and a set has one '
                        "price; give them one tax, or enquiries of their own",
    "set-has-none": 'a set has no {what} of its own; clear it, and give the part an enquiry of its own if it differs',
    "cut-out-of-a-set": 'line {line} of the quote "{quote}" is a set; write the cut-out with its Product, or give the part an enquiry of '
                        "its own",
    "unknown-offer": 'the offer "{found}" is not understood; type option, or instead of and the number of a line, or leave it blank',
    "nothing-but-options": 'the quote "{quote}" has nothing but options; clear Offer in the line that is asked for',
    "offer-of-no-line": 'the offer "{found}" {has}; type the number of a line of this quote that is asked for',
    "empty-level": "a level needs a Discount or a Price here; type one, or take the row out",
    "nothing-left": "{margin} of margin and {taken} taken from the price leave nothing for the cost; together they must be below 100 %",
    "tax-needs-rate": 'the tax "{tax}" is of category S, which is taxed, and has no rate; type one such as 19 %, or another category',
    "tax-takes-no-rate": 'the tax "{tax}" is of category {category}, which has no rate, and its rate is {found}; clear it, or make the '
                         "category S",
    "tax-needs-reason": 'the tax "{tax}" is exempt, and a quote has to say why; type the reason, such as the paragraph of the law',
    "reason-not-printed": 'the tax "{tax}" is of category {category}, for which no reason is printed; clear it, or choose category E',
    "no-tax-number": 'the tax "{tax}" is {means}, for which the customer needs your tax number; type it beside the setting Tax number',
    "two-taxes": '"{customer}" has a Tax and a Tax rate; keep one of them',
    "out-of-scope-with-others": 'the quote "{quote}" has a line out of the scope of the tax and a line within it (row {row}); EN 16931 '
                                "wants them apart: give one of them a quote of its own",
    "shares-of-plan": 'the shares of the plan "{plan}" come to {found}; make them 100 %, or leave one blank for what is left',
    "two-rests": 'the plan "{plan}" has no share here and none in row {row}; leave only one of them blank',
    "payments-and-deposit": 'the quote "{quote}" has a plan of payments and a deposit; keep one of them',
    "terms-of-no-quote": 'no line of Enquiries is of the quote "{quote}", so that these terms hold for nothing; mend the number if it is '
                         "another",
    "unknown-language": 'nothing is said in the language "{found}"; type {known}',
    "no-row-of-kind": 'refit minutes are given, but the sheet "Trades" is empty; type who does it and the hourly cost',
}


#: Names with which a misspelt one is compared, and the longest of them [characters]: comparing takes time.
MOST_COMPARED, LONGEST_COMPARED = 1000, 80


def sentence(code: str, **words: object) -> str:
    """The sentence of a problem.

    >>> sentence("missing-value", what="a pack price", example="18.40")
    'a pack price is missing; type 18.40'
    """
    return CODES[code].format(**words)


def number_text(value: float) -> str:
    """A number as it would be typed, with at most 15 digits.

    >>> number_text(25.0), number_text(0.1 + 0.2)
    ('25', '0.3')
    """
    return f"{value:.15g}"


def quoted(value: object, longest: int = 60) -> str:
    """What was found, on one line and not too long, as it stands between quotation marks.

    >>> quoted("two\\nlines"), quoted(25.0)
    ('two lines', '25')
    """
    text = number_text(value) if isinstance(value, float) else str(value)[: 16 * longest]
    if not text.isprintable():
        text = "".join(character if character.isprintable() else " " for character in text)
    text = " ".join(text.split())
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def listed(words: Iterable[str], last: str = "or") -> str:
    """Words as a list in a sentence.

    >>> listed(["kg", "L", "m"])
    'kg, L or m'
    """
    every = list(words)
    return f"{', '.join(every[:-1])} {last} {every[-1]}" if len(every) > 1 else "".join(every)


def near_matches(text: str, names: Iterable[str], count: int = 3) -> list[str]:
    """Names that are spelled much like a text, the nearest first.

    >>> near_matches("Grey cemnt", ["Sand", "Grey cement", "White cement"])
    ['Grey cement']
    """
    if len(text) > LONGEST_COMPARED:
        return []
    wanted = fold(text)
    import difflib

    every = [name for name in names if len(name) <= LONGEST_COMPARED]
    by_key = {fold(name): name for name in (every if len(every) <= MOST_COMPARED else _beginning_alike(wanted, every))}
    return [by_key[key] for key in difflib.get_close_matches(wanted, by_key, count, 0.7)]


def near_it(names: Sequence[str]) -> str:
    """The names that are near one that nothing is called by.

    >>> near_it(["Sand"]), near_it(["Sand", "Silica sand"])
    ('near it is Sand', 'near it are Sand, Silica sand')
    """
    return f"near it {'is' if len(names) == 1 else 'are'} {', '.join(names)}"


def _beginning_alike(wanted: str, names: list[str]) -> list[str]:
    """Of many names those that begin with the same two letters, as far as they are compared."""
    start = wanted[:2]
    return list(islice((name for name in names if fold(name[:4]).startswith(start)), MOST_COMPARED))
