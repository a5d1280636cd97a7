"""Papers to an order, for its customer: the whole of ``pricing papers``."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import field
from pathlib import Path

from pricing.api.books import opened_for
from pricing.api.faults import told
from pricing.api.printing import printed
from pricing.dataclass import dataclass
from pricing.problems import Problems


@dataclass
class Papers:
    """What a run for papers gave.

    Parameters
    ----------
    problems : what stopped the run, or one paper of it
    written : the papers
    """

    problems: Problems
    written: list[Path] = field(default_factory=list)


def papers(
    path: Path | str, quote: str, *, out: Path | str, kinds: Sequence[str] | None = None, day: datetime.date | None = None,
    pdf: bool = False,
) -> Papers:
    """Write the papers to an order, from its record: confirmation, request for the next payment, delivery note, statement.

    Parameters
    ----------
    path : the price book
    quote : number of the quote, which is ordered
    kinds : ``confirmation``, ``request``, ``delivery`` or ``statement``; all that the order has where None
    day : of the papers; today where None
    out : folder for them
    pdf : True for a PDF beside each; a problem says so where there is no LibreOffice to make it
    """
    from pricing.register.of_record import costing_of_record
    from pricing.register.payments import accounts
    from pricing.register.recorded_quote import TAKEN
    from pricing.register.register import Register, RegisterError
    from pricing.reports.quote.papers import paper_file_name, papers_of, write_paper
    from pricing.reports.shared.owner import refuse_others

    book, problems = opened_for(Path(path), [quote], from_record=True)
    done = Papers(Problems(Path(path).name))
    if book is None:
        done.problems.take(problems.errors)
        return done
    with told(done.problems, out), Register.open(book.path, to_read=True) as register:
        recorded = register.marked(quote)
        if recorded.marked not in TAKEN:
            remedy = f"note the order with: pricing register --mark {recorded.number}=ordered"
            raise RegisterError("not-ordered", f"quote {recorded.name} is {recorded.state}, and has no papers yet; {remedy}")
        costing, account = costing_of_record(book, register, recorded), accounts(register, [recorded])[recorded.key]
        ordered = dict(register.histories(recorded.key)[recorded.key]).get("ordered", recorded.since)
        made = papers_of(costing, account, ordered, day or datetime.date.today())
        if day is not None and day < ordered:
            text = f"the papers are of {day}, before quote {recorded.name} was ordered on {ordered}; look at the day"
            done.problems.add("early-day", text, warning=True)
        chosen = {Path(out) / paper_file_name(recorded.number, each.kind): each for each in made if kinds is None or each.kind in kinds}
        refuse_others([*chosen, *(place.with_suffix(".pdf") for place in chosen if pdf)], book.path, done.problems)
        if done.problems.errors:
            return done
        for target, paper in chosen.items():
            write_paper(costing, paper, target)
            done.written.append(target)
        if kinds is not None and "request" in kinds and not any(path.name.endswith("request.xlsx") for path in done.written):
            done.problems.add("nothing-open", f"quote {recorded.name}: everything is paid, and nothing is asked for", warning=True)
        if pdf:
            done.written += printed(done.written, done.problems)
    return done
