"""How much of a workbook is read before the reading stops."""

from __future__ import annotations

from pricing.xlsx.refused import RefusedError

MEBIBYTE = 1024 * 1024
MOST_CELLS = 6_000_000  # that hold something, and texts that they share
_CELLS_FROM, _BYTES_PER_CELL = 1_000_000, 2  # a small file gets fewer: honest ones have 3 to 10 packed bytes for a cell
MOST_ROWS = 400_000  # of a sheet, that hold something
MOST_IDLE = 1_250_000  # rows, cells and other elements that hold nothing, about two seconds of work
IDLE_PER_CELL = 2  # so many more where cells hold something
MOST_INFLATED = 1024 * MEBIBYTE  # of all parts that are read
MOST_MEMORY = 320 * MEBIBYTE  # of texts and cells, for a large file
_MEMORY_FROM, _MEMORY_PER_BYTE = 96 * MEBIBYTE, 24  # a small file gets less


class Budget:
    """What may still be read of one workbook; a set of sheets as large as 200,000 products by 20 columns fits in.

    Parameters
    ----------
    file_size : of the workbook [bytes]
    """

    def __init__(self, file_size: int) -> None:
        self.cells = min(MOST_CELLS, _CELLS_FROM + file_size // _BYTES_PER_CELL)
        self.idle = MOST_IDLE
        self.inflated = MOST_INFLATED
        self.memory = min(MOST_MEMORY, _MEMORY_FROM + _MEMORY_PER_BYTE * file_size)

    def spend(self, *, cells: int = 0, idle: int = 0, inflated: int = 0, memory: int = 0) -> None:
        """Take from what is left; problems: file-too-large."""
        self.cells -= cells
        self.idle -= idle - IDLE_PER_CELL * cells
        self.inflated -= inflated
        self.memory -= memory
        if min(self.cells, self.idle, self.inflated, self.memory) < 0:
            raise too_large()


def too_large(sheet: str = "") -> RefusedError:
    """The refusal of a workbook that holds more than can be read."""
    return RefusedError(
        "file-too-large",
        "this workbook holds more than can be read; remove sheets, rows and columns that do not belong to the "
        "price book, or make it two",
        sheet,
    )
