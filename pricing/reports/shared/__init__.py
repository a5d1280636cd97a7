"""What all reports share: styles, tables, formulas, pages, charts."""
