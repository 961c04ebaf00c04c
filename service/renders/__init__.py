"""The engine's answers in other forms: print, drawings, tables, a page's data. Pure, as it is."""
