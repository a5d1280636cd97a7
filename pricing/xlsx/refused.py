"""Why a workbook is not read, or not written to: one sentence with its place and what to do about it."""

from __future__ import annotations

FRESH_COPY = "take a fresh copy, or save it again from your spreadsheet program"


class RefusedError(Exception):
    """A reading or a writing that is not done: a stable code, one sentence, and the place where it is known."""

    def __init__(self, code: str, message: str, sheet: str = "", cell: str = "") -> None:
        super().__init__(message)
        self.code, self.message, self.sheet, self.cell = code, message, sheet, cell


def damaged(part: str, what: str) -> RefusedError:
    """The refusal of a file one of whose parts is damaged."""
    return RefusedError("damaged-file", f"the part {shown(part)} of this file is damaged ({what}); {FRESH_COPY}")


def shown(text: str, longest: int = 60) -> str:
    """A text from the file as it may stand in a message: short, on one line, without control characters."""
    text = " ".join(text[: 4 * longest].split())
    text = "".join(character if character.isprintable() else "·" for character in text[: longest + 1])
    return text if len(text) <= longest else text[:longest] + "…"
