"""Every output file is written beside its target and moved into place: a reader never meets half a workbook."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from pricing.sheets.disk_faults import disk_fault


@contextlib.contextmanager
def written_beside(target: Path) -> Iterator[Path]:
    """A temporary path in the target's folder; it takes the target's place when the block ends well, or is removed.

    Problems raised: OSError where the folder cannot be written, or the target is held open by another program.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=".", suffix=target.suffix, dir=target.parent)
    os.close(handle)
    beside = Path(name)
    try:
        yield beside
        umask = os.umask(0)
        os.umask(umask)
        beside.chmod(0o666 & ~umask)
        with beside.open("rb") as file:
            os.fsync(file.fileno())
        os.replace(beside, target)
    except Exception as error:
        fault = disk_fault(error)
        if fault is None or fault is error:
            raise
        raise fault from error
    finally:
        beside.unlink(missing_ok=True)
