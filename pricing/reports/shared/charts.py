"""The two kinds of chart that our workbooks have, their message as their title: bars in order, and courses of time."""

from __future__ import annotations

from typing import Any

from pricing.reports.shared.styles import ACCENT, HAIRLINE, INK, NORMAL, QUIET, SHADES, SMALL, TYPEFACE

#: The type of labels and of what stands at the axis.
FONT = {"name": TYPEFACE, "size": SMALL, "color": INK}


def bar_chart(book: Any, title: str, *, from_nought: bool = False) -> Any:
    """An empty chart of bars, the first on top, in the look of our workbooks.

    Parameters
    ----------
    book : the writing library's workbook
    title : the message
    from_nought : True where no bar goes below nought, so that the axis begins there
    """
    chart = book.add_chart({"type": "bar"})
    chart.set_title({"name": title, "name_font": {"name": TYPEFACE, "size": NORMAL, "bold": True, "color": ACCENT}, "overlay": False,
                     "layout": {"x": 0.02, "y": 0.02}})
    chart.set_legend({"none": True})
    chart.set_y_axis({"reverse": True, "num_font": FONT, "line": {"color": QUIET}, "major_tick_mark": "none", "minor_tick_mark": "none",
                      "label_position": "low"})
    chart.set_x_axis({"visible": False, "major_gridlines": {"visible": False}, "min": 0 if from_nought else None})
    chart.set_chartarea({"border": {"none": True}})
    chart._write_show_val = lambda: _only_values(chart)
    return chart


def _only_values(chart: Any) -> None:
    """What labels show: the library leaves out what they do not, and a program that does not know who wrote the file shows it all."""
    for part in ("LegendKey", "Val", "CatName", "SerName", "Percent", "BubbleSize"):
        chart._xml_empty_tag(f"c:show{part}", [("val", int(part == "Val"))])


def add_bars(chart: Any, sheet: str, categories: str, values: str, number: str, **more: Any) -> None:
    """Add a row of bars.

    Parameters
    ----------
    sheet : on which the cells stand, as a formula writes it
    categories, values : cells of what each bar is called, and how long it is
    number : format of the labels
    more : of the library's series
    """
    chart.add_series({
        "categories": f"={sheet}!{categories}", "values": f"={sheet}!{values}", "fill": {"color": ACCENT}, "gap": 45,
        "data_labels": {"value": True, "num_format": number, "font": FONT}, **more,
    })


#: Bars that go either way: those below nought are light with a dark frame, told apart in black and white too.
EITHER_WAY: dict[str, Any] = {
    "invert_if_negative": True, "invert_if_negative_color": SHADES[3], "border": {"color": ACCENT, "width": 0.75},
}


#: How courses are told apart in black and white too: shade, dash, mark at each day.
_COURSES = (
    (SHADES[0], "solid", "circle"), (SHADES[4], "dash", "square"), (SHADES[1], "round_dot", "triangle"), (SHADES[5], "solid", "diamond"),
    (SHADES[2], "dash", "x"), (INK, "round_dot", "plus"),
)


def course_chart(book: Any, title: str, number: str) -> Any:
    """An empty chart of courses of time, in the look of our workbooks.

    Parameters
    ----------
    book : the writing library's workbook
    title : the message
    number : format of the figures at the axis
    """
    chart = book.add_chart({"type": "line"})
    chart.set_title({"name": title, "name_font": {"name": TYPEFACE, "size": NORMAL, "bold": True, "color": ACCENT}, "overlay": False,
                     "layout": {"x": 0.02, "y": 0.02}})
    chart.set_legend({"position": "right", "font": FONT})
    chart.set_x_axis({"date_axis": True, "num_format": "mmm yy", "num_font": FONT, "line": {"color": QUIET}, "label_position": "low",
                      "major_unit": 1, "major_unit_type": "months", "major_tick_mark": "outside", "minor_tick_mark": "none"})
    chart.set_y_axis({"num_format": number, "num_font": FONT, "line": {"none": True},
                      "major_gridlines": {"visible": True, "line": {"color": HAIRLINE, "width": 0.5}}})
    chart.set_chartarea({"border": {"none": True}})
    chart.show_blanks_as("span")
    # Lines that are not said to be straight are bent by some programs.
    chart._write_c_smooth = lambda smooth: chart._xml_empty_tag("c:smooth", [("val", int(bool(smooth)))])
    return chart


def add_course(chart: Any, place: int, name: str, days: str, figures: str) -> None:
    """Add a course.

    Parameters
    ----------
    place : which it is, counted from 0
    name, days, figures : cells of what it is called, of the days and of its figures, as a formula writes them
    """
    color, dash, mark = _COURSES[place % len(_COURSES)]
    chart.add_series({
        "name": name, "categories": days, "values": figures, "line": {"color": color, "width": 1.75, "dash_type": dash},
        "marker": {"type": mark, "size": 5, "border": {"color": color}, "fill": {"color": color}},
    })


def set_chart(sheet: Any, row: int, column: int, chart: Any, described: str, size: tuple[int, int], offset: int = 0) -> None:
    """Set a chart onto a sheet, described for those who cannot see it.

    Parameters
    ----------
    row, column : of its left upper corner, counted from 0
    size : width and height [pixels]
    offset : from the left of the column [pixels]
    """
    chart.set_size({"width": size[0], "height": size[1]})
    place: dict[str, Any] = {"object_position": 2, "description": described}
    sheet.insert_chart(row, column, chart, {**place, "x_offset": offset} if offset else place)
