"""Every file is written beside its place and moved there when it is whole and safe: a reader never meets half of it."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from pricing.files.disk_faults import disk_fault
from pricing.files.left_behind import remove, remove_left_behind, unfinished_name


@contextlib.contextmanager
def written_beside(target: Path, *, replacing: bool = True) -> Iterator[Path]:
    """A temporary path in the target's folder; it takes the target's place when the block ends well, or is removed.

    Parameters
    ----------
    replacing : False where nothing may stand in its place yet

    Problems raised: OSError where the folder cannot be written, or the target is held open by another program;
    FileExistsError where something stands in its place.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    with reserved(target) as beside:
        try:
            yield beside
            make_durable(beside)
            beside.chmod(0o666 & ~_umask())
            if replacing:
                os.replace(beside, target)
            else:
                move_into_empty_place(beside, target)
        except Exception as error:
            fault = disk_fault(error)
            if fault is None or fault is error:
                raise
            raise fault from error


@contextlib.contextmanager
def reserved(target: Path) -> Iterator[Path]:
    """A new empty file beside another, which is removed in the end unless it was moved away."""
    remove_left_behind(target.parent, again=False)
    beside = target.with_name(unfinished_name(target.name, target.suffix))
    os.close(os.open(beside, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    try:
        yield beside
    finally:
        remove(beside)


def write_durably(path: Path, content: bytes) -> None:
    """Write a file into a folder in which nobody looks for it before it is whole, safe against a power failure.

    Problems raised: OSError where the folder cannot be written.
    """
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def make_durable(path: Path) -> None:
    """Make the contents of a file safe against a power failure."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def make_names_durable(folder: Path) -> None:
    """Make what happened to the names in a folder safe against a power failure, where folders can be synchronised."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def move_into_empty_place(beside: Path, target: Path) -> None:
    """Give a finished file its name, unless something took that name meanwhile.

    Problems raised: FileExistsError; OSError where the folder cannot be written.
    """
    try:
        os.link(beside, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        if target.exists():
            raise FileExistsError(target) from None
        os.replace(beside, target)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
