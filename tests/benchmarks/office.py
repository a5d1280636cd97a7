"""A workbook recalculated by LibreOffice headless, as the tests' referee does it: nothing stored is trusted."""

from __future__ import annotations

import csv
import subprocess
import tempfile
import time
from pathlib import Path

from referee import PROFILE


def recalculated(path: Path, column: str, patience: float = 900.0) -> tuple[float, list[float]]:
    """Seconds from start to finished file, and the figures of a column; the workbook holds no stored results.

    Parameters
    ----------
    column : its heading
    patience : after so many seconds it is given up

    Problems raised: subprocess.TimeoutExpired.
    """
    with tempfile.TemporaryDirectory() as scratch:
        profile = Path(scratch, "profile")
        profile.joinpath("user").mkdir(parents=True)
        profile.joinpath("user", "registrymodifications.xcu").write_text(PROFILE, encoding="utf-8")
        own = f"-env:UserInstallation={profile.as_uri()}"
        command = ["soffice", own, "--headless", "--convert-to", "csv", "--outdir", scratch, str(path)]
        began = time.perf_counter()
        subprocess.run(command, capture_output=True, timeout=patience, check=True)
        seconds = time.perf_counter() - began
        with Path(scratch, f"{path.stem}.csv").open(encoding="utf-8", newline="") as file:
            return seconds, [float(row[column]) for row in csv.DictReader(file)]
