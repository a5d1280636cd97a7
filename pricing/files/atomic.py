"""Every output file is written beside its target and moved into place: a reader never meets half a workbook."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from pricing.files.disk_faults import disk_fault


@contextlib.contextmanager
def written_beside(target: Path) -> Iterator[Path]:
    """A temporary path in the target's folder; it takes the target's place when the block ends well, or is removed.

    Problems raised: OSError where the folder cannot be written, or the target is held open by another program.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=".", suffix=target.suffix, dir=target.parent)
    moved = False
    try:
        yield Path(name)
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(name, 0o666 & ~umask)
        os.fsync(handle)  # of the file, whoever wrote into it
        os.close(handle)
        handle = -1
        os.replace(name, target)
        moved = True
    except Exception as error:
        fault = disk_fault(error)
        if fault is None or fault is error:
            raise
        raise fault from error
    finally:
        if handle >= 0:
            os.close(handle)
        if not moved:
            Path(name).unlink(missing_ok=True)
