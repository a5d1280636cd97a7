"""A longer search for files that make the reading of a price book fail, led by what each file makes the reader do.

It needs the package atheris (``pip install atheris``), runs until it is stopped or for as long as it is told, and stops at
the first file that makes the reading raise anything, or give neither a book nor a reason::

    python tests/faults/fuzz_reader.py some/folder -max_total_time=3600

Files that lead somewhere new are kept in the folder, so that the next run goes on from there; a file that fails is written
beside as ``crash-…`` and is read again with ``python tests/faults/fuzz_reader.py crash-…``. A file's first byte says which
part of a small file the others replace; 0 stands for the whole file.
"""

from __future__ import annotations

import importlib.util
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

HERE = Path(__file__).parent

MISSING = "atheris is not installed; install it with: pip install atheris (the ordinary tests mutate workbooks without it)"

Target = Callable[[bytes], None]


def files_to_change() -> list[dict[str, bytes]]:
    """A small workbook with one of everything that the reader looks at, and a small price book, by the names of their parts."""
    import zipfile

    from books import small_book
    from test_fuzz import RICH
    from typed_book import write_typed

    rich = {name: part if isinstance(part, bytes) else part.encode() for name, part in sorted(RICH.items())}
    with tempfile.TemporaryDirectory() as folder, zipfile.ZipFile(write_typed(Path(folder) / "book.xlsx", small_book())) as archive:
        return [rich, {name: archive.read(name) for name in archive.namelist()}]


def places_of(files: list[dict[str, bytes]]) -> list[tuple[int, str]]:
    """Every part of the files: which file, and its name."""
    return [(number, name) for number, parts in enumerate(files) for name in parts]


def file_of(data: bytes, files: list[dict[str, bytes]]) -> bytes:
    """The workbook that some bytes stand for: their first says what the others replace."""
    from packages import zipped

    places = places_of(files)
    if not data or data[0] % (len(places) + 1) == 0:
        return data[1:]
    number, name = places[data[0] % (len(places) + 1) - 1]
    return zipped({**files[number], name: data[1:]})


def seeds(files: list[dict[str, bytes]]) -> dict[str, bytes]:
    """What the search starts from: each part, the whole files, and every odd and hostile file that is known."""
    from generator import all_faults
    from packages import zipped

    found = {f"part-{at}": bytes([at]) + files[number][name] for at, (number, name) in enumerate(places_of(files), 1)}
    found |= {f"whole-{number}": b"\0" + zipped(parts) for number, parts in enumerate(files)}
    with tempfile.TemporaryDirectory() as folder:
        for fault in all_faults():
            path = fault.write(Path(folder))
            if path.is_file() and path.stat().st_size < 100_000:
                found[f"known-{path.name}"] = b"\0" + path.read_bytes()
    return found


def reading_of(folder: Path, files: list[dict[str, bytes]]) -> Target:
    """What is done with each file: it is read as a price book, and has to give a book, or at least one reason."""
    from pricing.book.reading.read import read_price_book

    path = folder / "book.xlsx"

    def read(data: bytes) -> None:
        path.write_bytes(file_of(data, files))
        book, problems = read_price_book(path)
        if book is None and not problems.errors:
            raise AssertionError("neither a book nor a reason")
        for problem in problems:
            if not problem.message or not all(letter.isprintable() or letter == " " for letter in str(problem)):
                raise AssertionError(f"no sentence: {str(problem)!r}")

    return read


def main(arguments: Sequence[str]) -> int:
    """Search, with the folder and the options of the search as they are typed."""
    if importlib.util.find_spec("atheris") is None:
        sys.stderr.write(MISSING + "\n")
        return 1
    import atheris

    sys.path[:0] = [str(HERE.parents[1]), str(HERE.parent), str(HERE)]
    with atheris.instrument_imports(include=["pricing.book"]):
        import pricing.book.reading.read  # noqa: F401
    files = files_to_change()
    folders = [Path(each) for each in arguments if not each.startswith("-") and not Path(each).is_file()]
    for folder in folders:
        folder.mkdir(parents=True, exist_ok=True)
        if not any(folder.iterdir()):
            for name, data in seeds(files).items():
                (folder / name).write_bytes(data)
    with tempfile.TemporaryDirectory() as scratch:
        atheris.Setup([sys.argv[0], *arguments], reading_of(Path(scratch), files))
        atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
