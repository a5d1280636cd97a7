"""No price book, however it is made, takes long to refuse: processor time of a process of its own, start-up left out."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from hostile_books import BOOKS

resource = pytest.importorskip("resource", reason="the usage of a process is not told on this system")

#: Seconds of a processor that does twenty million additions of Python in one: each file's work is held against that count, so
#: that a slow or a busy machine changes nothing.
MOST_SECONDS = 3.0
ADDITIONS = 20_000_000

#: What takes longer is tried again: the work is the same each time, what a busy machine adds to it is not.
TRIES = 3
CHILD = """
import json, resource, sys, time
from pathlib import Path
from pricing.register.setting_aside import read_but_settled
resource.setrlimit(resource.RLIMIT_CPU, (120, 120))

def additions():
    start, total = time.process_time(), 0
    for number in range(2_000_000):
        total += number & 7
    return (time.process_time() - start) / 2_000_000

before = additions()
start = time.process_time()
book, problems, _ = read_but_settled(Path(sys.argv[1]))
used = time.process_time() - start
print(json.dumps([book is not None, problems.error_count, used, max(before, additions())]))
"""


@pytest.mark.slow
@pytest.mark.parametrize("name", BOOKS)
def test_each_book_is_done_with_in_three_seconds(name: str, tmp_path: Path) -> None:
    """What is wrong is told, what is odd is read, and neither takes longer than the cells that the file really holds."""
    make, is_refused = BOOKS[name]
    path = tmp_path / "book.xlsx"
    make(path)
    least = MOST_SECONDS
    for _ in range(TRIES):
        child = subprocess.run([sys.executable, "-c", CHILD, str(path)], capture_output=True, text=True, timeout=600, check=False)
        assert child.returncode == 0, child.stderr[-2000:]
        was_read, errors, seconds, addition = json.loads(child.stdout)
        assert was_read != is_refused
        assert bool(errors) == is_refused
        least = seconds / (addition * ADDITIONS)
        if least < MOST_SECONDS:
            break
    assert least < MOST_SECONDS
