"""Time and memory of every odd and hostile file, each read in a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from generator import Fault, all_faults

resource = pytest.importorskip("resource", reason="the usage of a process is not told on this system")

MOST_SECONDS = 5.0  # of processor time, start-up included, so that other work on the machine does not count
MOST_MEBIBYTES = 300.0  # at the peak, start-up included
CHILD = """
import json, resource, sys
from pathlib import Path
from pricing.xlsx.reading.workbook import read_workbook
from pricing.problems import Problems
resource.setrlimit(resource.RLIMIT_CPU, (60, 60))
problems = Problems()
workbook = read_workbook(Path(sys.argv[1]), problems)
usage = resource.getrusage(resource.RUSAGE_SELF)
peak = usage.ru_maxrss / (1024 * 1024 if sys.platform == "darwin" else 1024)
if Path("/proc/self/status").exists():  # without what the starting process took
    lines = Path("/proc/self/status").read_text().splitlines()
    peak = next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM"))
print(json.dumps([workbook is not None, len(problems), usage.ru_utime + usage.ru_stime, peak]))
"""


@pytest.mark.slow
@pytest.mark.parametrize("fault", all_faults(), ids=lambda fault: fault.name)
def test_each_file_is_done_with_in_five_seconds_and_300_mebibytes(fault: Fault, tmp_path: Path) -> None:
    """No file stops the process, takes longer than five seconds or more than 300 MiB."""
    path = fault.write(tmp_path)
    child = subprocess.run([sys.executable, "-c", CHILD, str(path)], capture_output=True, text=True, timeout=120, check=False)
    assert child.returncode == 0, child.stderr[-2000:]
    was_read, problems, seconds, mebibytes = json.loads(child.stdout)
    assert was_read == (fault.cells is not None)
    assert was_read or problems
    assert seconds < MOST_SECONDS
    assert mebibytes < MOST_MEBIBYTES
