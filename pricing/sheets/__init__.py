"""Writing workbooks: layout, styles, formulas, drawings, and the gate that keeps costs inside."""
