"""Every output file is written beside its target and moved into place: a reader never meets half a workbook."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from pricing.files.disk_faults import disk_fault
from pricing.files.hidden_folders import hidden_name


@contextlib.contextmanager
def written_beside(target: Path) -> Iterator[Path]:
    """A hidden path in the target's folder; it takes the target's place when the block ends well, or is removed.

    What runs that were stopped left in the folder is removed too.

    Problems raised: OSError where the folder cannot be written, or the target is held open by another program.
    """
    name = hidden_name(target.parent, "writing", target.suffix)
    handle = os.open(name, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
    moved = False
    try:
        yield name
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
            name.unlink(missing_ok=True)
