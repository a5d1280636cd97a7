"""Standards that were accepted, as the register keeps them: from which figure to which, and from which finished jobs."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from pricing.costing.jobs.accepted_jobs import Acceptance, CountedJob
from pricing.costing.jobs.proposals import Proposal
from pricing.register.database import faults, transaction
from pricing.register.kept.nonsense import number_of, words_of
from pricing.register.register import Register


def acceptances(register: Register) -> list[Acceptance]:
    """Everything that was accepted, in the order in which it was; nothing in a register of before that was noted.

    Problems raised: RegisterError.
    """
    connection = register._connection
    with faults(register.path):
        if not connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'accepted_standards'").fetchone():
            return []
        rows = connection.execute("SELECT id, standard, before, after FROM accepted_standards ORDER BY id").fetchall()
        jobs: dict[int, list[CountedJob]] = {}
        for row in connection.execute("SELECT accepted, quote, weight, observations FROM counted_jobs ORDER BY accepted, quote"):
            with register.left_out(f"a job of the accepted standard in row {row['accepted']}"):
                job = CountedJob(
                    words_of(row["quote"], "quote"), number_of(row["weight"], "weight"), int(number_of(row["observations"], "count")))
                jobs.setdefault(row["accepted"], []).append(job)
    found = []
    for row in rows:
        with register.left_out(f"the accepted standard in row {row['id']}"):
            before, after = number_of(row["before"], "figure before"), number_of(row["after"], "figure after")
            found.append(Acceptance(words_of(row["standard"], "name"), before, after, tuple(jobs.get(row["id"], ()))))
    return found


def note_accepted(register: Register, proposals: Sequence[Proposal], day: datetime.date) -> list[int]:
    """Note what is about to be written into the price book, all of it or nothing.

    Parameters
    ----------
    proposals : that are accepted
    day : of this

    Returns
    -------
    the rows, for :func:`withdraw_accepted` where the price book is not written after all

    Problems raised: RegisterError.
    """
    rows = []
    register.keep_backup()
    with faults(register.path), transaction(register._connection):
        for each in proposals:
            key = register._connection.execute(
                "INSERT INTO accepted_standards (standard, before, after, day) VALUES (?, ?, ?, ?)",
                (each.standard, each.today, each.written, str(day)),
            ).lastrowid
            assert key is not None
            register._connection.executemany(
                "INSERT INTO counted_jobs VALUES (?, ?, ?, ?)", [(key, job.quote, job.weight, job.observations) for job in each.jobs]
            )
            rows.append(key)
    return rows


def withdraw_accepted(register: Register, rows: Sequence[int]) -> None:
    """Strike off what was noted and not written.

    Problems raised: RegisterError.
    """
    with faults(register.path), transaction(register._connection):
        register._connection.executemany("DELETE FROM accepted_standards WHERE id = ?", [(row,) for row in rows])
